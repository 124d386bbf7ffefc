import { between, oneOf } from "@/tests/proofs/random";

export type Named = { readonly name: string; readonly bytes: Buffer };

type Change = (bytes: Buffer, random: () => number, others: readonly Named[]) => Buffer;

const at = (bytes: Buffer, random: () => number): number => between(random, 0, Math.max(0, bytes.length - 1));

/** What goes wrong on a way, and what somebody does on purpose to a parser of lengths and offsets. */
const CHANGES: Readonly<Record<string, Change>> = {
  flips: (bytes, random) => {
    const out = Buffer.from(bytes);
    for (let left = between(random, 1, 24); left > 0 && out.length > 0; left -= 1) out[at(out, random)] = between(random, 0, 255);
    return out;
  },
  head: (bytes, random) => {
    const out = Buffer.from(bytes);
    for (let left = between(random, 1, 6); left > 0 && out.length > 0; left -= 1) out[between(random, 0, Math.min(out.length, 600) - 1)] = oneOf(random, [0, 0xff, 0x80, 0x7f, between(random, 0, 255)]);
    return out;
  },
  cut: (bytes, random) => bytes.subarray(0, at(bytes, random)),
  gap: (bytes, random) => {
    const from = at(bytes, random);
    return Buffer.concat([bytes.subarray(0, from), bytes.subarray(Math.min(bytes.length, from + between(random, 1, 5000)))]);
  },
  twice: (bytes, random) => {
    const from = at(bytes, random);
    const piece = bytes.subarray(from, Math.min(bytes.length, from + between(random, 1, 5000)));
    return Buffer.concat([bytes.subarray(0, from), piece, piece, bytes.subarray(from)]);
  },
  zeros: (bytes, random) => {
    const out = Buffer.from(bytes);
    const from = at(out, random);
    return out.fill(0, from, Math.min(out.length, from + between(random, 1, 5000)));
  },
  other: (bytes, random, others) => {
    const { bytes: other } = oneOf(random, others);
    return Buffer.concat([bytes.subarray(0, at(bytes, random)), other.subarray(at(other, random))]);
  },
  behind: (bytes, random, others) => Buffer.concat([bytes, oneOf(random, others).bytes]),
};

/** One of the files, changed in one of these ways. */
export function mutated(random: () => number, files: readonly Named[]): Named {
  const { name, bytes } = oneOf(random, files);
  const how = oneOf(random, Object.keys(CHANGES));
  return { name: `${name}, ${how}`, bytes: CHANGES[how]?.(bytes, random, files) ?? bytes };
}
