import type { Pixels } from "./pixels";

/**
 * Writes small HEIC files for tests, so that no picture is kept in the repository: one HEVC intra
 * picture whose 16 × 16 blocks are all stored as plain samples (PCM), in the boxes of a phone photo.
 * ITU-T H.265 (bit stream), ISO/IEC 14496-15 (hvcC), ISO/IEC 23008-12 (items and properties).
 */
export type HeicParts = {
  /** Width and height are multiples of 16. */
  readonly pixels: Pixels;
  /** ITU-T H.273 number stated in `nclx`: 1 sRGB, 12 Display P3. */
  readonly primaries: number;
  readonly icc?: Buffer;
  /** Quarter turns anticlockwise that a reader must apply (`irot`). */
  readonly turns?: number;
  /** A mirror that a reader must apply (`imir`). */
  readonly isMirrored?: boolean;
  /** TIFF block of an EXIF item. */
  readonly exif?: Buffer;
  /** Size written in the header instead of the true one. */
  readonly claims?: { readonly width: number; readonly height: number };
};

export function writeHeic(parts: HeicParts): Buffer {
  const { width, height } = parts.pixels;
  const sets = [videoSet(), sequenceSet(width, height), pictureSet()];
  const slice = codedPicture(parts.pixels);
  const picture = Buffer.concat([u32(slice.length), slice]);
  const exif = parts.exif ? Buffer.concat([u32(0), parts.exif]) : Buffer.alloc(0);
  const claims = parts.claims ?? { width, height };

  const properties = [
    box("hvcC", hevcSettings(sets)),
    fullBox("ispe", u32(claims.width), u32(claims.height)),
    box("colr", Buffer.from("nclx"), u16(parts.primaries), u16(13), u16(6), Buffer.from([0x80])),
    ...(parts.icc ? [box("colr", Buffer.from("prof"), parts.icc)] : []),
    ...(parts.turns === undefined ? [] : [box("irot", Buffer.from([parts.turns]))]),
    ...(parts.isMirrored ? [box("imir", Buffer.from([1]))] : []),
  ];
  const places = properties.map((_, index) => 0x80 | (index + 1));
  const iprp = box("iprp", box("ipco", ...properties), fullBox("ipma", u32(1), u16(1), Buffer.from([places.length, ...places])));
  const info = (id: number, type: string) =>
    Buffer.concat([u32(21), Buffer.from("infe"), Buffer.from([2, 0, 0, 0]), u16(id), u16(0), Buffer.from(type), Buffer.alloc(1)]);
  const items = [info(1, "hvc1"), ...(parts.exif ? [info(2, "Exif")] : [])];
  const fixed = [
    fullBox("hdlr", u32(0), Buffer.from("pict"), Buffer.alloc(13)),
    fullBox("pitm", u16(1)),
    fullBox("iinf", u16(items.length), ...items),
    ...(parts.exif ? [fullBox("iref", box("cdsc", u16(2), u16(1), u16(1)))] : []),
    iprp,
  ];
  const ftyp = box("ftyp", Buffer.from("heic"), u32(0), Buffer.from("mif1heic"));
  const locate = (start: number) => {
    const entry = (id: number, at: number, length: number) => Buffer.concat([u16(id), u16(0), u16(1), u32(at), u32(length)]);
    const entries = [entry(1, start, picture.length), ...(parts.exif ? [entry(2, start + picture.length, exif.length)] : [])];
    return fullBox("iloc", Buffer.from([0x44, 0x00]), u16(entries.length), ...entries);
  };
  const meta = (start: number) => fullBox("meta", ...fixed, locate(start));
  return Buffer.concat([ftyp, meta(ftyp.length + meta(0).length + 8), box("mdat", picture, exif)]);
}

const u16 = (value: number) => Buffer.from([value >> 8, value & 255]);
const u32 = (value: number) => Buffer.from([value >>> 24, (value >> 16) & 255, (value >> 8) & 255, value & 255]);

function box(type: string, ...content: readonly Buffer[]): Buffer {
  const body = Buffer.concat(content);
  return Buffer.concat([u32(body.length + 8), Buffer.from(type), body]);
}

const fullBox = (type: string, ...content: readonly Buffer[]) => box(type, Buffer.alloc(4), ...content);

/** Main Still Picture, compatible with Main and Main 10, level 6.2. */
const PROFILE = Buffer.from("0370000000900000000000ba", "hex");

function hevcSettings(sets: readonly Buffer[]): Buffer {
  const arrays = sets.map((set, index) => Buffer.concat([Buffer.from([0x80 | (32 + index)]), u16(1), u16(set.length), set]));
  return Buffer.concat([Buffer.from([1]), PROFILE, Buffer.from("f000fcfdf8f800000f03", "hex"), ...arrays]);
}

class Bits {
  readonly #bytes: number[] = [];
  #partial = 0;
  #count = 0;

  put(value: number, length: number): this {
    for (let bit = length - 1; bit >= 0; bit -= 1) {
      this.#partial = (this.#partial << 1) | ((value >>> bit) & 1);
      this.#count += 1;
      if (this.#count === 8) {
        this.#bytes.push(this.#partial);
        this.#partial = 0;
        this.#count = 0;
      }
    }
    return this;
  }

  /** Exp-Golomb, one or more. */
  ue(...values: readonly number[]): this {
    for (const value of values) {
      const length = 31 - Math.clz32(value + 1);
      this.put(0, length).put(value + 1, length + 1);
    }
    return this;
  }

  bytes(all: Iterable<number>): this {
    for (const byte of all) this.put(byte, 8);
    return this;
  }

  align(): this {
    while (this.#count !== 0) this.put(0, 1);
    return this;
  }

  /** A whole NAL unit, with emulation prevention (7.4.2). */
  unit(type: number): Buffer {
    const out = [type << 1, 1];
    let zeros = 0;
    for (const byte of this.align().#bytes) {
      if (zeros >= 2 && byte <= 3) {
        out.push(3);
        zeros = 0;
      }
      out.push(byte);
      zeros = byte === 0 ? zeros + 1 : 0;
    }
    return Buffer.from(out);
  }
}

const videoSet = () =>
  new Bits().put(0, 4).put(3, 2).put(0, 6).put(0, 3).put(1, 1).put(0xffff, 16).bytes(PROFILE).put(1, 1).ue(0, 0, 0).put(0, 6).ue(0).put(0, 2).put(1, 1).unit(32);

function sequenceSet(width: number, height: number): Buffer {
  const bits = new Bits().put(0, 4).put(0, 3).put(1, 1).bytes(PROFILE);
  // Chroma 4:2:0, size, no cropping, 8 bits, order count of 4 bits, buffering.
  bits.ue(0, 1, width, height).put(0, 1).ue(0, 0, 0).put(1, 1).ue(0, 0, 0);
  // Coding blocks of 16 alone; transforms 4 to 16; no scaling lists, asymmetric parts or offsets.
  bits.ue(1, 0, 0, 2, 0, 0).put(0, 3);
  // Plain samples of 8 bits in blocks of 16, unfiltered.
  bits.put(1, 1).put(7, 4).put(7, 4).ue(1, 0).put(1, 1);
  return bits.ue(0).put(0, 5).put(1, 1).unit(33);
}

function pictureSet(): Buffer {
  const bits = new Bits().ue(0, 0).put(0, 2).put(0, 3).put(0, 2).ue(0, 0, 0).put(0, 3).ue(0, 0).put(0, 7);
  // Deblocking control present, no override, off; the rest absent.
  return bits.put(1, 1).put(0, 1).put(1, 1).put(0, 2).ue(0).put(0, 2).put(1, 1).unit(34);
}

/** Last column of rangeTabLps (H.265 table 9-48): the only one these blocks reach. */
const RANGE_LPS = [
  240, 227, 216, 205, 195, 185, 175, 166, 158, 150, 142, 135, 128, 122, 116, 110, 104, 99, 94, 89, 85, 80, 76, 72, 69, 65, 62, 59, 56, 53, 50, 48, 45,
  43, 41, 39, 37, 35, 33, 31, 30, 28, 27, 25, 24, 23, 22, 21, 20, 19, 18, 17, 16, 15, 14, 14, 13, 12, 12, 11, 11, 10, 9,
];

function codedPicture(pixels: Pixels): Buffer {
  // First slice, keep earlier output off, picture set 0, intra, no change of quantiser, aligned.
  const bits = new Bits().put(1, 1).put(0, 1).ue(0).ue(2).ue(0).put(1, 1).align();
  const coder = new Coder(bits);
  const [columns, rows] = [pixels.width / 16, pixels.height / 16];
  for (let block = 0; block < columns * rows; block += 1) {
    // One part of the block's own size: the likely value, whose state climbs by one each time.
    coder.likely(RANGE_LPS[Math.min(block, 62)] ?? 9);
    coder.terminate(true);
    bits.align().bytes(samples(pixels, (block % columns) * 16, Math.floor(block / columns) * 16));
    coder.start();
    coder.terminate(block === columns * rows - 1);
  }
  return bits.unit(19);
}

/** Arithmetic encoder (H.265, 9.3.4.x as the decoder's mirror image). */
class Coder {
  #low = 0;
  #range = 510;
  #isFirst = true;
  #outstanding = 0;

  constructor(readonly bits: Bits) {}

  start(): void {
    this.#low = 0;
    this.#range = 510;
    this.#isFirst = true;
    this.#outstanding = 0;
  }

  likely(rangeLps: number): void {
    this.#range -= rangeLps;
    this.#renorm();
  }

  terminate(isEnd: boolean): void {
    this.#range -= 2;
    if (isEnd) {
      this.#low += this.#range;
      this.#range = 2;
    }
    this.#renorm();
    if (!isEnd) return;
    this.#bit((this.#low >> 9) & 1);
    this.bits.put(((this.#low >> 7) & 3) | 1, 2);
  }

  #renorm(): void {
    while (this.#range < 256) {
      if (this.#low < 256) this.#bit(0);
      else if (this.#low >= 512) {
        this.#low -= 512;
        this.#bit(1);
      } else {
        this.#low -= 256;
        this.#outstanding += 1;
      }
      this.#range <<= 1;
      this.#low <<= 1;
    }
  }

  #bit(value: number): void {
    if (this.#isFirst) this.#isFirst = false;
    else this.bits.put(value, 1);
    for (; this.#outstanding > 0; this.#outstanding -= 1) this.bits.put(1 - value, 1);
  }
}

/** A block's luma, then its halved chroma: full-range BT.601. */
function samples(pixels: Pixels, left: number, top: number): number[] {
  const [luma, blue, red]: [number[], number[], number[]] = [[], [], []];
  for (let y = top; y < top + 16; y += 1) {
    for (let x = left; x < left + 16; x += 1) {
      const at = (y * pixels.width + x) * 3;
      const [r = 0, g = 0, b = 0] = pixels.data.subarray(at, at + 3);
      luma.push(clamp(0.299 * r + 0.587 * g + 0.114 * b));
      if (x % 2 === 1 || y % 2 === 1) continue;
      blue.push(clamp(128 - 0.168736 * r - 0.331264 * g + 0.5 * b));
      red.push(clamp(128 + 0.5 * r - 0.418688 * g - 0.081312 * b));
    }
  }
  return [...luma, ...blue, ...red];
}

const clamp = (value: number) => Math.min(255, Math.max(0, Math.round(value)));
