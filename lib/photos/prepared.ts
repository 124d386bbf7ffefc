import type { MeasuredPhoto } from "@/lib/domain/photo/advice";
import type { CardFinding } from "@/lib/domain/photo/side-card";
import type { PhotoKind } from "@/lib/domain/photo/sniff";
import type { TakenAt } from "@/lib/domain/photo/taken-at";

/** Longest side, in pixels, of each picture kept; a smaller photo is never enlarged. */
export const KEPT_SIZES = [2048, 1024, 320] as const;
export type KeptSize = (typeof KEPT_SIZES)[number];

export type KeptPicture = {
  readonly size: KeptSize;
  readonly width: number;
  readonly height: number;
  /** A JPEG in sRGB with no metadata block of any kind. */
  readonly bytes: Buffer;
};

/** What is kept of one picture: upright, three sizes, largest first, and what was measured on it. */
export type PreparedPicture = {
  readonly sizes: readonly [KeptPicture, KeptPicture, KeptPicture];
  /** At most 32 pixels a side, a JPEG small enough to stand in a page. */
  readonly placeholder: { readonly width: number; readonly height: number; readonly bytes: Buffer };
  /** Sharpness, light and hash, measured at 1024 pixels. */
  readonly measures: MeasuredPhoto;
};

export type PreparedPhoto = PreparedPicture & {
  /** What arrived, byte for byte; the original itself is never kept. */
  readonly receivedBytes: number;
  /** SHA-256 of what arrived, 64 lower-case hexadecimal digits. */
  readonly sha256: string;
  readonly kind: PhotoKind;
  /** Size in pixels as sent, after turning upright. */
  readonly width: number;
  readonly height: number;
  /** The file said that it is a mirror image (EXIF orientation 2, 4, 5, 7, or a HEIC mirror). */
  readonly mirroredFlag: boolean;
  readonly takenAt: TakenAt | null;
  /** What its side card says. Where that is `mirrored`, the pictures above are already flipped back. */
  readonly card: CardFinding | null;
};
