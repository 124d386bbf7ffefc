import type { PixelSize } from "@/lib/photos/limits";

export type HeifHeader = {
  /** The main picture, upright: the container's rotation is already counted in. */
  readonly upright: PixelSize;
  /** Every picture the file declares, tiles and side pictures included, as stored. */
  readonly declared: readonly PixelSize[];
  /** The container mirrors the main picture (`imir`). */
  readonly mirrored: boolean;
  /** Colour profile of the main picture, if it has one. */
  readonly icc: Buffer | null;
  /** Colour primaries by number (ITU-T H.273: 1 is sRGB's, 12 is Display P3's), if stated. */
  readonly primaries: number | null;
};

export type Box = { readonly type: string; readonly start: number; readonly end: number };

/**
 * Reads size, rotation, mirroring and colour from the boxes of a HEIC file (ISO/IEC 23008-12)
 * without decoding: a 200-megapixel phone photo would take gigabytes before it could be refused.
 * Null when the boxes make no sense.
 */
export function readHeifHeader(bytes: Buffer): HeifHeader | null {
  try {
    const meta = findBox(boxesIn(bytes, 0, bytes.length), "meta");
    if (!meta) return null;
    const inMeta = boxesIn(bytes, meta.start + 4, meta.end);
    const main = findBox(inMeta, "pitm");
    const iprp = findBox(inMeta, "iprp");
    if (!main || !iprp) return null;
    const inIprp = boxesIn(bytes, iprp.start, iprp.end);
    const ipco = findBox(inIprp, "ipco");
    if (!ipco) return null;
    const all = boxesIn(bytes, ipco.start, ipco.end);
    const associations = inIprp.filter((box) => box.type === "ipma");
    const own = propertiesOf(bytes, associations, readMainItem(bytes, main)).flatMap((index) => all[index - 1] ?? []);
    return assemble(bytes, all, own);
  } catch (error) {
    // Buffer reads past the end: the file is shorter than its own boxes say.
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function assemble(bytes: Buffer, all: readonly Box[], own: readonly Box[]): HeifHeader | null {
  const declared = all.filter((box) => box.type === "ispe").map((box) => readSize(bytes, box));
  const ispe = findBox(own, "ispe");
  if (!ispe) return null;
  const stored = readSize(bytes, ispe);
  if (stored.width === 0 || stored.height === 0) return null;
  const irot = findBox(own, "irot");
  const isQuarter = irot !== undefined && (bytes.readUInt8(irot.start) & 1) === 1;
  const colours = own.some((box) => box.type === "colr") ? own : all;
  return {
    upright: isQuarter ? { width: stored.height, height: stored.width } : stored,
    declared,
    mirrored: findBox(own, "imir") !== undefined,
    ...readColour(bytes, colours.filter((box) => box.type === "colr")),
  };
}

export const findBox = (list: readonly Box[], type: string) => list.find((box) => box.type === type);

/** Boxes lying side by side between two offsets; each moves on by its own length, so this ends. */
export function boxesIn(bytes: Buffer, from: number, to: number): Box[] {
  const found: Box[] = [];
  let at = from;
  while (at + 8 <= to) {
    let size = bytes.readUInt32BE(at);
    let header = 8;
    if (size === 1) {
      size = Number(bytes.readBigUInt64BE(at + 8));
      header = 16;
    }
    const end = size === 0 ? to : at + size;
    if (end < at + header || end > to) break;
    found.push({ type: bytes.toString("latin1", at + 4, at + 8), start: at + header, end });
    at = end;
  }
  return found;
}

function readMainItem(bytes: Buffer, pitm: Box): number {
  const isLong = bytes.readUInt8(pitm.start) > 0;
  return isLong ? bytes.readUInt32BE(pitm.start + 4) : bytes.readUInt16BE(pitm.start + 4);
}

/** One-based places in `ipco` of the properties that belong to an item. */
function propertiesOf(bytes: Buffer, associations: readonly Box[], item: number): number[] {
  const places: number[] = [];
  for (const ipma of associations) {
    const longId = bytes.readUInt8(ipma.start) > 0;
    const longIndex = (bytes.readUInt8(ipma.start + 3) & 1) === 1;
    const entries = bytes.readUInt32BE(ipma.start + 4);
    let at = ipma.start + 8;
    for (let entry = 0; entry < entries && at < ipma.end; entry += 1) {
      const id = longId ? bytes.readUInt32BE(at) : bytes.readUInt16BE(at);
      at += longId ? 4 : 2;
      const count = bytes.readUInt8(at);
      at += 1;
      for (let index = 0; index < count; index += 1) {
        const place = longIndex ? bytes.readUInt16BE(at) & 0x7fff : bytes.readUInt8(at) & 0x7f;
        at += longIndex ? 2 : 1;
        if (id === item) places.push(place);
      }
    }
  }
  return places;
}

function readSize(bytes: Buffer, ispe: Box): PixelSize {
  return { width: bytes.readUInt32BE(ispe.start + 4), height: bytes.readUInt32BE(ispe.start + 8) };
}

/** A profile outranks bare numbers where both are given. */
function readColour(bytes: Buffer, colours: readonly Box[]): Pick<HeifHeader, "icc" | "primaries"> {
  let icc: Buffer | null = null;
  let primaries: number | null = null;
  for (const colour of colours) {
    const type = bytes.toString("latin1", colour.start, colour.start + 4);
    const profile = bytes.subarray(colour.start + 4, colour.end);
    // 128 bytes is the length of a profile's header (ICC.1, 7.2): anything shorter is empty.
    if ((type === "prof" || type === "rICC") && profile.length > 128) icc ??= profile;
    if (type === "nclx") primaries ??= bytes.readUInt16BE(colour.start + 4);
  }
  return { icc, primaries };
}
