import { describe, expect, test } from "vitest";
import { cardNumber, checkCharacter, isCardNumber, shortCardNumber } from "@/lib/domain/photo/card-number";
import { homographyOf, mapPoint, stepsAt, type Quad } from "@/lib/domain/photo/homography";
import { flipFinding, readSideCard, turnFinding, type CardFinding, type FoundCode, type SideCardReading } from "@/lib/domain/photo/side-card";
import { parseFinding, serialiseFinding } from "@/lib/domain/photo/side-card.schema";
// Exact fractions and OpenCV; the source stands in the file.
import outside from "@/tests/checks/homography.json";

const quad = (points: readonly (readonly number[])[]): Quad => {
  const [p, q, r, s] = points.map(([x = 0, y = 0]) => ({ x, y }));
  if (!p || !q || !r || !s) throw new Error("four points");
  return [p, q, r, s];
};

describe("the homography", () => {
  test.each(outside.examples)("$name", ({ src, dst, H, maps }) => {
    const map = homographyOf(quad(src), quad(dst));
    if (!map) throw new Error("there is one");
    H.forEach((value, at) => expect(map[at]).toBeCloseTo(value, 11));
    for (const { from: [x = 0, y = 0], to: [u = 0, v = 0] } of maps) {
      expect(mapPoint(map, { x, y }).x).toBeCloseTo(u, 9);
      expect(mapPoint(map, { x, y }).y).toBeCloseTo(v, 9);
    }
  });

  test("has no solution where three points lie in line, on either side", () => {
    const { src, dst } = outside.degenerate;
    expect(homographyOf(quad(src), quad(dst))).toBeNull();
    expect(homographyOf(quad(dst), quad(src))).toBeNull();
  });

  test("its steps are what the map itself does over a small distance", () => {
    const { src, dst } = outside.examples[0] ?? outside.degenerate;
    const map = homographyOf(quad(src), quad(dst));
    if (!map) throw new Error("there is one");
    const small = 1e-6;
    const [here, right] = [mapPoint(map, { x: 0.3, y: 0.6 }), mapPoint(map, { x: 0.3 + small, y: 0.6 })];
    expect(stepsAt(map, { x: 0.3, y: 0.6 }).alongX.x).toBeCloseTo((right.x - here.x) / small, 4);
  });
});

const RANDOM = new Uint8Array([0, 31, 32, 255, 7, 90, 200, 13, 64, 5, 111, 42]);
const NUMBER = cardNumber(RANDOM);

describe("the number", () => {
  // GRid Standard 2.1, its own example A1-2425G-ABC1234002-M: the same ISO/IEC 7064 system; from memory.
  test("has the check character of ISO/IEC 7064, MOD 37,36", () => {
    expect(checkCharacter("A12425GABC1234002")).toBe("M");
  });

  test("is sixteen characters of the code's alphanumeric mode, and is known again", () => {
    expect(NUMBER).toMatch(/^TS1[0-9A-HJKMNP-TV-Z]{12}[0-9A-Z]$/);
    expect(isCardNumber(NUMBER)).toBe(true);
    expect(shortCardNumber(NUMBER)).toBe(`${NUMBER.slice(10, 13)}-${NUMBER.slice(13)}`);
    expect(() => cardNumber(new Uint8Array(11))).toThrow(RangeError);
  });

  test("with one character changed, or two neighbours in each other's place, is no number of ours", () => {
    for (let at = 0; at < NUMBER.length; at += 1) {
      const wrong = NUMBER.slice(0, at) + (NUMBER[at] === "7" ? "8" : "7") + NUMBER.slice(at + 1);
      expect(isCardNumber(wrong), wrong).toBe(false);
      const swapped = NUMBER.slice(0, at) + (NUMBER[at + 1] ?? "") + (NUMBER[at] ?? "") + NUMBER.slice(at + 2);
      if (swapped !== NUMBER) expect(isCardNumber(swapped), swapped).toBe(false);
    }
    for (const foreign of ["", "https://example.org/", NUMBER.toLowerCase(), `${NUMBER} `, "TS2".concat(NUMBER.slice(3))]) expect(isCardNumber(foreign)).toBe(false);
  });
});

const SIZE = { width: 2000, height: 1000 };
const square = (x: number, y: number, side: number, roll = 0): Quad => {
  const [cos, sin] = [Math.cos((roll * Math.PI) / 180) * side / 2, Math.sin((roll * Math.PI) / 180) * side / 2];
  return [{ x: x - cos + sin, y: y - sin - cos }, { x: x + cos + sin, y: y + sin - cos }, { x: x + cos - sin, y: y + sin + cos }, { x: x - cos - sin, y: y - sin + cos }];
};
const code = (corners: Quad, changed: Partial<FoundCode> = {}): FoundCode => ({ text: NUMBER, mirrored: false, corners, ...changed });
const flipped = (corners: Quad): Quad => quad(corners.map(({ x, y }) => [SIZE.width - x, y]));

function one(finding: CardFinding | null): SideCardReading {
  if (finding?.found !== "one") throw new Error("one card");
  return finding.reading;
}

/** Corners to nine places: a flip of a flip is not the same to the last bit. */
const rough = (finding: CardFinding | null) => ({ ...one(finding), corners: one(finding).corners.map(({ x, y }) => [x.toFixed(9), y.toFixed(9)]) });

describe("what a card says of a photo", () => {
  test("a card standing straight: upright, level, its corners as fractions", () => {
    expect(readSideCard([code(square(500, 750, 210))], SIZE)).toEqual({
      found: "one",
      reading: {
        number: NUMBER, mirrored: false, turnToUpright: 0, levelDegrees: 0, modulePixels: 10,
        corners: [{ x: 0.1975, y: 0.645 }, { x: 0.3025, y: 0.645 }, { x: 0.3025, y: 0.855 }, { x: 0.1975, y: 0.855 }],
      },
    });
  });

  // CHECKS 2.11: a camera's roll shifts every angle to the picture's horizontal by exactly as much.
  test.each([[7.3, 0, 7.3], [-20, 0, -20], [90, 270, 0], [97.3, 270, 7.3], [180, 180, 0], [-90, 90, 0], [-172, 180, 8]] as const)(
    "turned clockwise by %d°: turn the picture by %d°, level %d°", (roll, turnToUpright, levelDegrees) => {
      expect(one(readSideCard([code(square(900, 500, 210, roll))], SIZE))).toMatchObject({ turnToUpright, levelDegrees });
    });

  test("in a mirrored picture it is described as it stands once the picture is flipped", () => {
    const truth = square(500, 700, 210, 8);
    const mirrored = readSideCard([code(flipped(truth), { mirrored: true })], SIZE);
    expect(rough(mirrored)).toEqual({ ...rough(readSideCard([code(truth)], SIZE)), mirrored: true });
  });

  test("a code whose corners contradict its mirroring is passed over", () => {
    expect(readSideCard([code(square(500, 500, 210), { mirrored: true })], SIZE)).toBeNull();
    expect(readSideCard([code(flipped(square(500, 500, 210)))], SIZE)).toBeNull();
  });

  test("foreign and damaged codes are passed over, and do not disturb a card of ours", () => {
    const foreign = code(square(1500, 500, 210), { text: "https://example.org/" });
    expect(readSideCard([foreign], SIZE)).toBeNull();
    expect(one(readSideCard([foreign, code(square(500, 500, 210))], SIZE)).number).toBe(NUMBER);
    expect(readSideCard([code([{ x: 1, y: 1 }, { x: 2, y: 2 }, { x: 3, y: 3 }, { x: 4, y: 4 }])], SIZE)).toBeNull();
  });

  test("two cards, or one card and its reflection in a mirror, settle nothing", () => {
    const other = cardNumber(RANDOM.map((byte) => byte + 1));
    const here = code(square(500, 500, 210));
    expect(readSideCard([here, code(square(1500, 500, 210), { text: other })], SIZE)).toEqual({ found: "several" });
    expect(readSideCard([here, code(flipped(square(500, 500, 210)), { mirrored: true })], SIZE)).toEqual({ found: "several" });
    expect(one(readSideCard([here, code(square(502, 501, 210))], SIZE)).levelDegrees, "one code reported twice").toBe(0);
  });

  test("no level from a small card, nor from one turned away from the camera", () => {
    expect(one(readSideCard([code(square(500, 500, 100))], SIZE)).levelDegrees).toBeNull();
    const turned = quad([[400, 600], [600, 640], [600, 840], [400, 820]]);
    expect(one(readSideCard([code(turned)], SIZE)).levelDegrees).toBeNull();
  });
});

describe("a level that is given", () => {
  test("is the camera's roll, within 3.5° in nine of ten random views and 6° in 99 of 100", () => {
    const errors: number[] = [];
    for (let seed = 1; seed <= 6000; seed += 1) {
      const { corners, roll } = randomView(seed);
      const level = one(readSideCard([code(corners)], VIEW)).levelDegrees;
      if (level !== null) errors.push(Math.abs(level - roll));
    }
    errors.sort((a, b) => a - b);
    expect(errors.length).toBeGreaterThan(900);
    expect(errors.at(Math.floor(errors.length * 0.9))).toBeLessThan(3.5);
    expect(errors.at(Math.floor(errors.length * 0.99))).toBeLessThan(6);
  });
});

const VIEW = { width: 2048, height: 1536 };

/** A card of 126 pixels a side anywhere in the view of a pinhole camera; the geometry is written out here on its own. */
function randomView(seed: number): { readonly corners: Quad; readonly roll: number } {
  let state = seed * 7919;
  const random = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  const upTo = (most: number) => (random() * 2 - 1) * most;
  for (let skip = 0; skip < 5; skip += 1) random();
  const focal = (0.7 + 0.6 * random()) * VIEW.width;
  const rad = Math.PI / 180;
  const [roll, pitch, yaw, lean] = [upTo(20), upTo(25) * rad, upTo(40) * rad, random() * 8 * rad];
  const centre = [upTo(0.45) * VIEW.width / focal, upTo(0.45) * VIEW.height / focal, 1];
  const half = (6 * 21) / focal / 2;
  const across = [Math.cos(yaw), 0, Math.sin(yaw)];
  const down = [Math.sin(yaw) * Math.sin(lean), Math.cos(lean), -Math.cos(yaw) * Math.sin(lean)];
  const seen = ([x = 0, y = 0, z = 0]: readonly number[]) => {
    const [py, pz] = [y * Math.cos(pitch) - z * Math.sin(pitch), y * Math.sin(pitch) + z * Math.cos(pitch)];
    return [x * Math.cos(roll * rad) - py * Math.sin(roll * rad), x * Math.sin(roll * rad) + py * Math.cos(roll * rad), pz];
  };
  const [a, b] = [seen(across), seen(down)];
  const corner = (u: number, v: number) => {
    const [x = 0, y = 0, z = 1] = centre.map((at, axis) => at + half * (u * (a[axis] ?? 0) + v * (b[axis] ?? 0)));
    const amiss = () => 0.3 * (random() + random() + random() + random() - 2) * Math.sqrt(3);
    return { x: VIEW.width / 2 + (focal * x) / z + amiss(), y: VIEW.height / 2 + (focal * y) / z + amiss() };
  };
  return { corners: [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)], roll };
}

describe("a reading kept", () => {
  const found = readSideCard([code(square(500, 700, 210, 8))], SIZE);
  if (!found) throw new Error("one card");

  test("after turns of the picture is the reading of the turned picture", () => {
    const turnedOnce = readSideCard([code(quad(square(500, 700, 210, 8).map(({ x, y }) => [SIZE.height - y, x])))], { width: 1000, height: 2000 });
    expect(rough(turnFinding(found, 1))).toEqual(rough(turnedOnce));
    expect(rough(turnFinding(turnFinding(found, 3), 1))).toEqual(rough(found));
    expect(one(turnFinding(found, 2)).turnToUpright).toBe(180);
  });

  test("after a flip leans the other way, and a second flip brings it back", () => {
    expect(one(flipFinding(found)).levelDegrees).toBe(-8);
    expect(one(flipFinding(turnFinding(found, 1))).turnToUpright).toBe(90);
    expect(rough(flipFinding(flipFinding(found)))).toEqual(rough(found));
  });

  test("is stored with its version and read strictly", () => {
    expect(parseFinding(serialiseFinding(found))).toEqual(found);
    expect(parseFinding(serialiseFinding({ found: "several" }))).toEqual({ found: "several" });
    expect(parseFinding(null)).toBeNull();
    for (const wrong of [{}, { version: 2, ...found }, { version: 1, found: "several", more: 1 }, { version: 1, found: "one", reading: { ...one(found), turnToUpright: 45 } }]) {
      expect(() => parseFinding(JSON.stringify(wrong))).toThrow();
    }
  });
});
