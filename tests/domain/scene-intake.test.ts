import { parse } from "exifr";
import sharp from "sharp";
import { afterAll, expect, test } from "vitest";
import { renderScene } from "@/demo-data/scene/scene";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";

const pool = new DecoderPool("photos");
afterAll(() => pool.close());

test("a drawn phone photo goes through intake like any other: upright, clean, its moment kept", async () => {
  const params = { lieOn: "left", seed: 5, width: 1200 } as const;
  const plain = await renderScene(params);
  const { jpeg } = await renderScene({
    ...params,
    phone: { orientation: 6, takenAt: "2026:03:03 16:20:00", offset: "+01:00", gps: { latitude: 47.25, longitude: 8.5 } },
  });
  const taken = await takeIn(jpeg, {}, pool);
  if (!taken.ok) throw new Error(taken.problem.code);
  const { sizes, width, height, takenAt, mirroredFlag } = taken.value;
  expect([width, height]).toEqual([1200, 900]);
  expect(takenAt).toEqual({ at: Date.UTC(2026, 2, 3, 15, 20), zoneKnown: true });
  expect(mirroredFlag).toBe(false);
  for (const { bytes } of sizes) {
    const read = await parse(bytes, { gps: true, exif: true, icc: false }).catch(() => undefined);
    expect(read?.Make ?? read?.latitude).toBeUndefined();
  }
  const [kept, wanted] = await Promise.all(
    [sizes[2].bytes, plain.jpeg].map((bytes) => sharp(bytes).resize(80, 60, { fit: "fill" }).raw().toBuffer()),
  );
  const steps = [...(kept ?? [])].map((value, index) => Math.abs(value - (wanted?.[index] ?? 0)));
  expect(steps).toHaveLength(80 * 60 * 3);
  expect(steps.reduce((sum, step) => sum + step, 0) / steps.length).toBeLessThan(3);
});
