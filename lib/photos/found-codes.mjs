/** How codes are looked for in a picture, the same in the browser and on the server. No I/O. */

const MOST_CODES = 8;
/** @type {import("zxing-wasm/reader").ReaderOptions} */
export const READ_OPTIONS = { formats: ["QRCode"], tryHarder: true, tryRotate: true, tryInvert: false, maxNumberOfSymbols: MOST_CODES };

/**
 * A portable grey map: one byte a pixel, where bare pixels would need four.
 * @param {{ pixels: Uint8Array, width: number, height: number }} picture one byte a pixel
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function greyMap({ pixels, width, height }) {
  const head = new TextEncoder().encode(`P5\n${width} ${height}\n255\n`);
  const map = new Uint8Array(head.length + pixels.length);
  map.set(head);
  map.set(pixels, head.length);
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
