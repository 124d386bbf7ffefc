/**
 * Two readers of our own, strict and small, that know nothing of the library that wrote the files: every
 * byte belongs to a box or element, every length is exact, and whatever is not named here throws.
 * Boxes: ISO/IEC 14496-12 (and -14 for `mp4a` and `esds`, the Opus-in-ISOBMFF encapsulation for `Opus`
 * and `dOps`). Elements: RFC 8794 (EBML) and RFC 9559 (Matroska), section 5.1.
 */

export type Part = { readonly path: string; readonly body: Buffer };

const CONTAINER_BOXES = ["moov", "trak", "edts", "mdia", "minf", "dinf", "stbl"];

export function boxesOf(file: Buffer): readonly Part[] {
  return boxesIn(file, "");
}

function boxesIn(bytes: Buffer, above: string): Part[] {
  const found: Part[] = [];
  let at = 0;
  while (at < bytes.length) {
    if (at + 8 > bytes.length) throw new Error(`${bytes.length - at} stray bytes in ${above || "the file"}`);
    const length = bytes.readUInt32BE(at);
    const type = bytes.toString("latin1", at + 4, at + 8);
    if (length < 8 || at + length > bytes.length) throw new Error(`${above}${type} is ${length} bytes long`);
    const body = bytes.subarray(at + 8, at + length);
    found.push({ path: `${above}${type}`, body });
    if (CONTAINER_BOXES.includes(type)) found.push(...boxesIn(body, `${above}${type}/`));
    if (type === "dref" || type === "stsd") found.push(...boxesIn(body.subarray(8), `${above}${type}/`));
    // An audio sample entry has 28 bytes of its own before its boxes (14496-12, 12.2.3).
    if (type === "mp4a" || type === "Opus") found.push(...boxesIn(body.subarray(28), `${above}${type}/`));
    // A visual one has 78 (12.1.3).
    if (type === "avc1" || type === "hvc1" || type === "hev1") found.push(...boxesIn(body.subarray(78), `${above}${type}/`));
    at += length;
  }
  return found;
}

type Kind = "master" | "value";
const ELEMENTS: Readonly<Record<number, readonly [name: string, kind: Kind]>> = {
  0x1a45dfa3: ["EBML", "master"], 0x4286: ["EBMLVersion", "value"], 0x42f7: ["EBMLReadVersion", "value"], 0x42f2: ["EBMLMaxIDLength", "value"],
  0x42f3: ["EBMLMaxSizeLength", "value"], 0x4282: ["DocType", "value"], 0x4287: ["DocTypeVersion", "value"], 0x4285: ["DocTypeReadVersion", "value"],
  0xec: ["Void", "value"], 0xbf: ["CRC-32", "value"],
  0x18538067: ["Segment", "master"],
  0x114d9b74: ["SeekHead", "master"], 0x4dbb: ["Seek", "master"], 0x53ab: ["SeekID", "value"], 0x53ac: ["SeekPosition", "value"],
  0x1549a966: ["Info", "master"], 0x2ad7b1: ["TimestampScale", "value"], 0x4d80: ["MuxingApp", "value"], 0x5741: ["WritingApp", "value"],
  0x4489: ["Duration", "value"], 0x4461: ["DateUTC", "value"], 0x7ba9: ["Title", "value"], 0x73a4: ["SegmentUUID", "value"],
  0x1654ae6b: ["Tracks", "master"], 0xae: ["TrackEntry", "master"], 0xd7: ["TrackNumber", "value"], 0x73c5: ["TrackUID", "value"], 0x83: ["TrackType", "value"],
  0x9c: ["FlagLacing", "value"], 0x22b59c: ["Language", "value"], 0x86: ["CodecID", "value"], 0x63a2: ["CodecPrivate", "value"], 0x56bb: ["SeekPreRoll", "value"],
  0x56aa: ["CodecDelay", "value"], 0x536e: ["Name", "value"], 0x88: ["FlagDefault", "value"],
  0xe1: ["Audio", "master"], 0xb5: ["SamplingFrequency", "value"], 0x9f: ["Channels", "value"], 0x6264: ["BitDepth", "value"],
  0xe0: ["Video", "master"], 0xb0: ["PixelWidth", "value"], 0xba: ["PixelHeight", "value"], 0x54b0: ["DisplayWidth", "value"], 0x54ba: ["DisplayHeight", "value"],
  0x54b2: ["DisplayUnit", "value"], 0x9a: ["FlagInterlaced", "value"], 0x53c0: ["AlphaMode", "value"], 0x23e383: ["DefaultDuration", "value"],
  0x55b0: ["Colour", "master"], 0x55b1: ["MatrixCoefficients", "value"], 0x55b9: ["Range", "value"], 0x55ba: ["TransferCharacteristics", "value"], 0x55bb: ["Primaries", "value"],
  0x55b7: ["ChromaSitingHorz", "value"], 0x55b8: ["ChromaSitingVert", "value"],
  0x1f43b675: ["Cluster", "master"], 0xe7: ["Timestamp", "value"], 0xa3: ["SimpleBlock", "value"],
  0xa0: ["BlockGroup", "master"], 0xa1: ["Block", "value"], 0x9b: ["BlockDuration", "value"], 0x75a2: ["DiscardPadding", "value"],
  0x1c53bb6b: ["Cues", "master"], 0xbb: ["CuePoint", "master"], 0xb3: ["CueTime", "value"], 0xb7: ["CueTrackPositions", "master"],
  0xf7: ["CueTrack", "value"], 0xf1: ["CueClusterPosition", "value"], 0xf0: ["CueRelativePosition", "value"],
  0x1254c367: ["Tags", "master"], 0x7373: ["Tag", "master"], 0x63c0: ["Targets", "master"], 0x63c5: ["TagTrackUID", "value"], 0x67c8: ["SimpleTag", "master"],
  0x45a3: ["TagName", "value"], 0x4487: ["TagString", "value"],
};

export function elementsOf(file: Buffer): readonly Part[] {
  return elementsIn(file, "");
}

function elementsIn(bytes: Buffer, above: string): Part[] {
  const found: Part[] = [];
  let at = 0;
  while (at < bytes.length) {
    const id = vint(bytes, at, false);
    const size = vint(bytes, at + id.length, true);
    const start = at + id.length + size.length;
    if (size.value === null || start + size.value > bytes.length) throw new Error(`an element in ${above || "the file"} has no exact size`);
    const known = ELEMENTS[id.value ?? -1];
    if (!known) throw new Error(`element ${id.value?.toString(16)} in ${above || "the file"}`);
    const [name, kind] = known;
    const body = bytes.subarray(start, start + size.value);
    found.push({ path: `${above}${name}`, body });
    if (kind === "master") found.push(...elementsIn(body, `${above}${name}/`));
    at = start + size.value;
  }
  return found;
}

/** A variable-size integer (RFC 8794, 4); null is the reserved "unknown". An id keeps its length marker. */
function vint(bytes: Buffer, at: number, isSize: boolean): { readonly value: number | null; readonly length: number } {
  const first = bytes[at];
  if (first === undefined || first === 0) throw new Error("a variable-size integer that cannot be");
  const length = Math.clz32(first) - 23;
  if (at + length > bytes.length) throw new Error("a variable-size integer past the end");
  let value = BigInt(isSize ? first & (0xff >> length) : first);
  for (let index = 1; index < length; index += 1) value = (value << 8n) | BigInt(bytes[at + index] ?? 0);
  const unknown = (1n << BigInt(7 * length)) - 1n;
  return { value: isSize && value === unknown ? null : Number(value), length };
}
