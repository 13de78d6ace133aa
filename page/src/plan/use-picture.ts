// The picture under the plan, as it is kept in this browser.
import { useCallback, useEffect, useRef, useState } from "react";
import type { XY } from "./geometry";
import { pictures } from "./kept";
import { laid, type Placing } from "./picture";

/** A picture is made no larger than this, in pixels: sharp enough to trace over, small enough to keep. */
const MOST = 2400;
const KEEP_AFTER_MS = 400;

export function usePicture(job: string) {
  const [placing, setPlacing] = useState<Placing | null>(null);
  const [image, setImage] = useState<HTMLImageElement | null>(null);
  const [trouble, setTrouble] = useState("");
  const kept = useRef<{ name: string; image: Blob } | null>(null);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);

  useEffect(() => {
    let gone = false;
    void pictures.get(job).then(async (found) => {
      if (!found || gone) return;
      kept.current = found;
      setImage(await shown(found.image));
      setPlacing(found.placing);
    });
    return () => {
      gone = true;
    };
  }, [job]);

  const place = useCallback(
    (next: Placing) => {
      setPlacing(next);
      clearTimeout(timer.current);
      timer.current = setTimeout(() => {
        if (!kept.current) return;
        void pictures.put({ job, ...kept.current, placing: next }).then((there) => {
          if (!there) setTrouble("This browser cannot keep the picture: it is gone when the page is closed.");
        });
      }, KEEP_AFTER_MS);
    },
    [job],
  );

  const take = useCallback(
    async (file: File, middle: XY, wide: number) => {
      try {
        const small = await smaller(file);
        const next = laid(small.width, small.height, middle, wide);
        kept.current = { name: file.name, image: small.blob };
        setImage(await shown(small.blob));
        setTrouble("");
        place(next);
      } catch {
        setTrouble(
          "This file cannot be shown as a picture: choose a JPEG or PNG. A PDF is made one first, by a screenshot.",
        );
      }
    },
    [place],
  );

  const away = useCallback(async () => {
    clearTimeout(timer.current);
    kept.current = null;
    setImage(null);
    setPlacing(null);
    await pictures.drop(job);
  }, [job]);

  return { placing, image, trouble, place, take, away };
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
