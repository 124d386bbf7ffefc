/** How codes are looked for in a picture, the same in the browser and on the server. No I/O. */

const MOST_CODES = 8;
/** @type {import("zxing-wasm/reader").ReaderOptions} */
export const READ_OPTIONS = { formats: ["QRCode"], tryHarder: true, tryRotate: true, tryInvert: false, maxNumberOfSymbols: MOST_CODES };
/**
 * For a card too small for the kept size, after that was looked through: nothing smaller needs to be made of the picture again.
 * @type {import("zxing-wasm/reader").ReaderOptions}
 */
export const FINE_OPTIONS = { ...READ_OPTIONS, tryDownscale: false };

/**
 * A portable grey map: one byte a pixel, where bare pixels would need four. Colours are summed as JPEG does (ITU-R BT.601, in
 * 256ths), which leaves less noise than green alone.
 * @param {{ pixels: Uint8Array, width: number, height: number, channels?: number }} picture interleaved; a fourth channel is passed over
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function greyMap({ pixels, width, height, channels = 1 }) {
  const head = new TextEncoder().encode(`P5\n${width} ${height}\n255\n`);
  const map = new Uint8Array(head.length + pixels.length / channels);
  map.set(head);
  if (channels < 3) map.set(pixels, head.length);
  else for (let at = 0, to = head.length; at < pixels.length; at += channels, to += 1) map[to] = (77 * pixels[at] + 150 * pixels[at + 1] + 29 * pixels[at + 2]) >> 8;
  return map;
}

/**
 * The codes that were read wholly, with corners in the printed code's own order; a mirrored code's second
 * and fourth come to us in each other's place.
 * @param {import("zxing-wasm/reader").ReadResult[]} results
 * @returns {import("@/lib/domain/photo/side-card").FoundCode[]}
 */
export function foundCodes(results) {
  return results.filter(({ isValid }) => isValid).map(({ text, isMirrored, position: { topLeft, topRight, bottomRight, bottomLeft } }) => {
    const [second, fourth] = isMirrored ? [bottomLeft, topRight] : [topRight, bottomLeft];
    return { text: text.slice(0, 64), mirrored: isMirrored, corners: [topLeft, second, bottomRight, fourth].map(({ x, y }) => ({ x, y })) };
  });
}
