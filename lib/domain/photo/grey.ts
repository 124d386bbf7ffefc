/** Eight-bit grey, one value a pixel, row by row from the top. */
export type GreyImage = { readonly width: number; readonly height: number; readonly pixels: Uint8Array };

/** Interleaved eight-bit pixels; the fourth channel, if there is one, is passed over. */
export type ColourPixels = {
  readonly width: number;
  readonly height: number;
  readonly channels: 1 | 3 | 4;
  readonly pixels: Uint8Array | Uint8ClampedArray;
};

/** Longest side, in pixels, at which sharpness and light are measured. */
export const MEASURED_SIDE = 1024;

/**
 * Grey by the luma weights of ITU-R BT.601 (0.299, 0.587, 0.114) on gamma-encoded sRGB, rounded:
 * what JPEG itself calls luminance. Throws when the pixels do not fill the size.
 */
export function greyOf(image: ColourPixels): GreyImage {
  const { width, height, channels, pixels } = image;
  assertFilled(width, height, channels, pixels.length);
  const grey = new Uint8Array(width * height);
  if (channels === 1) {
    grey.set(pixels);
    return { width, height, pixels: grey };
  }
  for (let at = 0, from = 0; at < grey.length; at += 1, from += channels) {
    const [red = 0, green = 0, blue = 0] = [pixels[from], pixels[from + 1], pixels[from + 2]];
    grey[at] = Math.floor(0.299 * red + 0.587 * green + 0.114 * blue + 0.5);
  }
  return { width, height, pixels: grey };
}

/**
 * The size at which a photo is measured: longest side 1024, so that one threshold serves every
 * camera. A smaller photo is left as it is; its figures then cannot be compared with others.
 */
export function atMeasuredSize(grey: GreyImage): GreyImage {
  const longest = Math.max(grey.width, grey.height);
  if (longest <= MEASURED_SIDE) return grey;
  const scale = MEASURED_SIDE / longest;
  return shrink(grey, Math.max(1, Math.round(grey.width * scale)), Math.max(1, Math.round(grey.height * scale)));
}

/** Every new pixel is the mean of the area it covers, rounded. Also stretches, but is not meant for it. */
export function shrink(grey: GreyImage, width: number, height: number): GreyImage {
  assertFilled(grey.width, grey.height, 1, grey.pixels.length);
  assertFilled(width, height, 1, width * height);
  const rows = alongRows(grey, width);
  const pixels = new Uint8Array(width * height);
  const sums = new Float64Array(width);
  const step = grey.height / height;
  for (let y = 0; y < height; y += 1) {
    sums.fill(0);
    const [from, to] = [y * step, Math.min((y + 1) * step, grey.height)];
    for (let source = Math.floor(from); source < to; source += 1) {
      const share = Math.min(source + 1, to) - Math.max(source, from);
      const start = source * width;
      for (let x = 0; x < width; x += 1) sums[x] = (sums[x] ?? 0) + share * (rows[start + x] ?? 0);
    }
    const covered = to - from;
    for (let x = 0; x < width; x += 1) pixels[y * width + x] = Math.floor((sums[x] ?? 0) / covered + 0.5);
  }
  return { width, height, pixels };
}

function alongRows(grey: GreyImage, width: number): Float32Array {
  const out = new Float32Array(width * grey.height);
  const step = grey.width / width;
  for (let x = 0; x < width; x += 1) {
    const [from, to] = [x * step, Math.min((x + 1) * step, grey.width)];
    const first = Math.floor(from);
    const covered = to - from;
    for (let y = 0; y < grey.height; y += 1) {
      const row = y * grey.width;
      let sum = 0;
      for (let source = first; source < to; source += 1) {
        sum += (Math.min(source + 1, to) - Math.max(source, from)) * (grey.pixels[row + source] ?? 0);
      }
      out[y * width + x] = sum / covered;
    }
  }
  return out;
}

function assertFilled(width: number, height: number, channels: number, length: number): void {
  const isSize = Number.isInteger(width) && Number.isInteger(height) && width > 0 && height > 0;
  if (!isSize || length !== width * height * channels) throw new RangeError("Pixels do not fill the stated size.");
}
