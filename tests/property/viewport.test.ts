import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { photoPoint, screenPoint, toPhoto, toScreen } from "@/lib/domain/marks/geometry";
import { clampView, fitOf, MOST_ZOOM, panBy, pinch, stepView, viewOf, wheelFactor, wheelPixels, WHOLE, windowOf, zoomAbout, type Size, type View } from "@/lib/domain/marks/viewport";

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const size: fc.Arbitrary<Size> = fc.record({ width: number(40, 4096), height: number(40, 4096) });
const anyView: fc.Arbitrary<View> = fc.record({ zoom: number(0.1, 20), x: number(-1, 2), y: number(-1, 2) });
const scene = fc.record({ view: anyView, photo: size, box: size });
const share = number(0, 1);
const pixels = number(-3000, 3000);

/** CSS pixels: far finer than anything seen. */
const HAIR = 1e-6;

function expectInside(view: View, photo: Size, box: Size): void {
  const fit = fitOf(view, photo, box);
  for (const [start, length, room] of [[fit.left, fit.width, box.width], [fit.top, fit.height, box.height]] as const) {
    if (length >= room) {
      expect(start).toBeLessThanOrEqual(HAIR);
      expect(start + length).toBeGreaterThanOrEqual(room - HAIR);
    } else expect(start).toBeCloseTo((room - length) / 2, 6);
  }
}

describe("the photo never leaves its box", () => {
  test("whatever the view, and whatever is done to it", () => {
    fc.assert(fc.property(scene, pixels, pixels, number(0.05, 20), fc.array(fc.constantFrom("in", "out", "left", "right", "up", "down", "whole"), { maxLength: 8 }),
      ({ view, photo, box }, dx, dy, factor, steps) => {
        expectInside(view, photo, box);
        const moved = zoomAbout(panBy(view, dx, dy, photo, box), factor, screenPoint(dx, dy), photo, box);
        const stepped = steps.reduce<View>((each, step) => stepView(each, step, photo, box), moved);
        for (const each of [moved, stepped]) {
          expectInside(each, photo, box);
          expect(each.zoom).toBeGreaterThanOrEqual(1);
          expect(each.zoom).toBeLessThanOrEqual(MOST_ZOOM);
        }
      }));
  });

  test("zoom 1 contains the photo: it touches two edges of the box and passes none", () => {
    fc.assert(fc.property(size, size, (photo, box) => {
      const fit = fitOf(WHOLE, photo, box);
      expect(Math.min(box.width - fit.width, box.height - fit.height)).toBeCloseTo(0, 6);
      expect(fit.width / fit.height).toBeCloseTo(photo.width / photo.height, 6);
    }));
    // A 3 by 4 photo in a wide box, by hand: as high as the box, its sides empty alike.
    expect(fitOf(WHOLE, { width: 1536, height: 2048 }, { width: 1000, height: 400 })).toEqual({ left: 350, top: 0, width: 300, height: 400 });
  });

  test("a view once clamped stays as it is", () => {
    fc.assert(fc.property(scene, ({ view, photo, box }) => {
      const once = clampView(view, photo, box);
      expect(clampView(once, photo, box)).toEqual(once);
    }));
  });
});

describe("the place under the pointer stays under it", () => {
  test("zooming in, wherever the photo fills the box in that direction", () => {
    fc.assert(fc.property(scene, share, share, number(1, 8), ({ view, photo, box }, px, py, factor) => {
      const about = screenPoint(px * box.width, py * box.height);
      const before = fitOf(view, photo, box);
      const after = fitOf(zoomAbout(view, factor, about, photo, box), photo, box);
      const [was, is] = [toPhoto(about, before), toPhoto(about, after)];
      if (before.width >= box.width) expect(is.x).toBeCloseTo(was.x, 9);
      if (before.height >= box.height) expect(is.y).toBeCloseTo(was.y, 9);
    }));
  });

  test("and zooming out again comes back to where it was", () => {
    fc.assert(fc.property(scene, share, share, number(1, 1.5), ({ view, photo, box }, px, py, factor) => {
      const about = screenPoint(px * box.width, py * box.height);
      const start = { ...clampView(view, photo, box) };
      const before = fitOf(start, photo, box);
      fc.pre(before.width >= box.width && before.height >= box.height && start.zoom * factor <= MOST_ZOOM);
      const back = zoomAbout(zoomAbout(start, factor, about, photo, box), 1 / factor, about, photo, box);
      expect(back.zoom).toBeCloseTo(start.zoom, 9);
      expect(back.x).toBeCloseTo(start.x, 9);
      expect(back.y).toBeCloseTo(start.y, 9);
    }));
  });

  test("two fingers keep their two places, as far as the photo may go", () => {
    const [photo, box] = [{ width: 2000, height: 1000 }, { width: 400, height: 200 }];
    const middle: View = { zoom: 3, x: 0.5, y: 0.5 };
    const finger = fc.tuple(number(120, 180), number(60, 140)).map(([x, y]) => screenPoint(x, y));
    fc.assert(fc.property(finger, number(20, 60), number(0.9, 1.3), number(-20, 20), number(-20, 20), (a, gap, by, dx, dy) => {
      const b = screenPoint(a.x + gap, a.y);
      const to = [screenPoint(a.x + dx, a.y + dy), screenPoint(a.x + dx + gap * by, a.y + dy)] as const;
      const before = fitOf(middle, photo, box);
      const after = fitOf(pinch(middle, [a, b], to, photo, box), photo, box);
      for (const [old, now] of [[a, to[0]], [b, to[1]]] as const) {
        const at = toScreen(toPhoto(old, before), after);
        expect(at.x).toBeCloseTo(now.x, 6);
        expect(at.y).toBeCloseTo(now.y, 6);
      }
    }));
  });

  test("two fingers on one spot break nothing", () => {
    const one = screenPoint(50, 50);
    const view = pinch(WHOLE, [one, one], [one, one], { width: 300, height: 400 }, { width: 100, height: 100 });
    expect(view).toEqual(WHOLE);
  });
});

describe("there and back", () => {
  test("a view comes back from its fit", () => {
    fc.assert(fc.property(scene, ({ view, photo, box }) => {
      const clamped = clampView(view, photo, box);
      const back = viewOf(fitOf(clamped, photo, box), photo, box);
      for (const key of ["zoom", "x", "y"] as const) expect(back[key]).toBeCloseTo(clamped[key], 9);
    }));
  });

  test("the window in photo pixels and the fit on the screen say the same", () => {
    fc.assert(fc.property(scene, share, share, ({ view, photo, box }, x, y) => {
      const window = windowOf(view, photo, box);
      const at = toScreen(photoPoint(x, y), fitOf(view, photo, box));
      expect(((x * photo.width - window.x) / window.width) * box.width).toBeCloseTo(at.x, 5);
      expect(((y * photo.height - window.y) / window.height) * box.height).toBeCloseTo(at.y, 5);
      expect(window.width / window.height).toBeCloseTo(box.width / box.height, 6);
    }));
  });

  test("steps: in and out, left and right, and the whole photo from anywhere", () => {
    const [photo, box] = [{ width: 2048, height: 1536 }, { width: 800, height: 600 }];
    const twice = stepView(stepView(stepView(WHOLE, "in", photo, box), "in", photo, box), "in", photo, box);
    expect(twice).toEqual({ zoom: expect.closeTo(2, 9), x: 0.5, y: 0.5 });
    const left = stepView(twice, "left", photo, box);
    // An eighth of the box is a sixteenth of a photo shown at twice its size.
    expect(left.x).toBeCloseTo(0.5 - 0.0625, 9);
    expect(stepView(left, "right", photo, box).x).toBeCloseTo(0.5, 9);
    expect(stepView(twice, "up", photo, box).y).toBeCloseTo(0.4375, 9);
    expect(stepView(left, "whole", photo, box)).toEqual(WHOLE);
    expect(wheelFactor(-300)).toBeCloseTo(2, 9);
    expect([0, 1, 2].map((deltaMode) => wheelPixels({ deltaY: 2, deltaMode, ctrlKey: false }))).toEqual([2, 32, 800]);
    expect(wheelPixels({ deltaY: -3, deltaMode: 0, ctrlKey: true })).toBe(-15);
    expect(wheelFactor(100) * wheelFactor(-100)).toBeCloseTo(1, 12);
    expect(wheelFactor(-100_000)).toBeCloseTo(2, 9);
  });
});
