import { parse } from "exifr";
import sharp from "sharp";
import { afterAll, expect, test } from "vitest";
import { renderFilm } from "@/demo-data/scene/film";
import { renderScene } from "@/demo-data/scene/scene";
import { takeInClip } from "@/lib/clips/intake";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import { filmsOf } from "@/tests/clips/films";

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

test("a drawn clip is one that the app takes in: two breaths of four seconds, every frame of which stands for itself", async () => {
  const clips = new DecoderPool("clips");
  const taken = await takeInClip(await renderFilm({ lieOn: "right", seed: 5 }), clips);
  await clips.close();
  if (!taken.ok) throw new Error(taken.problem.code);
  expect(taken.value).toMatchObject({ container: "webm", codec: "vp8", durationMs: 4000, frames: 20, width: 480, height: 360 });
  const { films } = await filmsOf(taken.value.bytes);
  const frames = films[0]?.packets ?? [];
  // RFC 6386, 9.1: the lowest bit of a key frame's first byte is 0, and its start code and size follow.
  for (const { data } of frames) expect([data[0], data[3], data[4], data[5], data[6], data[7]].map((byte, at) => (at === 0 ? (byte ?? 1) & 1 : byte))).toEqual([0, 0x9d, 0x01, 0x2a, 480 & 255, 480 >> 8]);
  // The child breathes: the picture at the height of a breath is another than that before it.
  expect(Buffer.from(frames[0]?.data ?? []).equals(Buffer.from(frames[5]?.data ?? []))).toBe(false);
});
