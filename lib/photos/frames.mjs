/**
 * How the app and its decoder talk over a pipe: four bytes giving the length of a JSON header, the
 * header, then the byte strings whose lengths stand in its `parts`. Plain JavaScript because both
 * sides load this one file.
 */

const MAX_HEADER = 64 * 1024;
const MAX_PARTS = 64 * 1024 * 1024;

/**
 * @param {Record<string, unknown>} header
 * @param {readonly Uint8Array[]} parts
 * @returns {Buffer[]} pieces to write one after the other
 */
export function encodeFrame(header, parts) {
  const json = Buffer.from(JSON.stringify({ ...header, parts: parts.map((part) => part.length) }));
  const length = Buffer.alloc(4);
  length.writeUInt32BE(json.length);
  return [length, json, ...parts.map((part) => Buffer.from(part.buffer, part.byteOffset, part.byteLength))];
}

/**
 * Copies chunks into place and hands over each frame once it is whole.
 * @param {(header: Record<string, unknown>, parts: Buffer[]) => void} onFrame
 * @returns {(chunk: Buffer) => void} throws when the other side does not keep to the format
 */
export function frameReader(onFrame) {
  let piece = Buffer.alloc(4);
  let filled = 0;
  let isLength = true;
  /** @type {{ parts: number[] } | null} */
  let header = null;

  const begin = (length) => {
    piece = Buffer.allocUnsafeSlow(length);
    filled = 0;
  };
  const take = () => {
    if (isLength) {
      const length = piece.readUInt32BE(0);
      if (length < 2 || length > MAX_HEADER) throw new Error("frame header out of bounds");
      isLength = false;
      begin(length);
    } else if (header === null) {
      header = JSON.parse(piece.toString("utf8"));
      const length = header.parts.reduce((sum, each) => sum + each, 0);
      if (!(length >= 0 && length <= MAX_PARTS)) throw new Error("frame parts out of bounds");
      begin(length);
    } else {
      const [done, whole] = [header, piece];
      let at = 0;
      const parts = done.parts.map((length) => whole.subarray(at, (at += length)));
      header = null;
      isLength = true;
      begin(4);
      onFrame(done, parts);
    }
  };

  return (chunk) => {
    let from = 0;
    do {
      const copied = chunk.copy(piece, filled, from);
      filled += copied;
      from += copied;
      while (filled === piece.length) take();
    } while (from < chunk.length);
  };
}
