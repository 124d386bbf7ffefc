import "server-only";
import { isMirrored, orientationOf } from "@/lib/domain/photo/orientation";
import { sniff, type PhotoKind } from "@/lib/domain/photo/sniff";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { DecoderReply } from "@/lib/photos/decoder-child";
import type { DecoderPool } from "@/lib/photos/decoder-pool";
import { decoderPool } from "@/lib/photos/decoder-pool";
import { faultOf, readCard, readPictures, readPrepared } from "@/lib/photos/decoder-reply";
import { readHeifHeader } from "@/lib/photos/heif-boxes";
import { readHeifExif } from "@/lib/photos/heif-exif";
import { checkPixelCount, checkPixelSize, PHOTO_LIMITS } from "@/lib/photos/limits";
import { readPixelSize } from "@/lib/photos/pixel-size";
import type { PreparedPhoto, PreparedPicture } from "@/lib/photos/prepared";
import { receive, type Body, type Declared } from "@/lib/photos/receive";
import { parseTakenAt } from "@/lib/domain/photo/taken-at";

/**
 * Takes one photo in: counts, sniffs, checks size by the header, decodes in a child process, and
 * returns clean pictures. Nothing touches the disk. Refusals are `photo-*` codes; throws only when
 * the connection is lost or on a bug.
 */
export async function takeIn(
  body: Body,
  declared: Declared = {},
  pool: DecoderPool = decoderPool("photos"),
): Promise<Result<PreparedPhoto>> {
  // Before 25 MB are read for nothing.
  if (pool.isFull) return pool.refuseFull();
  const received = await receive(body, declared);
  if (!received.ok) return received;
  const { bytes, sha256 } = received.value;

  const sniffed = sniff(bytes);
  if (!sniffed.accepted) return refuse("photo-kind-refused", { values: { kind: sniffed.kind } });
  const inspected = inspect(sniffed.kind, bytes);
  if (!inspected.ok) return inspected;
  const { icc, exif, primaries, mirrored } = inspected.value;

  const decode = async (flopped: boolean): Promise<Result<DecoderReply>> => {
    const header = { operation: "prepare", kind: sniffed.kind, primaries, flopped };
    const replied = await pool.run({ header, parts: [bytes, icc ?? NOTHING, exif ?? NOTHING] });
    const fault = replied.ok ? faultOf(replied.value) : null;
    return fault ? refuse(fault, faultValues(fault)) : replied;
  };
  let replied = await decode(false);
  if (!replied.ok) return replied;
  const card = readCard(replied.value);
  // Made anew from what arrived, so that a picture turned back loses nothing by it.
  if (card?.found === "one" && card.reading.mirrored) replied = await decode(true);
  if (!replied.ok) return replied;
  const { width, height, exif: facts } = readPrepared(replied.value);
  return ok({
    ...readPictures(replied.value),
    card,
    receivedBytes: bytes.length,
    sha256,
    kind: sniffed.kind,
    width,
    height,
    mirroredFlag: mirrored || isMirrored(orientationOf(facts.orientation)),
    takenAt: parseTakenAt(facts.takenAt, facts.offset),
  });
}

/** `quarterTurns` clockwise, then `flopped`: flipped left for right. */
export type ByHand = { readonly quarterTurns: 0 | 1 | 2 | 3; readonly flopped: boolean };

/**
 * A picture changed by hand, made again from the largest kept JPEG, so that marks, hash and all sizes
 * agree with what was seen. Throws when given no JPEG of ours.
 */
export async function turnPrepared(
  largestJpeg: Uint8Array,
  byHand: ByHand,
  pool: DecoderPool = decoderPool("photos"),
): Promise<Result<PreparedPicture>> {
  const replied = await pool.run({ header: { operation: "turn", ...byHand }, parts: [largestJpeg] });
  if (!replied.ok) return replied;
  const fault = faultOf(replied.value);
  return fault ? refuse(fault) : ok(readPictures(replied.value));
}

type Inspected = {
  readonly icc: Buffer | null;
  readonly exif: Buffer | null;
  readonly primaries: number | null;
  readonly mirrored: boolean;
};

const NOTHING = Buffer.alloc(0);

/** Size by the header alone; for HEIC also what its container says of colour, mirroring and EXIF. */
function inspect(kind: PhotoKind, bytes: Buffer): Result<Inspected> {
  if (kind !== "heic") {
    const size = readPixelSize(kind, bytes);
    if (!size) return refuse("photo-damaged");
    const checked = checkPixelSize(size);
    return checked.ok ? ok({ icc: null, exif: null, primaries: null, mirrored: false }) : checked;
  }
  const header = readHeifHeader(bytes);
  if (!header) return refuse("photo-damaged");
  // A small main picture over a huge tile or side picture is still huge to decode.
  for (const declared of header.declared) {
    const counted = checkPixelCount(declared);
    if (!counted.ok) return counted;
  }
  const checked = checkPixelSize(header.upright);
  return checked.ok ? ok({ ...header, exif: readHeifExif(bytes) }) : checked;
}

function faultValues(fault: string): { values?: Record<string, number> } {
  if (fault !== "photo-too-many-pixels") return {};
  const max = PHOTO_LIMITS.maxPixels / 1e6;
  return { values: { megapixels: max, max } };
}
