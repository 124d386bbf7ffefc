declare const space: unique symbol;
type In<Space extends string> = { readonly x: number; readonly y: number; readonly [space]: Space };

/** Fractions of the upright photo: 0,0 its top left corner, 1,1 its bottom right. */
export type PhotoPoint = In<"photo">;
/** CSS pixels of the window. */
export type ScreenPoint = In<"screen">;

/** Where the upright photo stands on the screen, in CSS pixels; width and height above zero. */
export type Fit = { readonly left: number; readonly top: number; readonly width: number; readonly height: number };

const within = (value: number): number => Math.min(1, Math.max(0, value));

// The two casts below are the only makers of points: they name the space the numbers are in.

/** A point of the photo; what lies outside is brought to its edge. Throws on NaN or infinity. */
export function photoPoint(x: number, y: number): PhotoPoint {
  if (!Number.isFinite(x) || !Number.isFinite(y)) throw new RangeError("a photo point needs finite numbers");
  return { x: within(x), y: within(y) } as PhotoPoint;
}

export const screenPoint = (x: number, y: number): ScreenPoint => ({ x, y }) as ScreenPoint;

/** A point outside the photo gives the nearest point of its edge. */
export const toPhoto = (point: ScreenPoint, fit: Fit): PhotoPoint =>
  photoPoint((point.x - fit.left) / fit.width, (point.y - fit.top) / fit.height);

export const toScreen = (point: PhotoPoint, fit: Fit): ScreenPoint =>
  screenPoint(fit.left + point.x * fit.width, fit.top + point.y * fit.height);
