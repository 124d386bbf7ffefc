/**
 * Red, green and blue without the opacity beside them, written over what was given; null, and nothing is written, where something
 * is seen through. The library would weigh each by its opacity first, which takes longer than all it does afterwards. Four
 * pixels at a time, low byte first, as every system that can run this has it. No I/O.
 * @param {Uint8ClampedArray} rgba four bytes a pixel
 * @returns {Buffer | null} three bytes a pixel
 */
export function opaque(rgba) {
  const count = rgba.length / 4;
  const whole = count - (count % 4);
  const words = new Int32Array(rgba.buffer, rgba.byteOffset, count);
  let opacity = -1;
  for (let at = 0; at < count; at += 1) opacity &= words[at];
  if (opacity >>> 24 !== 0xff) return null;
  for (let at = 0, to = 0; at < whole; at += 4, to += 3) {
    const second = words[at + 1];
    const third = words[at + 2];
    words[to] = (words[at] & 0xffffff) | (second << 24);
    words[to + 1] = ((second >>> 8) & 0xffff) | (third << 16);
    words[to + 2] = ((third >>> 16) & 0xff) | (words[at + 3] << 8);
  }
  for (let at = whole; at < count; at += 1) rgba.copyWithin(at * 3, at * 4, at * 4 + 3);
  return Buffer.from(rgba.buffer, rgba.byteOffset, count * 3);
}
