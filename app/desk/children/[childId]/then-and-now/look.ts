import { screenPoint, type ScreenPoint } from "@/lib/domain/marks/geometry";
import { stepView, type Size, type View, type ViewStep } from "@/lib/domain/marks/viewport";

/** One movement of the view: told to both photos when they are linked, each with its own size. */
export type Look = (view: View, photo: Size, box: Size) => View;

export const step = (which: ViewStep): Look => (view, photo, box) => stepView(view, which, photo, box);

const KEYS: Readonly<Record<string, ViewStep>> = {
  ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "in", "=": "in", "-": "out", "0": "whole",
};

/** What a key on a photo does, or null when it means nothing there. */
export const lookOf = (key: string): Look | null => {
  const which = KEYS[key];
  return which ? step(which) : null;
};

/** Both photos stand in boxes of one shape, so that a place on one is the same place on the other: the taller photo's, at most 3 to 4. */
export function boxFor(photos: readonly Size[]): Size {
  const tallest = Math.max(...photos.map(({ width, height }) => height / width));
  return { width: 1200, height: Math.round(1200 * Math.min(4 / 3, tallest)) };
}

/** Where a pointer is in the box, whatever size the box is drawn at. */
export function inBox(svg: Element, box: Size, at: { readonly clientX: number; readonly clientY: number }): ScreenPoint {
  const { left, top, width, height } = svg.getBoundingClientRect();
  const scale = Math.min(width / box.width, height / box.height);
  return screenPoint((at.clientX - left - (width - box.width * scale) / 2) / scale, (at.clientY - top - (height - box.height * scale) / 2) / scale);
}
