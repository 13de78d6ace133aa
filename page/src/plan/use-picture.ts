// The picture under the plan: kept in this browser, and with the files of the job.
import { useCallback, useEffect, useRef, useState } from "react";
import type { Files } from "../files";
import type { XY } from "./geometry";
import { type KeptPicture, pictures } from "./kept";
import { laid, type Placing } from "./picture";

/** A picture is made no larger than this, in pixels: sharp enough to trace over, small enough to keep. */
const MOST = 2400;
const KEEP_AFTER_MS = 600;
/** Files of the job: the picture, and how it lies. Other devices find them there. */
const PICTURE = "plan/picture.jpg";
const LIES = "plan/picture.txt";

export function usePicture(job: string, files: Files) {
  const [placing, setPlacing] = useState<Placing | null>(null);
  const [image, setImage] = useState<HTMLImageElement | null>(null);
  const [trouble, setTrouble] = useState("");
  const kept = useRef<{ name: string; image: Blob } | null>(null);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);

  useEffect(() => {
    let gone = false;
    const show = async (found: KeptPicture | null | undefined) => {
      if (!found || gone || kept.current) return;
      kept.current = { name: found.name, image: found.image };
      setImage(await shown(found.image));
      setPlacing(found.placing);
    };
    // what the service has is the newest of all devices; where it does not answer, what this browser kept
    void ofTheJob(job, files)
      .catch(() => pictures.get(job))
      .then(show)
      .catch(() => undefined);
    return () => {
      gone = true;
    };
  }, [job, files]);

  const place = useCallback(
    (next: Placing) => {
      setPlacing(next);
      clearTimeout(timer.current);
      timer.current = setTimeout(() => {
        if (!kept.current) return;
        void pictures.put({ job, ...kept.current, placing: next });
        void files.keep(new Blob([JSON.stringify(next)], { type: "text/plain" }), LIES, true);
      }, KEEP_AFTER_MS);
    },
    [job, files],
  );

  const take = useCallback(
    async (file: File, middle: XY, wide: number) => {
      try {
        const small = await smaller(file);
        kept.current = { name: file.name, image: small.blob };
        setImage(await shown(small.blob));
        setTrouble("");
        place(laid(small.width, small.height, middle, wide));
        void files.keep(small.blob, PICTURE, true);
      } catch {
        setTrouble(
          "This file cannot be shown as a picture: choose a JPEG or PNG. A PDF is made one first, by a screenshot.",
        );
      }
    },
    [place, files],
  );

  const away = useCallback(async () => {
    clearTimeout(timer.current);
    kept.current = null;
    setImage(null);
    setPlacing(null);
    await pictures.drop(job);
    for (const name of [PICTURE, LIES]) await files.drop(name).catch(() => undefined);
  }, [job, files]);

  return { placing, image, trouble, place, take, away };
}

/** The picture as the job has it, waiting here or with the service; nothing where it has none. */
async function ofTheJob(job: string, files: Files): Promise<KeptPicture | null> {
  const [picture, lies] = [files.url(PICTURE), files.url(LIES)];
  if (!picture || !lies) return null;
  // still waiting to go out: this browser has it itself
  if (picture.startsWith("blob:") || lies.startsWith("blob:")) return (await pictures.get(job)) ?? null;
  const [image, words] = await Promise.all([fetched(picture), fetched(lies)]);
  const placing = JSON.parse(await words.text()) as Placing;
  if (![placing.scale, placing.turned, placing.strength, ...placing.at].every(Number.isFinite)) return null;
  const found = { job, name: PICTURE, image, placing };
  void pictures.put(found);
  return found;
}

async function fetched(url: string): Promise<Blob> {
  const response = await fetch(url);
  if (!response.ok) throw new Error("not there");
  return response.blob();
}

async function smaller(file: File): Promise<{ blob: Blob; width: number; height: number }> {
  const bitmap = await createImageBitmap(file);
  const share = Math.min(1, MOST / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(bitmap.width * share);
  canvas.height = Math.round(bitmap.height * share);
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("no canvas");
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  if (!blob) throw new Error("no picture");
  return { blob, width: canvas.width, height: canvas.height };
}

async function shown(blob: Blob): Promise<HTMLImageElement> {
  const image = new Image();
  image.alt = "";
  image.src = URL.createObjectURL(blob);
  await image.decode();
  return image;
}
