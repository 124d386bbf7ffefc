import { screenPoint, type Fit, type ScreenPoint } from "@/lib/domain/marks/geometry";

/** Width and height above zero: of a photo in its own pixels, of a box in CSS pixels. */
export type Size = { readonly width: number; readonly height: number };

/**
 * What of an upright photo is looked at. `zoom` 1 shows the whole photo; `x` and `y` are the point,
 * in fractions of the photo, that stands in the middle of the box. It holds no pixels, so one view
 * can lie over two photos at once.
 */
export type View = { readonly zoom: number; readonly x: number; readonly y: number };

export const WHOLE: View = { zoom: 1, x: 0.5, y: 0.5 };
/** A 2048-pixel photo in a 500-pixel box shows two screen pixels for each of its own at this zoom. */
export const MOST_ZOOM = 8;
/** One press of a key or button: three presses double, as cameras step. */
export const ZOOM_STEP = 2 ** (1 / 3);
/** One press of a key moves the view by this share of the box. */
export const PAN_STEP = 0.125;

/**
 * The nearest view that keeps the photo in the box: zoom from 1 to `MOST_ZOOM`, no empty strip beside
 * a photo wider or taller than the box, and a photo narrower or lower than it in the middle.
 */
export function clampView(view: View, photo: Size, box: Size): View {
  const zoom = Math.min(MOST_ZOOM, Math.max(1, view.zoom));
  const scale = wholeScale(photo, box) * zoom;
  return { zoom, x: within(view.x, box.width / (photo.width * scale)), y: within(view.y, box.height / (photo.height * scale)) };
}

/** `share`: how much of the photo the box can show in this direction; 1 and more is all of it. */
const within = (centre: number, share: number): number =>
  share >= 1 ? 0.5 : Math.min(1 - share / 2, Math.max(share / 2, centre));

/** CSS pixels a pixel of the photo takes when the whole photo is contained in the box. */
const wholeScale = (photo: Size, box: Size): number => Math.min(box.width / photo.width, box.height / photo.height);

/** Where the photo stands, in CSS pixels from the box's top left corner; what is outside the box is cut off. */
export function fitOf(view: View, photo: Size, box: Size): Fit {
  const { zoom, x, y } = clampView(view, photo, box);
  const scale = wholeScale(photo, box) * zoom;
  const [width, height] = [photo.width * scale, photo.height * scale];
  return { left: box.width / 2 - x * width, top: box.height / 2 - y * height, width, height };
}

/** The view that shows the photo so; the clamped one where a fit lets the photo leave. */
export const viewOf = (fit: Fit, photo: Size, box: Size): View =>
  clampView(
    {
      zoom: fit.width / (photo.width * wholeScale(photo, box)),
      x: (box.width / 2 - fit.left) / fit.width,
      y: (box.height / 2 - fit.top) / fit.height,
    },
    photo,
    box,
  );

/** The box in pixels of the photo: an SVG view box of the box's own shape, reaching past the photo where it is empty. */
export function windowOf(view: View, photo: Size, box: Size): { readonly x: number; readonly y: number } & Size {
  const fit = fitOf(view, photo, box);
  const scale = fit.width / photo.width;
  // `+ 0`: a photo flush with the box's edge would give minus nought.
  return { x: -fit.left / scale + 0, y: -fit.top / scale + 0, width: box.width / scale, height: box.height / scale };
}

/** The photo dragged by CSS pixels: to the right shows more of its left. */
export const panBy = (view: View, dx: number, dy: number, photo: Size, box: Size): View => {
  const fit = fitOf(view, photo, box);
  return viewOf({ ...fit, left: fit.left + dx, top: fit.top + dy }, photo, box);
};

/**
 * Larger or smaller by a factor, with the place of the photo under `about` (CSS pixels of the box)
 * staying there, as far as the photo may not leave.
 */
export function zoomAbout(view: View, factor: number, about: ScreenPoint, photo: Size, box: Size): View {
  const held = clampView(view, photo, box);
  const zoom = Math.min(MOST_ZOOM, Math.max(1, held.zoom * factor));
  const by = zoom / held.zoom;
  const fit = fitOf(held, photo, box);
  return viewOf(
    { left: about.x - (about.x - fit.left) * by, top: about.y - (about.y - fit.top) * by, width: fit.width * by, height: fit.height * by },
    photo,
    box,
  );
}

type Fingers = readonly [ScreenPoint, ScreenPoint];

/** Two fingers moved from one pair of places to another: zoom by how they part, pan by their middle. */
export function pinch(view: View, from: Fingers, to: Fingers, photo: Size, box: Size): View {
  // Fingers nearer than a finger's width tell nothing of how they part: from trying.
  const apart = (fingers: Fingers) => Math.max(8, Math.hypot(fingers[0].x - fingers[1].x, fingers[0].y - fingers[1].y));
  const middle = ([a, b]: Fingers) => screenPoint((a.x + b.x) / 2, (a.y + b.y) / 2);
  const [start, end] = [middle(from), middle(to)];
  const zoomed = zoomAbout(view, apart(to) / apart(from), start, photo, box);
  return panBy(zoomed, end.x - start.x, end.y - start.y, photo, box);
}

type Turn = { readonly deltaY: number; readonly deltaMode: number; readonly ctrlKey: boolean };

/**
 * A turn of a wheel in CSS pixels; with Ctrl it is two fingers on a pad, whose turns are small. A line of
 * a wheel is about 16 pixels, a page about 400 (Pointer Events give no exact figure): common practice, no source.
 */
export const wheelPixels = ({ deltaY, deltaMode, ctrlKey }: Turn): number => deltaY * ([1, 16, 400][deltaMode] ?? 1) * (ctrlKey ? 5 : 1);

/** One turn of a wheel, in CSS pixels (`deltaY`), as a factor: a notch of 100 is one `ZOOM_STEP`, up is larger. */
export const wheelFactor = (deltaY: number): number => ZOOM_STEP ** (-Math.max(-300, Math.min(300, deltaY)) / 100);

export type ViewStep = "in" | "out" | "whole" | "left" | "right" | "up" | "down";

/** One press of a key or button. `left` looks further left: the photo itself goes right. */
export function stepView(view: View, step: ViewStep, photo: Size, box: Size): View {
  const middle = screenPoint(box.width / 2, box.height / 2);
  switch (step) {
    case "in":
      return zoomAbout(view, ZOOM_STEP, middle, photo, box);
    case "out":
      return zoomAbout(view, 1 / ZOOM_STEP, middle, photo, box);
    case "whole":
      return WHOLE;
    case "left":
    case "right":
      return panBy(view, (step === "left" ? 1 : -1) * PAN_STEP * box.width, 0, photo, box);
    case "up":
    case "down":
      return panBy(view, 0, (step === "up" ? 1 : -1) * PAN_STEP * box.height, photo, box);
  }
}
