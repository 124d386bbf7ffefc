import { ok, refuse, type Result } from "@/lib/domain/result";

/** Bytes, pixels and sides of one photo; a 24-megapixel phone photo of 15 MB passes. */
export const PHOTO_LIMITS = {
  maxBytes: 25_000_000,
  /** A longer body is no longer read: the connection is cut here. */
  cutBytes: 26_000_000,
  maxPixels: 60_000_000,
  minSide: 200,
  maxSide: 12_000,
} as const;

export type PixelSize = { readonly width: number; readonly height: number };

/** Pixels first: "very large photo" is the sentence the owner of a 200-megapixel phone needs. */
export function checkPixelSize(size: PixelSize): Result<PixelSize> {
  const counted = checkPixelCount(size);
  if (!counted.ok) return counted;
  const { width, height } = size;
  const { maxSide, minSide } = PHOTO_LIMITS;
  if (Math.max(width, height) > maxSide) {
    return refuse("photo-side-too-long", { values: { side: Math.max(width, height), max: maxSide } });
  }
  if (Math.min(width, height) < minSide) {
    return refuse("photo-too-small", { values: { width, height, min: minSide } });
  }
  return ok(size);
}

export function checkPixelCount(size: PixelSize): Result<PixelSize> {
  const pixels = size.width * size.height;
  const max = PHOTO_LIMITS.maxPixels;
  if (pixels <= max) return ok(size);
  return refuse("photo-too-many-pixels", { values: { megapixels: Math.ceil(pixels / 1e6), max: max / 1e6 } });
}
