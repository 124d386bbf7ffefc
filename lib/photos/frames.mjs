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
 * Collects chunks and hands over each frame once it is whole.
 * @param {(header: Record<string, unknown>, parts: Buffer[]) => void} onFrame
 * @returns {(chunk: Buffer) => void} throws when the other side does not keep to the format
 */
export function frameReader(onFrame) {
  /** @type {Buffer[]} */
  let chunks = [];
  let held = 0;
  /** @type {{ parts: number[] } | null} */
  let header = null;
  let wanted = 4;
  let isLength = true;

  return (chunk) => {
    chunks.push(chunk);
    held += chunk.length;
    while (held >= wanted) {
      const whole = chunks.length === 1 ? chunks[0] : Buffer.concat(chunks, held);
      const piece = whole.subarray(0, wanted);
      chunks = [whole.subarray(wanted)];
      held -= wanted;
      if (isLength) {
        isLength = false;
        wanted = piece.readUInt32BE(0);
        if (wanted < 2 || wanted > MAX_HEADER) throw new Error("frame header out of bounds");
      } else if (header === null) {
        header = JSON.parse(piece.toString("utf8"));
        wanted = header.parts.reduce((sum, length) => sum + length, 0);
        if (!(wanted >= 0 && wanted <= MAX_PARTS)) throw new Error("frame parts out of bounds");
      } else {
        const parts = [];
        let at = 0;
        for (const length of header.parts) {
          parts.push(piece.subarray(at, at + length));
          at += length;
        }
        const done = header;
        header = null;
        isLength = true;
        wanted = 4;
        onFrame(done, parts);
      }
    }
  };
}
