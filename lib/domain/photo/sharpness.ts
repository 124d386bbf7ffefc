import type { GreyImage } from "@/lib/domain/photo/grey";

/**
 * Sharpness: the population variance of the 4-neighbour Laplacian on eight-bit grey; higher is
 * sharper, 0 is flat. Beyond the border the picture is mirrored without repeating its edge pixel
 * (reflect-101), as image libraries do by default. Depends on size and content: measure at
 * `atMeasuredSize` and warn by it, never refuse. Throws on an empty picture.
 */
export function sharpness({ width, height, pixels }: GreyImage): number {
  const count = width * height;
  if (count === 0 || pixels.length !== count) throw new RangeError("Pixels do not fill the stated size.");
  // Whole numbers throughout, exact below 2^53: 2^40 pixels would be needed to leave that range.
  let sum = 0;
  let squares = 0;
  for (let y = 0; y < height; y += 1) {
    const row = y * width;
    const above = reflect(y - 1, height) * width;
    const below = reflect(y + 1, height) * width;
    for (let x = 0; x < width; x += 1) {
      const left = x === 0 ? reflect(-1, width) : x - 1;
      const right = x === width - 1 ? reflect(width, width) : x + 1;
      const here =
        (pixels[row + left] ?? 0) + (pixels[row + right] ?? 0) + (pixels[above + x] ?? 0) + (pixels[below + x] ?? 0) - 4 * (pixels[row + x] ?? 0);
      sum += here;
      squares += here * here;
    }
  }
  const mean = sum / count;
  return Math.max(0, squares / count - mean * mean);
}

function reflect(position: number, length: number): number {
  if (length === 1) return 0;
  if (position < 0) return -position;
  return position < length ? position : 2 * length - 2 - position;
}
