import sharp, { type Sharp } from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { measurePhoto, photoAdvice, type MeasuredPhoto } from "@/lib/domain/photo/advice";
import { lightOf } from "@/lib/domain/photo/exposure";
import { hashDistance, maybeSamePicture } from "@/lib/domain/photo/perceptual-hash";

// Real photos out of registry packages, looked at: these are in focus …
const IN_FOCUS = ["exif/test/sony-alpha-6000.jpg", "exif-js/example/Bloated-Hero.jpg", "exif-parser/test/starfish.jpg"] as const;
// … and these are not: a wall from too near, twice, and a hand burnt out by a flash.
const WALL = "jpeg-exif/test/IMG_0001.JPG";
const WALL_AGAIN = "jpeg-exif/test/IMG_0003.JPG";
const BURNT_HAND = "exif/test/short-ascii-II.jpg";

type Taken = MeasuredPhoto & { readonly width: number; readonly height: number };

async function measured(picture: Sharp): Promise<Taken> {
  const { data, info } = await picture.removeAlpha().toColourspace("srgb").raw().toBuffer({ resolveWithObject: true });
  const { width, height } = info;
  return { ...measurePhoto({ pixels: data, width, height, channels: 3 }), width, height };
}

/** As kept: upright, at most 2048 pixels, JPEG. */
const kept = (name: string) =>
  sharp(`node_modules/${name}`).autoOrient().resize({ width: 2048, height: 2048, fit: "inside", withoutEnlargement: true }).jpeg({ quality: 95 }).toBuffer();

const pictures = new Map<string, Buffer>();
const picture = (name: string) => sharp(pictures.get(name));
beforeAll(async () => {
  for (const name of [...IN_FOCUS, WALL, WALL_AGAIN, BURNT_HAND]) pictures.set(name, await kept(name));
});

describe("advice on real photos", () => {
  it.each(IN_FOCUS)("%s draws none; blurred, dark, flat, it draws its own", async (name) => {
    const plain = await measured(picture(name));
    expect(photoAdvice(plain)).toEqual([]);
    const shaken = await measured(picture(name).blur(0.002 * Math.max(plain.width, plain.height)));
    expect(photoAdvice(shaken)).toEqual(["blurred"]);
    expect(shaken.sharpness).toBeLessThan(plain.sharpness / 10);
    expect(lightOf((await measured(picture(name).linear(0.2, 0))).exposure)).toBe("dark");
    expect(lightOf((await measured(picture(name).linear(0.15, 110))).exposure)).toBe("low-contrast");
    expect(lightOf((await measured(picture(name).linear(1.5, 150))).exposure)).toBe("bright");
  });

  it("finds those really out of focus, and the one burnt out", async () => {
    expect(photoAdvice(await measured(picture(WALL)))).toEqual(["blurred"]);
    expect(photoAdvice(await measured(picture(WALL_AGAIN)))).toEqual(["blurred"]);
    expect(photoAdvice(await measured(picture(BURNT_HAND)))).toEqual(["blurred", "bright"]);
  });

  it("points out a photo too small to judge", async () => {
    const small = await measured(picture(IN_FOCUS[0]).resize({ width: 640 }));
    expect(photoAdvice(small)).toEqual(["small"]);
  });
});

describe("the same picture again", () => {
  it.each(IN_FOCUS)("%s is known smaller, darker and compressed, not mirrored", async (name) => {
    const { hash } = await measured(picture(name));
    const again = await sharp(await picture(name).resize({ width: 640 }).jpeg({ quality: 60 }).toBuffer()).linear(0.8, 0).jpeg().toBuffer();
    expect(maybeSamePicture(hash, (await measured(sharp(again))).hash)).toBe(true);
    expect(maybeSamePicture(hash, (await measured(picture(name).flop())).hash)).toBe(false);
  });

  it("is not said of different photos, nor of two of one plain wall", async () => {
    const found = await Promise.all([...IN_FOCUS, BURNT_HAND].map(async (name) => (await measured(picture(name))).hash));
    for (const [at, one] of found.entries()) {
      for (const other of found.slice(at + 1)) expect(hashDistance(one, other)).toBeGreaterThan(15);
    }
    const [wall, wallAgain] = [await measured(picture(WALL)), await measured(picture(WALL_AGAIN))];
    expect(maybeSamePicture(wall.hash, wallAgain.hash)).toBe(false);
  });
});
