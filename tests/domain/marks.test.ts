import sharp from "sharp";
import { describe, expect, test } from "vitest";
import { drawMarks } from "@/lib/domain/marks/draw";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { markAt } from "@/lib/domain/marks/hit";
import { moveArrowEnd, moveMark, resizeRing, type Arrow, type Mark, type Note, type Ring } from "@/lib/domain/marks/marks";
import { parseMarks, serialiseMarks } from "@/lib/domain/marks/marks.schema";
import { escapeXml, marksToSvg } from "@/lib/domain/marks/svg";

const arrow: Arrow = { id: "a1", itemKey: "elbow-high", kind: "arrow", from: photoPoint(0.2, 0.2), to: photoPoint(0.6, 0.5) };
const ring: Ring = { id: "r1", itemKey: null, kind: "ring", center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.1 };
const note: Note = { id: "n1", itemKey: "side-down", kind: "note", at: photoPoint(0.1, 0.8), text: "Turn onto the LEFT side" };
const COLOURS = { ink: "#b00040", halo: "#ffffff" };

describe("stored marks", () => {
  const stored = (mark: object, over: object = {}) => JSON.stringify({ version: 1, marks: [{ ...arrow, ...mark }], ...over });
  const refused = { ok: false, problem: { code: "form-invalid", field: "marks" } };

  test("come back as they were", () => {
    expect(parseMarks(serialiseMarks([arrow, ring, note]))).toEqual({ ok: true, value: [arrow, ring, note] });
    expect(parseMarks('{"version":1,"marks":[]}')).toEqual({ ok: true, value: [] });
  });

  // Requirement UP-11: script in a label, NaN, 1e309, a 10 MB array are refused or inert.
  test.each<[string, string]>([
    ["not JSON", "{"],
    ["nothing", ""],
    ["NaN", '{"version":1,"marks":[{"id":"a","itemKey":null,"kind":"note","at":{"x":NaN,"y":0},"text":"a"}]}'],
    ["a number past all numbers", '{"version":1,"marks":[{"id":"a","itemKey":null,"kind":"note","at":{"x":1e309,"y":0},"text":"a"}]}'],
    ["null for a number", stored({ from: { x: null, y: 0 } })],
    ["text for a number", stored({ from: { x: "0.5", y: 0 } })],
    ["left of the photo", stored({ from: { x: -0.001, y: 0 } })],
    ["below the photo", stored({ to: { x: 0, y: 1.001 } })],
    ["a point with a third number", stored({ to: { x: 0, y: 1, z: 0 } })],
    ["an extra key", stored({ onload: "alert(1)" })],
    ["an extra key outside", stored({}, { style: "x" })],
    ["a prototype key", '{"version":1,"marks":[],"__proto__":{"x":1}}'],
    ["a mark of another kind", stored({ kind: "path" })],
    ["a colour", stored({ colour: "red" })],
    ["another version", stored({}, { version: 2 })],
    ["no version", JSON.stringify({ marks: [] })],
    ["an id that is markup", stored({ id: '"><script>' })],
    ["an item key that is markup", stored({ itemKey: "<b>" })],
    ["two marks of one id", JSON.stringify({ version: 1, marks: [arrow, { ...ring, id: arrow.id }] })],
    ["a ring of no size", serialiseMarks([{ ...ring, radiusX: 0 }])],
    ["a ring turned inside out", serialiseMarks([{ ...ring, radiusY: -0.1 }])],
    ["a note without words", serialiseMarks([{ ...note, text: " \n " }])],
    ["a note of 281 letters", serialiseMarks([{ ...note, text: "a".repeat(281) }])],
    ["a note with a control character", serialiseMarks([{ ...note, text: "a\u0000b" }])],
    ["a note with half a character", serialiseMarks([{ ...note, text: "a\uD800" }])],
    ["a note that turns the reading direction", serialiseMarks([{ ...note, text: "lie \u202Etfel" }])],
    ["61 marks", serialiseMarks(Array.from({ length: 61 }, (_none, index) => ({ ...arrow, id: `a${index}` })))],
    ["ten thousand marks", serialiseMarks(Array.from({ length: 10_000 }, (_none, index) => ({ ...arrow, id: `a${index}` })))],
    ["more than 256 KB of blanks", `${" ".repeat(256 * 1024)}{"version":1,"marks":[]}`],
    ["ten megabytes", `[${"0,".repeat(5_000_000)}0]`],
    ["a deep nest", `${"[".repeat(100_000)}${"]".repeat(100_000)}`],
  ])("refused: %s", (_name, json) => {
    expect(parseMarks(json)).toEqual(refused);
  });

  test("at the limits: 60 marks, 280 letters, 256 KB, the corners", () => {
    const sixty = Array.from({ length: 60 }, (_none, index) => ({ ...note, id: `n${index}`, text: "é".repeat(280) }));
    expect(parseMarks(serialiseMarks(sixty)).ok).toBe(true);
    const json = '{"version":1,"marks":[]}';
    expect(parseMarks(json.padStart(256 * 1024)).ok).toBe(true);
    expect(parseMarks(json.padStart(256 * 1024 + 1)).ok).toBe(false);
    expect(parseMarks(serialiseMarks([{ ...arrow, from: photoPoint(0, 0), to: photoPoint(1, 1) }])).ok).toBe(true);
  });
});

describe("the drawing", () => {
  test("an arrow is a shaft and a head of two barbs, halo under ink", () => {
    const straight: Arrow = { ...arrow, from: photoPoint(0.5, 0), to: photoPoint(0.5, 0.5) };
    const shapes = drawMarks([straight], 1600, 1600);
    // Ink 10, head 50 at 30 degrees: barbs 25 to each side and 43.3 back.
    const d = "M800 0L800 800M825 756.7L800 800L775 756.7";
    expect(shapes).toEqual([
      { kind: "path", markId: "a1", layer: "halo", d, strokeWidth: 22 },
      { kind: "path", markId: "a1", layer: "ink", d, strokeWidth: 10 },
    ]);
  });

  test("a ring's radii follow the photo's width and height", () => {
    const [shape] = drawMarks([ring], 1000, 500);
    expect(shape).toMatchObject({ d: "M300 250A200 50 0 1 0 700 250A200 50 0 1 0 300 250Z" });
  });

  test("an arrow of no length and a tiny ring still show and hold no broken number", () => {
    const dot: Arrow = { ...arrow, to: arrow.from };
    const tiny: Ring = { ...ring, radiusX: Number.MIN_VALUE, radiusY: Number.MIN_VALUE };
    const spelled = JSON.stringify(drawMarks([dot, tiny], 320, 240));
    expect(spelled).not.toMatch(/NaN|Infinity|null/);
    expect(drawMarks([tiny], 320, 240)[0]).toMatchObject({ d: "M155.6 120A4.4 4.4 0 1 0 164.4 120A4.4 4.4 0 1 0 155.6 120Z" });
  });

  test("a note's words stay inside the picture, even the longest in a corner", () => {
    const words = Array.from({ length: 40 }, () => "straight").join(" ").slice(0, 280);
    for (const at of [photoPoint(0, 0), photoPoint(1, 0), photoPoint(0, 1), photoPoint(1, 1)]) {
      for (const shape of drawMarks([{ ...note, at, text: words }], 1024, 768)) {
        if (shape.kind !== "text") continue;
        expect(shape.x).toBeGreaterThanOrEqual(0);
        expect(shape.x + [...shape.text].length * 0.68 * shape.fontSize).toBeLessThanOrEqual(1024.01);
        expect(shape.y).toBeGreaterThanOrEqual(shape.fontSize);
        expect(shape.y).toBeLessThanOrEqual(768);
      }
    }
  });

  test("a note's words stand to the right of their place where there is room, else to the left", () => {
    // At 1600 pixels a letter of 50 is taken as 34 wide, and words keep 40 from their place.
    const wordsAt = (x: number) =>
      drawMarks([{ ...note, at: photoPoint(x, 0.5), text: "Bags here" }], 1600, 1600).find((shape) => shape.kind === "text");
    expect(wordsAt(0.1)).toMatchObject({ x: 200, text: "Bags here", fontSize: 50 });
    expect(wordsAt(0.9)).toMatchObject({ x: 1440 - 40 - 9 * 34 });
    // Neither side has room for a full line in the middle of a narrow picture.
    const narrow = drawMarks([{ ...note, at: photoPoint(0.5, 0.5), text: "wide words here" }], 200, 1600);
    for (const shape of narrow) if (shape.kind === "text") expect(shape.x).toBeGreaterThanOrEqual(0);
    const corner = drawMarks([{ ...note, at: photoPoint(0.5, 0.5), text: "a".repeat(28) }], 1024, 1024);
    expect(corner.find((shape) => shape.kind === "text")).toMatchObject({ x: 0 });
  });

  test("a note's words are all there, in order, the longest one cut", () => {
    const text = `Lie on the LEFT side\nnot on the right ${"o".repeat(100)}`;
    const lines = drawMarks([{ ...note, text }], 800, 600).flatMap((shape) =>
      shape.kind === "text" && shape.layer === "ink" ? [shape.text] : [],
    );
    expect(lines.join("").replaceAll(" ", "")).toBe(text.replaceAll(/\s/g, ""));
    expect(lines[0]).toBe("Lie on the LEFT side");
  });
});

describe("the flattened picture, drawn by an independent renderer (librsvg, through sharp)", () => {
  const pixels = async (marks: readonly Mark[], width: number, height: number) => {
    const svg = Buffer.from(marksToSvg(marks, width, height, COLOURS));
    const { data, info } = await sharp(svg).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([width, height]);
    return (x: number, y: number) => [...data.subarray((y * width + x) * 4, (y * width + x) * 4 + 4)];
  };
  const INK = [0xb0, 0x00, 0x40, 255];
  const HALO = [255, 255, 255, 255];

  test("ink where the marks are, halo beside it, nothing elsewhere", async () => {
    const level: Arrow = { ...arrow, from: photoPoint(0.1, 0.25), to: photoPoint(0.9, 0.25) };
    const at = await pixels([level, ring], 1600, 1600);
    expect(at(800, 400)).toEqual(INK);
    expect(at(800, 408)).toEqual(HALO);
    expect(at(800, 420)).toEqual([0, 0, 0, 0]);
    // The ring: 320 wide and 160 high around 800, 800.
    expect(at(1120, 800)).toEqual(INK);
    expect(at(800, 960)).toEqual(INK);
    expect(at(800, 800)).toEqual([0, 0, 0, 0]);
  });

  test("hostile words are words: the picture is drawn and nothing else is in the document", async () => {
    const text = `<img src=x onerror=alert(1)> </text><script>alert("1")</script> & ]]> '`;
    const svg = marksToSvg([{ ...note, text }], 800, 600, COLOURS);
    expect([...svg.matchAll(/<\/?([a-z]+)/g)].map((found) => found[1]).every((tag) => ["svg", "circle", "text"].includes(tag ?? ""))).toBe(true);
    const at = await pixels([{ ...note, text }], 800, 600);
    expect(at(80, 480)).toEqual(INK);
  });

  test("what XML cannot hold is left out", () => {
    expect(escapeXml("a\u0000\u0008\uD800b<&>\"'\uFFFFé😀")).toBe("ab&lt;&amp;&gt;&quot;&apos;é😀");
  });

  test("colours and sizes that are not ours are refused", () => {
    expect(() => marksToSvg([], 10, 10, { ink: 'red" onload="x', halo: "#ffffff" })).toThrow(RangeError);
    expect(() => marksToSvg([], 0, 10, COLOURS)).toThrow(RangeError);
    expect(() => marksToSvg([], Number.NaN, 10, COLOURS)).toThrow(RangeError);
    expect(() => marksToSvg([], 10, Infinity, COLOURS)).toThrow(RangeError);
  });
});

describe("taking hold and moving", () => {
  const shown = { width: 1000, height: 500 };

  test("the topmost mark within reach, or none", () => {
    const marks = [arrow, ring, note];
    expect(markAt(marks, photoPoint(0.3, 0.28), shown, 10)?.id).toBe("a1");
    expect(markAt(marks, photoPoint(0.1, 0.83), shown, 22)?.id).toBe("n1");
    expect(markAt(marks, photoPoint(0.6, 0.5), shown, 10)?.id).toBe("r1");
    expect(markAt(marks, photoPoint(0.95, 0.05), shown, 22)).toBeNull();
    expect(markAt([], photoPoint(0.5, 0.5), shown, 22)).toBeNull();
  });

  test("reach is in pixels of the screen, the same in both directions", () => {
    expect(markAt([note], photoPoint(0.121, 0.8), shown, 22)?.id).toBe("n1");
    expect(markAt([note], photoPoint(0.1, 0.843), shown, 22)?.id).toBe("n1");
    expect(markAt([note], photoPoint(0.123, 0.8), shown, 22)).toBeNull();
    expect(markAt([note], photoPoint(0.1, 0.845), shown, 22)).toBeNull();
    expect(markAt([ring], photoPoint(0.719, 0.5), shown, 20)?.id).toBe("r1");
    expect(markAt([ring], photoPoint(0.721, 0.5), shown, 20)).toBeNull();
    // Past an arrow's tip its line goes on, the arrow does not.
    expect(markAt([arrow], photoPoint(0.7, 0.575), shown, 20)).toBeNull();
    const end = { ...arrow, from: photoPoint(0.5, 0.5), to: photoPoint(0.5, 0.5) };
    expect(markAt([end], photoPoint(0.51, 0.5), shown, 10)?.id).toBe("a1");
  });

  test("a move keeps the shape and stops at the edge", () => {
    expect(moveMark(arrow, 0.1, -0.1)).toEqual({ ...arrow, from: photoPoint(0.2 + 0.1, 0.2 - 0.1), to: photoPoint(0.6 + 0.1, 0.5 - 0.1) });
    const far = moveMark(arrow, 5, 5);
    expect(far).toMatchObject({ from: { x: expect.closeTo(0.6, 9), y: expect.closeTo(0.7, 9) }, to: { x: 1, y: 1 } });
    expect(moveMark(ring, -9, 0)).toMatchObject({ center: { x: 0, y: 0.5 }, radiusX: 0.2 });
    expect(moveMark(note, 0, 1)).toMatchObject({ at: { x: 0.1, y: 1 }, text: note.text });
  });

  test("one end of an arrow and the size of a ring by keyboard", () => {
    expect(moveArrowEnd(arrow, "to", 0.1, 9)).toMatchObject({ from: { x: 0.2, y: 0.2 }, to: { x: expect.closeTo(0.7, 9), y: 1 } });
    expect(resizeRing(ring, 0.1, -0.5)).toMatchObject({ radiusY: 0.01 });
    expect(resizeRing(ring, 5, 0)).toMatchObject({ radiusX: 1, radiusY: 0.1 });
  });
});
