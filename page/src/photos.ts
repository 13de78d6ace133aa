// A photo is made smaller before it waits or goes out: a phone takes 5 MB where 1 shows as much on paper.
const LONGEST = 2400; // the service keeps no more
const QUALITY = 0.85;

/** Return the bytes to send, with what they are; what is no picture that this browser can open goes as it is. */
export async function readied(file: Blob): Promise<{ bytes: ArrayBuffer; type: string }> {
  if (!/^image\/(jpeg|png|webp|heic|heif)$/.test(file.type)) {
    return { bytes: await file.arrayBuffer(), type: file.type };
  }
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const pen = canvas.getContext("2d");
    if (!pen) throw new Error("no canvas");
    pen.fillStyle = "white";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const small = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    if (!small) throw new Error("no picture");
    return { bytes: await small.arrayBuffer(), type: "image/jpeg" };
  } catch {
    return { bytes: await file.arrayBuffer(), type: file.type }; // the service says what is wrong with it
  }
}

const ENDINGS: Record<string, string> = {
  "image/jpeg": "jpg",
  "image/png": "png",
  "image/webp": "webp",
  "image/heic": "heic",
  "image/heif": "heic",
  "application/pdf": "pdf",
};

/** A name that no other photo has: phones call every photo the same. */
export function photoName(type: string, mark: string, day: string): string {
  return `photos/${day}-${mark.slice(0, 8)}.${ENDINGS[type] ?? "jpg"}`;
}
