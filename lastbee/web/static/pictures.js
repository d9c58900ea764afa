// Photographs are made as small as they need be before they wait on the device for signal.

const LONGEST_SIDE_PX = 1600;
const QUALITY = 0.85;
// A picture that is no heavier than this travels as it is.
const LIGHT_BYTES = 400_000;

/** Size that a picture is drawn at, so that its longer side is no longer than it need be. */
export function smaller(width, height, longest = LONGEST_SIDE_PX) {
  const scale = Math.min(1, longest / Math.max(width, height));
  return { width: Math.round(width * scale), height: Math.round(height * scale) };
}

/** A smaller twin of a picture, or the picture itself where that cannot be made. */
export async function shrunk(file) {
  if (!file.type.startsWith("image/") || file.size <= LIGHT_BYTES) return file;
  try {
    const whole = await createImageBitmap(file, { imageOrientation: "from-image" });
    const { width, height } = smaller(whole.width, whole.height);
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width, height });
    canvas.getContext("2d").drawImage(whole, 0, 0, width, height);
    whole.close();
    const drawn = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    if (drawn === null || drawn.size >= file.size) return file;
    return new File([drawn], file.name.replace(/\.\w+$/, "") + ".jpg", { type: "image/jpeg" });
  } catch {
    return file;
  }
}
