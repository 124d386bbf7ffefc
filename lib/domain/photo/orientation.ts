/** EXIF orientation (tag 274): which visual edge the first stored row and column are. */
export type Orientation = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8;

/** Anything but 1 to 8 counts as 1, upright: the standard reserves it, readers pass it over. */
export function orientationOf(value: unknown): Orientation {
  const isKnown = (candidate: unknown): candidate is Orientation =>
    typeof candidate === "number" && Number.isInteger(candidate) && candidate >= 1 && candidate <= 8;
  return isKnown(value) ? value : 1;
}

/**
 * The file itself says that its stored pixels are a mirror image. A phone that mirrors the pixels
 * themselves leaves no such trace, so `false` proves nothing about the child's sides.
 */
export const isMirrored = (orientation: Orientation): boolean =>
  orientation === 2 || orientation === 4 || orientation === 5 || orientation === 7;

/** Width and height change places on the way upright. */
export const swapsSize = (orientation: Orientation): boolean => orientation >= 5;

export type Size = { readonly width: number; readonly height: number };

export const uprightSize = ({ width, height }: Size, orientation: Orientation): Size =>
  swapsSize(orientation) ? { width: height, height: width } : { width, height };

/** Where stored pixel (x, y) of a picture of the stored size stands once upright. Whole pixels. */
export function uprightPixel(orientation: Orientation, x: number, y: number, stored: Size): { readonly x: number; readonly y: number } {
  const [right, bottom] = [stored.width - 1, stored.height - 1];
  switch (orientation) {
    case 1:
      return { x, y };
    case 2:
      return { x: right - x, y };
    case 3:
      return { x: right - x, y: bottom - y };
    case 4:
      return { x, y: bottom - y };
    case 5:
      return { x: y, y: x };
    case 6:
      return { x: bottom - y, y: x };
    case 7:
      return { x: bottom - y, y: right - x };
    case 8:
      return { x: y, y: right - x };
  }
}

/** The same pixels, upright: interleaved, `channels` bytes each. Throws when they do not fill the size. */
export function turnUpright(pixels: Uint8Array, stored: Size, channels: number, orientation: Orientation): Uint8Array {
  if (pixels.length !== stored.width * stored.height * channels) throw new RangeError("Pixels do not fill the stated size.");
  const { width } = uprightSize(stored, orientation);
  const out = new Uint8Array(pixels.length);
  for (let y = 0; y < stored.height; y += 1) {
    for (let x = 0; x < stored.width; x += 1) {
      const to = uprightPixel(orientation, x, y, stored);
      const from = (y * stored.width + x) * channels;
      out.set(pixels.subarray(from, from + channels), (to.y * width + to.x) * channels);
    }
  }
  return out;
}
