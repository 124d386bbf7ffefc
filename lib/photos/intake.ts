import "server-only";
import { isMirrored, orientationOf } from "@/lib/domain/photo/orientation";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { DecoderPool } from "@/lib/photos/decoder-pool";
import { decoderPool } from "@/lib/photos/decoder-pool";
import { faultOf, readPictures, readPrepared } from "@/lib/photos/decoder-reply";
import { readHeifHeader } from "@/lib/photos/heif-boxes";
import { readHeifExif } from "@/lib/photos/heif-exif";
import { checkPixelCount, checkPixelSize, PHOTO_LIMITS } from "@/lib/photos/limits";
import { readPixelSize } from "@/lib/photos/pixel-size";
import type { PhotoKind, PreparedPhoto, PreparedPicture } from "@/lib/photos/prepared";
import { receive, type Body, type Declared } from "@/lib/photos/receive";
import { sniff } from "@/lib/photos/sniff";
import { parseTakenAt } from "@/lib/photos/taken-at";

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

  const header = { operation: "prepare", kind: sniffed.kind, primaries };
  const replied = await pool.run({ header, parts: [bytes, icc ?? NOTHING, exif ?? NOTHING] });
  if (!replied.ok) return replied;
  const fault = faultOf(replied.value);
  if (fault) return refuse(fault, faultValues(fault));
  const { width, height, exif: facts } = readPrepared(replied.value);
  return ok({
    ...readPictures(replied.value),
    receivedBytes: bytes.length,
    sha256,
    kind: sniffed.kind,
    width,
    height,
    mirroredFlag: mirrored || isMirrored(orientationOf(facts.orientation)),
    takenAt: parseTakenAt(facts.takenAt, facts.offset),
  });
}

/**
 * A picture turned by hand: quarter turns clockwise, made again from the largest kept JPEG, so that
 * marks, hash and all sizes agree with what the parent saw. Throws when given no JPEG of ours.
 */
export async function turnPrepared(
  largestJpeg: Uint8Array,
  quarterTurns: 1 | 2 | 3,
  pool: DecoderPool = decoderPool("photos"),
): Promise<Result<PreparedPicture>> {
  const replied = await pool.run({ header: { operation: "turn", quarterTurns }, parts: [largestJpeg] });
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
