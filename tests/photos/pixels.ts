import sharp from "sharp";

export type Pixels = { readonly data: Buffer; readonly width: number; readonly height: number };

/** Plain RGB of any picture, as stored: no turning, profile passed over unless asked for. */
export async function pixelsOf(picture: Buffer, ignoreIcc = false): Promise<Pixels> {
  const { data, info } = await sharp(picture, { ignoreIcc }).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  return { data, width: info.width, height: info.height };
}

/** Mean absolute difference of two pictures of one size, 0..255; Infinity when the sizes differ. */
export function meanDifference(one: Pixels, two: Pixels): number {
  if (one.width !== two.width || one.height !== two.height) return Infinity;
  let sum = 0;
  for (let at = 0; at < one.data.length; at += 1) sum += Math.abs((one.data[at] ?? 0) - (two.data[at] ?? 0));
  return sum / one.data.length;
}

export function pixelAt({ data, width }: Pixels, x: number, y: number): readonly [number, number, number] {
  const at = (y * width + x) * 3;
  return [data[at] ?? 0, data[at + 1] ?? 0, data[at + 2] ?? 0];
}

type Side = "top" | "bottom" | "left" | "right";

/**
 * Which visual side the first stored row and column are, by EXIF orientation
 * (CIPA DC-008-2019, EXIF 2.32, tag 274).
 */
export const ROW_AND_COLUMN: Readonly<Record<number, readonly [Side, Side]>> = {
  1: ["top", "left"],
  2: ["top", "right"],
  3: ["bottom", "right"],
  4: ["bottom", "left"],
  5: ["left", "top"],
  6: ["right", "top"],
  7: ["right", "bottom"],
  8: ["left", "bottom"],
};

/** The upright picture as a camera would store it under an orientation. */
export function asStored(upright: Pixels, orientation: number): Pixels {
  const [firstRow, firstColumn] = ROW_AND_COLUMN[orientation] ?? ["top", "left"];
  const isTurned = firstRow === "left" || firstRow === "right";
  const [width, height] = isTurned ? [upright.height, upright.width] : [upright.width, upright.height];
  const data = Buffer.alloc(upright.data.length);
  for (let row = 0; row < height; row += 1) {
    for (let column = 0; column < width; column += 1) {
      const at = { x: 0, y: 0 };
      for (const [side, index] of [[firstRow, row], [firstColumn, column]] as const) {
        if (side === "top") at.y = index;
        if (side === "bottom") at.y = upright.height - 1 - index;
        if (side === "left") at.x = index;
        if (side === "right") at.x = upright.width - 1 - index;
      }
      const from = (at.y * upright.width + at.x) * 3;
      upright.data.copy(data, (row * width + column) * 3, from, from + 3);
    }
  }
  return { data, width, height };
}
