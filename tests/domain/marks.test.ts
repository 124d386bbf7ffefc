import sharp from "sharp";
import { describe, expect, test } from "vitest";
import { readingOf } from "@/lib/domain/marks/angle";
import { drawMarks } from "@/lib/domain/marks/draw";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { markAt } from "@/lib/domain/marks/hit";
import { handlesOf, moveHandle, nudgeHandle } from "@/lib/domain/marks/handles";
import { MARK_KINDS, moveMark, serialiseMarks, type Angle, type Arrow, type Line, type Mark, type Note, type Ring } from "@/lib/domain/marks/marks";
import { drawnMark, noteWords, placedMark } from "@/lib/domain/marks/new-mark";
import { marksIn, parseMarks } from "@/lib/domain/marks/marks.schema";
import { WHOLE } from "@/lib/domain/marks/viewport";
import { escapeXml, marksToSvg } from "@/lib/domain/marks/svg";
import { widthOf } from "@/lib/domain/marks/wrap-note";

const arrow: Arrow = { id: "a1", itemKey: "elbow-high", kind: "arrow", from: photoPoint(0.2, 0.2), to: photoPoint(0.6, 0.5) };
const ring: Ring = { id: "r1", itemKey: null, kind: "ring", center: photoPoint(0.5, 0.5), radiusX: 0.2, radiusY: 0.1 };
const note: Note = { id: "n1", itemKey: "side-down", kind: "note", at: photoPoint(0.1, 0.8), text: "Turn onto the LEFT side" };
const line: Line = { id: "l1", itemKey: null, kind: "line", from: photoPoint(0.1, 0.9), to: photoPoint(0.5, 0.7) };
const angle: Angle = { id: "g1", itemKey: "elbow-high", kind: "angle", from: photoPoint(0.2, 0.5), vertex: photoPoint(0.5, 0.5), to: photoPoint(0.5, 0.1) };
const LABELS = { angle: "{degrees}°\nphoto estimate", level: "{degrees}° to level" };
const COLOURS = { ink: "#b00040", halo: "#ffffff" };

describe("stored marks", () => {
  const stored = (mark: object, over: object = {}) => JSON.stringify({ version: 1, marks: [{ ...arrow, ...mark }], ...over });
  const refused = { ok: false, problem: { code: "form-invalid", field: "marks" } };

  test("come back as they were", () => {
    expect(parseMarks(serialiseMarks([arrow, ring, line, angle, note]))).toEqual({ ok: true, value: [arrow, ring, line, angle, note] });
    expect(JSON.parse(serialiseMarks([line]))).toEqual({ version: 2, marks: [line] });
    expect(parseMarks('{"version":1,"marks":[]}')).toEqual({ ok: true, value: [] });
  });

  test("what was stored in the first version reads as it did", () => {
    expect(parseMarks(JSON.stringify({ version: 1, marks: [arrow, ring, note] }))).toEqual({ ok: true, value: [arrow, ring, note] });
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
    ["another version", stored({}, { version: 3 })],
    ["a version in words", stored({}, { version: "2" })],
    ["a line in the first version, which had none", JSON.stringify({ version: 1, marks: [line] })],
    ["an angle in the first version", JSON.stringify({ version: 1, marks: [angle] })],
    ["an angle without its corner", JSON.stringify({ version: 2, marks: [{ ...angle, vertex: undefined }] })],
    ["an angle that brings its own degrees", JSON.stringify({ version: 2, marks: [{ ...angle, degrees: 12 }] })],
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

  test("a draft's text that is no marks, or none at all, gives a board without any", () => {
    expect(marksIn(serialiseMarks([arrow, angle]))).toEqual([arrow, angle]);
    expect([marksIn(undefined), marksIn(""), marksIn("typed by hand"), marksIn(stored({ itemKey: "<b>" }))]).toEqual([[], [], [], []]);
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
    const shapes = drawMarks([straight], 1600, 1600, LABELS);
    // Ink 10, head 50 at 30 degrees: barbs 25 to each side and 43.3 back.
    const d = "M800 0L800 800M825 756.7L800 800L775 756.7";
    expect(shapes).toEqual([
      { kind: "path", markId: "a1", layer: "halo", d, strokeWidth: 22 },
      { kind: "path", markId: "a1", layer: "ink", d, strokeWidth: 10 },
    ]);
  });

  test("a ring's radii follow the photo's width and height", () => {
    const [shape] = drawMarks([ring], 1000, 500, LABELS);
    expect(shape).toMatchObject({ d: "M300 250A200 50 0 1 0 700 250A200 50 0 1 0 300 250Z" });
  });

  test("an arrow of no length and a tiny ring still show and hold no broken number", () => {
    const dot: Arrow = { ...arrow, to: arrow.from };
    const tiny: Ring = { ...ring, radiusX: Number.MIN_VALUE, radiusY: Number.MIN_VALUE };
    const spelled = JSON.stringify(drawMarks([dot, tiny], 320, 240, LABELS));
    expect(spelled).not.toMatch(/NaN|Infinity|null/);
    expect(drawMarks([tiny], 320, 240, LABELS)[0]).toMatchObject({ d: "M155.6 120A4.4 4.4 0 1 0 164.4 120A4.4 4.4 0 1 0 155.6 120Z" });
  });

  test("a note's words stay inside the picture, even the longest in a corner", () => {
    const words = Array.from({ length: 40 }, () => "straight").join(" ").slice(0, 280);
    for (const at of [photoPoint(0, 0), photoPoint(1, 0), photoPoint(0, 1), photoPoint(1, 1)]) {
      for (const shape of drawMarks([{ ...note, at, text: words }], 1024, 768, LABELS)) {
        if (shape.kind !== "text") continue;
        expect(shape.x).toBeGreaterThanOrEqual(0);
        expect(shape.x + [...shape.text].length * 0.68 * shape.fontSize).toBeLessThanOrEqual(1024.01);
        expect(shape.y).toBeGreaterThanOrEqual(shape.fontSize);
        expect(shape.y).toBeLessThanOrEqual(768);
      }
    }
  });

  test("a note's words stand to the right of their place where there is room, else to the left", () => {
    // At 1600 pixels the type is 50; a small letter is taken as 36 wide, a capital as 41, and words keep 40 from their place.
    const wordsAt = (x: number) =>
      drawMarks([{ ...note, at: photoPoint(x, 0.5), text: "Bags here" }], 1600, 1600, LABELS).find((shape) => shape.kind === "text");
    expect(wordsAt(0.1)).toMatchObject({ x: 200, text: "Bags here", fontSize: 50 });
    expect(wordsAt(0.9)).toMatchObject({ x: 1440 - 40 - 8 * 36 - 44 });
    // Neither side has room for a full line in the middle of a narrow picture.
    const narrow = drawMarks([{ ...note, at: photoPoint(0.5, 0.5), text: "wide words here" }], 200, 1600, LABELS);
    for (const shape of narrow) if (shape.kind === "text") expect(shape.x).toBeGreaterThanOrEqual(0);
    const corner = drawMarks([{ ...note, at: photoPoint(0.5, 0.5), text: "a".repeat(28) }], 1024, 1024, LABELS);
    expect(corner.find((shape) => shape.kind === "text")).toMatchObject({ x: 0 });
  });

  test("a note's words are all there, in order, the longest one cut", () => {
    const text = `Lie on the LEFT side\nnot on the right ${"o".repeat(100)}`;
    const lines = drawMarks([{ ...note, text }], 800, 600, LABELS).flatMap((shape) =>
      shape.kind === "text" && shape.layer === "ink" ? [shape.text] : [],
    );
    expect(lines.join("").replaceAll(" ", "")).toBe(text.replaceAll(/\s/g, ""));
    expect(lines[0]).toBe("Lie on the LEFT side");
  });
});

describe("measured marks", () => {
  const written = (marks: readonly Mark[], level: number | null = null) =>
    drawMarks(marks, 1000, 1000, LABELS, level).flatMap((shape) => (shape.kind === "text" && shape.layer === "ink" ? [shape] : []));

  test("an angle has its degrees and what they are worth beside it, away from its opening", () => {
    const lines = written([{ ...angle, from: photoPoint(0.8, 0.5) }]);
    expect(lines.map(({ text }) => text)).toEqual(["90°", "photo estimate"]);
    // It opens to the right of its corner at 500: the words end left of it.
    for (const each of lines) expect(each.x + 500 * 0.28).toBeLessThan(500);
    expect(written([angle])[0]?.x).toBeGreaterThan(500);
  });

  test("a line is read only against a level that is known", () => {
    expect(written([line])).toEqual([]);
    expect(drawMarks([line], 1000, 1000, LABELS)).toHaveLength(2);
    // From 100, 900 to 500, 700: it rises by 26.57 degrees.
    expect(written([line], 0).map(({ text }) => text)).toEqual(["27° to level"]);
    expect(written([line], -20).map(({ text }) => text)).toEqual(["7° to level"]);
  });

  test("an angle whose arm has no length is drawn and says nothing", () => {
    expect(written([{ ...angle, vertex: angle.from }])).toEqual([]);
    expect(drawMarks([{ ...angle, vertex: angle.from }], 1000, 1000, LABELS)).toHaveLength(2);
  });
});

describe("the flattened picture, drawn by an independent renderer (librsvg, through sharp)", () => {
  const pixels = async (marks: readonly Mark[], width: number, height: number) => {
    const svg = Buffer.from(marksToSvg(marks, width, height, COLOURS, LABELS));
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

  test("words as wide as can be stay inside the picture", async () => {
    for (const wide of ["WM@".repeat(30), "幅広い文字".repeat(12), "ШЩЖЮ".repeat(20), "ΩΨΜΦ".repeat(20)]) {
      const at = await pixels([{ ...note, at: photoPoint(0.9, 0.5), text: wide }], 800, 600);
      const columns = (x: number) => Array.from({ length: 600 }, (_none, y) => at(x, y)[3] ?? 0);
      expect(Math.max(...columns(799)), wide).toBe(0);
      // It is drawn: some column of the words is not empty.
      expect(Math.max(...[200, 300, 400].flatMap(columns)), wide).toBe(255);
    }
  });

  // Advance widths of DejaVu Sans Bold 2.37, units of 2048 to the type's size, read from its font file.
  test.each([
    ["Щ", 2715], ["Ш", 2530], ["Ж", 2507], ["Ю", 2404], ["Ы", 2122], ["щ", 2264], ["ш", 2175], ["Ω", 1741], ["Φ", 1741],
    ["W", 2259], ["m", 2134], ["@", 2048], ["%", 2052], ["…", 2048], ["—", 2048], ["Œ", 2390], ["Ñ", 1714], ["O", 1741],
    ["G", 1681], ["&", 1786], ["+", 1716], ["=", 1716], ["n", 1458], ["é", 1389], ["ß", 1473], ["?", 1188], ["8", 1425],
  ])("%s is taken no narrower than in the widest face that may be met", (letter, units) => {
    expect(widthOf(letter)).toBeGreaterThanOrEqual(units / 2048);
  });

  test("hostile words are words: the picture is drawn and nothing else is in the document", async () => {
    const text = `<img src=x onerror=alert(1)> </text><script>alert("1")</script> & ]]> '`;
    const svg = marksToSvg([{ ...note, text }], 800, 600, COLOURS, LABELS);
    expect([...svg.matchAll(/<\/?([a-z]+)/g)].map((found) => found[1]).every((tag) => ["svg", "circle", "text"].includes(tag ?? ""))).toBe(true);
    const at = await pixels([{ ...note, text }], 800, 600);
    expect(at(80, 480)).toEqual(INK);
  });

  test("what XML cannot hold is left out", () => {
    expect(escapeXml("a\u0000\u0008\uD800b<&>\"'\uFFFFé😀")).toBe("ab&lt;&amp;&gt;&quot;&apos;é😀");
  });

  test("colours and sizes that are not ours are refused", () => {
    expect(() => marksToSvg([], 10, 10, { ink: 'red" onload="x', halo: "#ffffff" }, LABELS)).toThrow(RangeError);
    expect(() => marksToSvg([], 0, 10, COLOURS, LABELS)).toThrow(RangeError);
    expect(() => marksToSvg([], Number.NaN, 10, COLOURS, LABELS)).toThrow(RangeError);
    expect(() => marksToSvg([], 10, Infinity, COLOURS, LABELS)).toThrow(RangeError);
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

  test("each kind is taken hold of by its own handles, a note as a whole", () => {
    const keys = [arrow, ring, line, angle, note].map((mark) => handlesOf(mark).map((handle) => handle.key).join(" "));
    expect(keys).toEqual(["from to", "across down", "from to", "from vertex to", ""]);
    expect(handlesOf(ring)).toEqual([{ key: "across", at: photoPoint(0.7, 0.5) }, { key: "down", at: photoPoint(0.5, 0.6) }]);
    // A ring over the edge is taken hold of on the side that is in the photo.
    const [across] = handlesOf({ ...ring, center: photoPoint(0.9, 0.5) });
    expect(across?.at.x).toBeCloseTo(0.7, 9);
  });

  test("one handle moved leaves the others, and stops at the edge", () => {
    expect(nudgeHandle(arrow, "to", 0.1, 9)).toMatchObject({ from: { x: 0.2, y: 0.2 }, to: { x: expect.closeTo(0.7, 9), y: 1 } });
    expect(moveHandle(angle, "vertex", photoPoint(0.4, 0.6))).toEqual({ ...angle, vertex: photoPoint(0.4, 0.6) });
    expect(moveHandle(ring, "down", photoPoint(0.9, 0.5))).toMatchObject({ radiusX: 0.2, radiusY: 0.01 });
    expect(nudgeHandle(ring, "across", 5, 0)).toMatchObject({ radiusX: 0.5, radiusY: 0.1 });
    expect(moveHandle(arrow, "across", photoPoint(0, 0))).toBe(arrow);
    expect(nudgeHandle(note, "from", 0.1, 0)).toBe(note);
  });

  test("an angle and a line are found along their strokes", () => {
    expect(markAt([angle], photoPoint(0.35, 0.51), shown, 10)?.id).toBe("g1");
    expect(markAt([angle], photoPoint(0.5, 0.2), shown, 10)?.id).toBe("g1");
    expect(markAt([angle], photoPoint(0.35, 0.3), shown, 10)).toBeNull();
    expect(markAt([line], photoPoint(0.3, 0.8), shown, 10)?.id).toBe("l1");
  });
});

describe("drawing a new mark", () => {
  const own = { id: "m", itemKey: "elbow-high" };

  test("by a drag: an arrow points where the drag ended, a ring fills it, a note stands where it began", () => {
    const [a, b] = [photoPoint(0.2, 0.6), photoPoint(0.4, 0.2)];
    expect(drawnMark("arrow", [a, b], own)).toEqual({ ...own, kind: "arrow", from: a, to: b });
    expect(drawnMark("line", [a, b], own)).toEqual({ ...own, kind: "line", from: a, to: b });
    expect(drawnMark("ring", [a, b], own)).toMatchObject({ center: { x: expect.closeTo(0.3, 9), y: expect.closeTo(0.4, 9) }, radiusX: expect.closeTo(0.1, 9), radiusY: expect.closeTo(0.2, 9) });
    expect(drawnMark("note", [a, b], own)).toMatchObject({ at: a, text: "…" });
    expect(drawnMark("angle", [a, b, photoPoint(0.9, 0.9)], own)).toEqual({ ...own, kind: "angle", from: a, vertex: b, to: photoPoint(0.9, 0.9) });
    // Its first arm alone is shown as a line while the second is still to come.
    expect(drawnMark("angle", [a, b], own)).toMatchObject({ kind: "line" });
  });

  test("a press without a drag gives marks that can be seen and stored", () => {
    const corner = photoPoint(1, 0);
    expect(drawnMark("arrow", [corner], own)).toMatchObject({ from: corner, to: { x: 1, y: 0 } });
    expect(drawnMark("ring", [corner], own)).toMatchObject({ radiusX: 0.03, radiusY: 0.03 });
    const all = MARK_KINDS.map((kind) => drawnMark(kind, [photoPoint(0.5, 0.5)], { ...own, id: kind }));
    expect(parseMarks(serialiseMarks(all)).ok).toBe(true);
  });

  test("without a pointer it comes to the middle of what is looked at, a fifth of it large", () => {
    const [photo, box] = [{ width: 2000, height: 1000 }, { width: 1000, height: 500 }];
    expect(placedMark("arrow", WHOLE, photo, box, own)).toMatchObject({ from: { x: 0.4, y: 0.6 }, to: { x: 0.6, y: 0.4 } });
    const near = placedMark("line", { zoom: 2, x: 0.25, y: 0.75 }, photo, box, own);
    expect(near).toMatchObject({ from: { x: expect.closeTo(0.2, 9), y: expect.closeTo(0.75, 9) }, to: { x: expect.closeTo(0.3, 9) } });
    expect(readingOf(placedMark("angle", WHOLE, photo, photo, own), photo, null)).toBeGreaterThan(0);
  });

  test("words that cannot be stored are left out as they are typed", () => {
    expect(noteWords("lie \u202Eon\u0000 the LEFT")).toBe("lie on the LEFT");
    expect(noteWords("  ")).toBe("…");
    const cut = noteWords(`${"a".repeat(279)}😀`);
    expect(parseMarks(serialiseMarks([{ ...note, text: cut }]))).toMatchObject({ ok: true });
  });
});
