import { parse } from "exifr";
import * as fc from "fast-check";
import sharp from "sharp";
import { describe, expect, test } from "vitest";
import { sceneOf, type SceneParams } from "@/demo-data/scene/params";
import { renderScene, sceneTruth, type PhotoSpot } from "@/demo-data/scene/scene";
import { measurePhoto, photoAdvice } from "@/lib/domain/photo/advice";
import { sideCheck } from "@/lib/domain/setup/side-check";
import { opposite, type Side } from "@/lib/domain/sides";

type Pixels = { readonly data: Buffer; readonly width: number; readonly height: number };

async function pixelsOf(jpeg: Buffer, flop = false): Promise<Pixels> {
  const { data, info } = await sharp(jpeg).flop(flop).raw().toBuffer({ resolveWithObject: true });
  return { data, width: info.width, height: info.height };
}
const draw = async (params: SceneParams, flop = false) => pixelsOf((await renderScene({ width: 480, ...params })).jpeg, flop);

/** Mean distance between two pictures in grey steps, 0 to 255. */
function apart(a: Pixels, b: Pixels): number {
  expect([a.width, a.height]).toEqual([b.width, b.height]);
  let sum = 0;
  for (let at = 0; at < a.data.length; at += 1) sum += Math.abs((a.data[at] ?? 0) - (b.data[at] ?? 0));
  return sum / a.data.length;
}

/** Distance in RGB between a colour and the picture's mean in a small window around a spot. */
function offColour({ data, width }: Pixels, height: number, { x, y }: PhotoSpot, colour: string): number {
  const wanted = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));
  const [cx, cy] = [Math.round(x * width), Math.round(y * height)];
  const distances = [-1, 0, 1].flatMap((dx) => [-1, 0, 1].map((dy) => {
    const from = ((cy + dy) * width + cx + dx) * 3;
    return Math.hypot(...wanted.map((value, channel) => value - (data[from + channel] ?? 0)));
  }));
  return Math.min(...distances);
}

/**
 * The rule of PRODUCT.md on vectors, written out on its own: child's left = superior × anterior, in
 * picture axes x right, y up, z toward the viewer. Common practice (right-handed axes), no source.
 */
function sideDownBy(superior: readonly number[], anterior: readonly number[]): Side {
  const [a = 0, , c = 0] = superior;
  const [d = 0, , f = 0] = anterior;
  const leftUp = c * d - a * f;
  return leftUp < 0 ? "left" : "right";
}
const along = (side: Side): number => (side === "left" ? -1 : 1);

const sides = fc.constantFrom<Side>("left", "right");

describe("the side the figure lies on", () => {
  test("follows from head, facing and floor by the vector rule, and turns round when mirrored", () => {
    fc.assert(
      fc.property(sides, fc.constantFrom("behind" as const, "front" as const, "head-end" as const), fc.boolean(), fc.nat(500), (lieOn, view, mirror, seed) => {
        const truth = sceneTruth({ lieOn, view, mirror, seed });
        const seen =
          view === "head-end"
            ? sideDownBy([0, 0, 1], [along(truth.frontAt ?? "left"), 0, 0])
            : sideDownBy([along(truth.headEnd ?? "left"), 0, 0], [0, 0, truth.facing === "back" ? -1 : 1]);
        expect(truth.sideDown).toBe(lieOn);
        expect(seen).toBe(mirror ? opposite(lieOn) : lieOn);
      }),
    );
  });

  test("the product's own side check sees the same side in the truth's head", () => {
    for (const lieOn of ["left", "right"] as const) {
      for (const view of ["behind", "front"] as const) {
        for (const mirror of [false, true]) {
          const { points: { head }, facing } = sceneTruth({ lieOn, view, mirror });
          expect(sideCheck({ view, head, facing, mirrored: mirror ? "yes" : "no" }, lieOn)).toBe("matches");
          expect(sideCheck({ view, head, facing, mirrored: "unknown" }, lieOn)).toBe(mirror ? "looks-opposite" : "looks-right-not-proven");
        }
      }
    }
  });

  test("from behind, lying on the left, the head is at picture left", () => {
    const { headEnd, points } = sceneTruth({ lieOn: "left", view: "behind" });
    expect(headEnd).toBe("left");
    expect(points.head.x).toBeLessThan(points.hip.x);
    expect(points.hip.x).toBeLessThan(points.topKnee.x);
  });

  test("head and shoulder are where the truth says in the pixels", async () => {
    for (const params of [{ lieOn: "left", view: "behind" }, { lieOn: "right", view: "behind" }, { lieOn: "left", view: "front" }] as const) {
      const picture = await draw({ ...params, seed: 4 });
      const { hair, skin } = sceneOf({ ...params, seed: 4 }).colours;
      expect(offColour(picture, picture.height, sceneTruth(params).points.head, params.view === "front" ? skin : hair)).toBeLessThan(26);
    }
  });
});

describe("mirroring", () => {
  test.each(["behind", "front", "head-end"] as const)("a mirrored picture (%s) is the flopped picture", async (view) => {
    const params = { lieOn: "left", view, seed: 3, tilt: 6, propOffset: 0.2 } as const;
    expect(apart(await draw({ ...params, mirror: true }), await draw(params, true))).toBeLessThan(1);
    expect(apart(await draw({ ...params, mirror: true }), await draw(params))).toBeGreaterThan(8);
  });

  test("the other side down, with the light from the other side, is the flopped picture", async () => {
    for (const view of ["behind", "front", "head-end"] as const) {
      const left = await draw({ lieOn: "left", view, seed: 8, windowAt: "left", tilt: 4 }, true);
      const right = await draw({ lieOn: "right", view, seed: 8, windowAt: "right", tilt: -4 });
      // Board joints and the little picture on the wall do not turn with the child.
      expect(apart(left, right)).toBeLessThan(4);
    }
  });

  test("truth points mirror exactly", () => {
    fc.assert(
      fc.property(sides, fc.double({ min: -1, max: 1, noNaN: true }), fc.integer({ min: -15, max: 15 }), (lieOn, propOffset, tilt) => {
        const [plain, flipped] = [sceneTruth({ lieOn, propOffset, tilt }), sceneTruth({ lieOn, propOffset, tilt, mirror: true })];
        for (const name of Object.keys(plain.points) as (keyof typeof plain.points)[]) { // keys of our own record
          expect(flipped.points[name].x).toBeCloseTo(1 - plain.points[name].x, 12);
          expect(flipped.points[name].y).toBeCloseTo(plain.points[name].y, 12);
        }
      }),
    );
  });
});

describe("truth points land on their colours", () => {
  const sets: readonly SceneParams[] = [
    { lieOn: "left", seed: 1 },
    { lieOn: "right", seed: 6, tilt: 8 },
    { lieOn: "left", seed: 9, tilt: -5, mirror: true },
    { lieOn: "right", seed: 11, propOffset: 0.4, elbowHeight: 0.6 },
    { lieOn: "left", seed: 14, propOffset: -0.35, kneeBend: 10 },
    { lieOn: "right", seed: 17, view: "front" },
    { lieOn: "left", seed: 2, view: "front", propOffset: 0.3, mirror: true },
    { lieOn: "left", seed: 3, width: 480, height: 640 },
  ];
  test.each(sets)("%j", async (params) => {
    const { colours } = sceneOf(params);
    const { points } = sceneTruth(params);
    const picture = await draw(params);
    const off = (at: PhotoSpot, colour: string) => offColour(picture, picture.height, at, colour);
    expect(off(points.apex, colours.top), "apex on the top").toBeLessThan(45);
    expect(off(points.prop, colours.prop), "prop on the bags").toBeLessThan(60);
    expect(off(points.elbow, colours.skin), "elbow on skin").toBeLessThan(26);
    expect(off(points.hip, colours.leggings), "hip on leggings").toBeLessThan(26);
    expect(off(points.topKnee, colours.leggings), "top knee on leggings").toBeLessThan(26);
    // Taking the bags away takes their colour from that spot, so the check can fail.
    const bare = await draw({ ...params, propCount: 0 });
    expect(offColour(bare, bare.height, points.prop, colours.prop)).toBeGreaterThan(60);
  });

  test("the prop lies under the apex at offset 0, toward the head when positive", () => {
    for (const lieOn of ["left", "right"] as const) {
      const at = (propOffset: number) => sceneTruth({ lieOn, propOffset }).points;
      expect(Math.abs(at(0).prop.x - at(0).apex.x)).toBeLessThan(0.01);
      const headward = Math.sign(at(0).head.x - at(0).hip.x);
      expect(Math.sign(at(0.5).prop.x - at(0).prop.x)).toBe(headward);
      expect(Math.sign(at(-0.5).prop.x - at(0).prop.x)).toBe(-headward);
      expect(at(0).shoulder.y).toBeLessThan(at(0).prop.y);
    }
  });
});

describe("what a therapist would see", () => {
  test("a higher elbow is higher in the picture and in the angle", () => {
    const rises = [0, 0.25, 0.5, 0.75, 1].map((elbowHeight) => sceneTruth({ lieOn: "left", elbowHeight }));
    for (const [index, truth] of rises.slice(1).entries()) {
      expect(truth.angles.elbowRise).toBeGreaterThan((rises[index]?.angles.elbowRise ?? 99) + 10);
      expect(truth.points.elbow.y).toBeLessThan(rises[index]?.points.elbow.y ?? 0);
    }
  });

  test("an open armpit is a wider angle between arm and trunk", () => {
    const angle = (armpitOpen: number) => sceneTruth({ lieOn: "right", armpitOpen }).angles.armpit;
    expect(angle(1)).toBeGreaterThan(angle(0) + 25);
  });

  test("asked angles are the drawn ones", () => {
    expect(sceneTruth({ lieOn: "left", kneeBend: 62, topLegLift: 11, rolled: 0.5 }).angles).toMatchObject({ kneeBend: 62, topLegLift: 11, shoulderRoll: 19 });
  });

  test("a day photo draws no advice; dark, burnt out and shaken ones draw theirs", async () => {
    const advice = async (params: Partial<SceneParams>) => {
      const picture = await pixelsOf((await renderScene({ lieOn: "left", seed: 5, width: 1200, ...params })).jpeg);
      const { data: pixels, width, height } = picture;
      return photoAdvice({ ...measurePhoto({ pixels, width, height, channels: 3 }), width, height });
    };
    expect(await advice({})).toEqual([]);
    expect(await advice({ light: 0.1 })).toContain("dark");
    expect(await advice({ light: 1 })).toContain("bright");
    expect(await advice({ blur: 0.004 })).toEqual(["blurred"]);
  });
});

describe("the file", () => {
  test("same parameters, same bytes; another seed, another picture", async () => {
    const once = await renderScene({ lieOn: "left", seed: 7, width: 320 });
    expect((await renderScene({ lieOn: "left", seed: 7, width: 320 })).jpeg.equals(once.jpeg)).toBe(true);
    expect((await renderScene({ lieOn: "left", seed: 8, width: 320 })).jpeg.equals(once.jpeg)).toBe(false);
  });

  test("twelve seeds show many people and rooms", () => {
    const scenes = Array.from({ length: 12 }, (_, seed) => sceneOf({ lieOn: "left", seed }).colours);
    expect(new Set(scenes.map(({ skin }) => skin)).size).toBeGreaterThanOrEqual(4);
    expect(new Set(scenes.map(({ wall }) => wall)).size).toBeGreaterThanOrEqual(3);
    expect(new Set(scenes.map(({ top }) => top)).size).toBeGreaterThanOrEqual(4);
  });

  test("carries no metadata unless a phone is asked for", async () => {
    const { jpeg } = await renderScene({ lieOn: "left", width: 320 });
    expect((await sharp(jpeg).metadata()).exif).toBeUndefined();
  });

  test("a phone's EXIF reads back in another reader", async () => {
    const { jpeg } = await renderScene({
      lieOn: "left",
      width: 320,
      phone: { takenAt: "2026:03:03 16:20:00", offset: "+01:00", gps: { latitude: 47.25, longitude: -8.5 } },
    });
    const read = await parse(jpeg, { gps: true, exif: true, reviveValues: false });
    expect(read).toMatchObject({ Make: "Demo", DateTimeOriginal: "2026:03:03 16:20:00", OffsetTimeOriginal: "+01:00" });
    expect(read.latitude).toBeCloseTo(47.25, 5);
    expect(read.longitude).toBeCloseTo(-8.5, 5);
  });

  test.each([1, 2, 3, 4, 5, 6, 7, 8])("orientation %i is written, and applying it gives the upright picture", async (orientation) => {
    const params = { lieOn: "right", seed: 2, width: 320 } as const;
    const { jpeg } = await renderScene({ ...params, phone: { orientation } });
    const meta = await sharp(jpeg).metadata();
    expect(meta.orientation).toBe(orientation);
    expect([meta.width, meta.height]).toEqual(orientation >= 5 ? [240, 320] : [320, 240]);
    const upright = await pixelsOf(await sharp(jpeg).autoOrient().png().toBuffer());
    expect(apart(upright, await draw(params))).toBeLessThan(1.5);
  });

  test("refuses an orientation that EXIF does not know", async () => {
    await expect(renderScene({ lieOn: "left", width: 64, phone: { orientation: 9 } })).rejects.toThrow(RangeError);
  });
});
