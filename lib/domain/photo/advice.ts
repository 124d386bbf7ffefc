import { lightOf, exposure, type Exposure } from "@/lib/domain/photo/exposure";
import { atMeasuredSize, greyOf, type ColourPixels } from "@/lib/domain/photo/grey";
import { pictureHash, type PictureHash } from "@/lib/domain/photo/perceptual-hash";
import { sharpness } from "@/lib/domain/photo/sharpness";

export const PHOTO_ADVICE = ["blurred", "dark", "bright", "low-contrast", "small"] as const;
/** A reason to offer "take it again?". The parent may send the photo all the same. */
export type PhotoAdvice = (typeof PHOTO_ADVICE)[number];

/**
 * Below this sharpness at the measured size a photo is called blurred. No source: real photos in
 * focus measured above 900, the same blurred by 0.2 % of their longest side under 25, and photos
 * really out of focus under 20. Smaller pictures than the measured size score higher.
 */
export const BLURRED_BELOW = 40;
/** A longest side under this shows a whole child too small to judge the prop; common practice, no source. */
export const SMALL_BELOW = 800;

export type MeasuredPhoto = { readonly sharpness: number; readonly exposure: Exposure; readonly hash: PictureHash };

/** All measures of one upright picture, the same on the phone and on the server. */
export function measurePhoto(image: ColourPixels): MeasuredPhoto {
  const grey = atMeasuredSize(greyOf(image));
  return { sharpness: sharpness(grey), exposure: exposure(grey), hash: pictureHash(grey) };
}

/**
 * What to point out before sending, gravest first; width and height are those of the photo as
 * taken. Warnings only: no photo is ever held back for them, since limits mislead on dark rooms,
 * plain walls and soft clothes.
 */
export function photoAdvice(photo: {
  readonly sharpness: number;
  readonly exposure: Omit<Exposure, "spread"> & { readonly spread?: number };
  readonly width: number;
  readonly height: number;
}): readonly PhotoAdvice[] {
  const light = lightOf(photo.exposure);
  return [
    ...(photo.sharpness < BLURRED_BELOW ? (["blurred"] as const) : []),
    ...(light === "ok" ? [] : [light]),
    ...(Math.max(photo.width, photo.height) < SMALL_BELOW ? (["small"] as const) : []),
  ];
}
