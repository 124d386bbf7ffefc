import sharp from "sharp";
import { expect, test } from "vitest";
import { MOST_BYTES, SHARE_PATH } from "@/lib/domain/installed/shared";
import { ACCENT, GROUND, INK } from "@/lib/domain/installed/colours";
import { PICTURES, sign } from "@/lib/domain/installed/sign";
import { kindOf, screen } from "@/lib/cli/screen.mjs";
import { PHOTO_LIMITS } from "@/lib/photos/limits";
import { read } from "@/tests/contract/sources";
import type { IncomingMessage } from "node:http";

test("what a phone shows around the app has the colours of the app", () => {
  const css = read("app/tokens.css");
  const token = (name: string, from = 0) => new RegExp(`--${name}: (#[0-9a-f]{6});`).exec(css.slice(from))?.[1];
  const dark = css.indexOf("prefers-color-scheme: dark");
  expect([GROUND.light, INK, ACCENT]).toEqual([token("ground"), token("ink"), token("accent")]);
  expect(GROUND.dark).toBe(token("ground", dark));
});

test.each(Object.entries(PICTURES))("the sign %s is drawn, and whole within what any phone's shape leaves of it", async (_name, { size, shape }) => {
  const { data, info } = await sharp(Buffer.from(sign(shape))).resize(size, size).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  expect([info.width, info.height]).toEqual([size, size]);
  const ground = Buffer.from(GROUND.light.slice(1), "hex");
  let [drawn, outside] = [0, 0];
  for (let at = 0; at < data.length; at += 4) {
    if (data[at + 3] === 0 || [0, 1, 2].every((channel) => Math.abs((data[at + channel] ?? 0) - (ground[channel] ?? 0)) < 24)) continue;
    drawn += 1;
    // W3C Web App Manifest, "maskable": nothing that matters lies outside a circle of two fifths of the width.
    const [x, y] = [(at / 4) % size, Math.floor(at / 4 / size)];
    if (Math.hypot(x + 0.5 - size / 2, y + 0.5 - size / 2) > size * 0.4) outside += 1;
  }
  expect(drawn / (size * size)).toBeGreaterThan(0.02);
  if (shape === "full") {
    expect(outside).toBe(0);
    expect(data[3]).toBe(255);
  } else expect(data[3]).toBe(0);
});

test("a share may be as large as four photos, and a photo as large as the server takes", () => {
  const asked = (bytes: number, method = "POST") =>
    screen({ url: SHARE_PATH, method, headers: { host: "practice.example", "content-length": String(bytes) }, socket: { remoteAddress: "127.0.0.1" } } as unknown as IncomingMessage, new URL("https://practice.example"), false)?.status ?? "passes"; // only what the screen reads
  expect(kindOf(SHARE_PATH, "POST")).toBe("share");
  expect(asked(4 * MOST_BYTES)).toBe("passes");
  expect(asked(5 * MOST_BYTES)).toBe(413);
  expect(asked(2_000_000, "PUT")).toBe(413);
  expect(MOST_BYTES).toBe(PHOTO_LIMITS.maxBytes);
});
