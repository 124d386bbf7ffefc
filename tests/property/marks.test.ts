import * as fc from "fast-check";
import { expect, test } from "vitest";
import { drawMarks } from "@/lib/domain/marks/draw";
import { photoPoint, toPhoto, toScreen, type Fit } from "@/lib/domain/marks/geometry";
import { markAt } from "@/lib/domain/marks/hit";
import { anchors, moveMark, serialiseMarks, type Mark } from "@/lib/domain/marks/marks";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { marksToSvg } from "@/lib/domain/marks/svg";

const LABELS = { angle: "{degrees}°\nphoto estimate", level: "{degrees}° to level" };

// Minus nought is written as nought in JSON, and means the same place.
const fraction = fc.double({ min: 0, max: 1, noNaN: true }).map((value) => value + 0);
const point = fc.tuple(fraction, fraction).map(([x, y]) => photoPoint(x, y));
const pixels = fc.double({ min: 1, max: 4096, noNaN: true });
const offset = fc.double({ min: -5000, max: 5000, noNaN: true });
const fit: fc.Arbitrary<Fit> = fc.record({ left: offset, top: offset, width: pixels, height: pixels });
const radius = fc.double({ min: 1e-6, max: 1, noNaN: true });
const itemKey = fc.option(fc.constantFrom("side-down", "elbow-high"));
const words = fc.string({ unit: "grapheme", minLength: 1, maxLength: 60 }).filter((text) => text.trim() !== "" && text.length <= 280);
const mark = (id: string): fc.Arbitrary<Mark> => {
  const common = { id: fc.constant(id), itemKey };
  return fc.oneof(
    fc.record({ ...common, kind: fc.constant("arrow" as const), from: point, to: point }),
    fc.record({ ...common, kind: fc.constant("ring" as const), center: point, radiusX: radius, radiusY: radius }),
    fc.record({ ...common, kind: fc.constant("line" as const), from: point, to: point }),
    fc.record({ ...common, kind: fc.constant("angle" as const), from: point, vertex: point, to: point }),
    fc.record({ ...common, kind: fc.constant("note" as const), at: point, text: words }),
  );
};
const marks = fc.nat({ max: 12 }).chain((count) => fc.tuple(...Array.from({ length: count }, (_none, index) => mark(`m${index}`))));

test("a point of the photo comes back from the screen", () => {
  fc.assert(
    fc.property(point, fit, (given, at) => {
      const back = toPhoto(toScreen(given, at), at);
      expect(back.x).toBeCloseTo(given.x, 8);
      expect(back.y).toBeCloseTo(given.y, 8);
    }),
  );
});

test("a finger beside the photo gives a point of its edge; a broken number none", () => {
  fc.assert(
    fc.property(fit, offset, offset, (at, x, y) => {
      const found = toPhoto({ ...toScreen(photoPoint(0, 0), at), x, y }, at);
      expect(Math.min(found.x, found.y)).toBeGreaterThanOrEqual(0);
      expect(Math.max(found.x, found.y)).toBeLessThanOrEqual(1);
    }),
  );
  for (const broken of [Number.NaN, Infinity, -Infinity]) expect(() => photoPoint(broken, 0)).toThrow(RangeError);
});

test("parse after serialise is the identity", () => {
  fc.assert(
    fc.property(marks, (given) => {
      expect(parseMarks(serialiseMarks(given))).toEqual({ ok: true, value: given });
    }),
  );
});

test("any JSON at all is either marks or refused, and never throws", () => {
  fc.assert(
    fc.property(fc.json(), (json) => {
      expect(parseMarks(json).ok).toBe(false);
    }),
  );
  fc.assert(
    fc.property(marks, fc.nat(), fc.string({ maxLength: 3 }), (given, where, junk) => {
      const json = serialiseMarks(given);
      const cut = where % (json.length + 1);
      const parsed = parseMarks(json.slice(0, cut) + junk + json.slice(cut));
      if (parsed.ok) expect(parseMarks(serialiseMarks(parsed.value))).toEqual(parsed);
      else expect(parsed.problem.code).toBe("form-invalid");
    }),
  );
});

test("drawing holds no broken number, and each ink has its halo before it", () => {
  fc.assert(
    fc.property(marks, pixels, pixels, fc.option(fc.double({ min: -180, max: 180, noNaN: true })), (given, width, height, level) => {
      const shapes = drawMarks(given, width, height, LABELS, level);
      expect(JSON.stringify(shapes.map((shape) => ({ ...shape, text: "" })))).not.toMatch(/NaN|Infinity|null/);
      for (const each of given) {
        const layers = shapes.filter((shape) => shape.markId === each.id).map((shape) => `${shape.kind} ${shape.layer}`);
        for (const kind of ["path", "circle", "text"]) {
          const halo = layers.indexOf(`${kind} halo`);
          const ink = layers.indexOf(`${kind} ink`);
          expect(halo === -1 ? ink === -1 : halo < ink).toBe(true);
        }
        expect(layers.length).toBeGreaterThan(1);
      }
    }),
  );
});

test("whatever the words, the document holds no element and no attribute of theirs", () => {
  const hostile = fc.array(fc.constantFrom("<", ">", '"', "'", "&", "script", "]]>", "<!--", "on=", "\u0000", " ", "x"), { minLength: 1, maxLength: 20 });
  fc.assert(
    fc.property(hostile, point, (parts, at) => {
      const text = parts.join("");
      const svg = marksToSvg([{ id: "n", itemKey: null, kind: "note", at, text }], 640, 480, { ink: "#000000", halo: "#ffffff" }, LABELS);
      const bare = svg.replace(/(<text [^<>]*>)[^<>"']*(?=<\/text>)/g, "$1");
      expect(bare).toMatch(/^<svg [^<>]*>(<circle [^<>]*\/>){2}(<text [^<>]*><\/text>)*<\/svg>$/);
    }),
  );
});

test("a moved mark stays inside, keeps its shape and is found where it went", () => {
  const step = fc.double({ min: -2, max: 2, noNaN: true });
  fc.assert(
    fc.property(mark("m"), step, step, (given, dx, dy) => {
      const moved = moveMark(given, dx, dy);
      const [before] = anchors(given);
      const [after] = anchors(moved);
      if (!before || !after) throw new Error("every mark hangs on a point");
      for (const [index, each] of anchors(moved).entries()) {
        const was = anchors(given)[index];
        expect(each.x - after.x).toBeCloseTo((was?.x ?? Number.NaN) - before.x, 9);
        expect(each.y - after.y).toBeCloseTo((was?.y ?? Number.NaN) - before.y, 9);
        expect(Math.min(each.x, each.y, 1 - each.x, 1 - each.y)).toBeGreaterThanOrEqual(0);
      }
      expect(markAt([moved], after, { width: 800, height: 600 }, 1)).toBe(moved);
    }),
  );
});
