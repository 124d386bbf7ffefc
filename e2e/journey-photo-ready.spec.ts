import { readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test, type Page } from "@playwright/test";
import exifr from "exifr";
import sharp from "sharp";
import { expectSound, personAt, PHONE, type Person } from "@/e2e/journey/person";
import { PHONE_PHOTO, storedPhoto, toLastLook } from "@/e2e/journey/sending";
import { measurePhoto } from "@/lib/domain/photo/advice";
import { coverPixels, FIRST_COVER, movedCover } from "@/lib/domain/photo/cover";
import { asPhoto, numberFrom, placeCard, randomFrom } from "@/tests/photos/card-scene";

// The package is CommonJS: its functions hang on the default export.
const readMetadata = exifr;
const PACKAGES = join(fileURLToPath(new URL("../", import.meta.url)), "node_modules");
/** 24 megapixels, an interchangeable-lens camera. */
const LARGE_PHOTO = join(PACKAGES, "exif/test/sony-alpha-6000.jpg");
/** Byte strings of the phone, the day and the place that stand in the phone photo's metadata. */
const TRACES = ["Apple", "iPhone", "2016:03:24", "Exif", "GPS", "http://"];

type Left = { readonly body: Buffer; readonly said: Readonly<Record<string, unknown>> | null };

/** The sending page of Nia's first photo, and every photo that leaves it from now on. Its set is never finished, so that nobody has it. */
async function sendingPage(person: Person): Promise<readonly Left[]> {
  const { page } = person;
  const left: Left[] = [];
  await page.route(/\/api\/photos\/[^/]+\?/, async (route) => {
    const request = route.request();
    const said = request.headers()["x-photo-prepared"];
    left.push({ body: request.postDataBuffer() ?? Buffer.alloc(0), said: said === undefined ? null : JSON.parse(said) });
    await route.continue();
  });
  await page.route(/\/api\/photo-sets\//, (route) => route.fulfill({ json: { done: true } }));
  await page.goto("/family/send");
  await page.getByRole("main").getByRole("link", { name: /^Nia:/ }).click();
  await expect(page.getByLabel("Choose a photo")).toBeAttached();
  return left;
}

const choose = (page: Page, file: string | { name: string; mimeType: string; buffer: Buffer }) => page.getByLabel("Choose a photo").setInputFiles(file);

async function use(page: Page): Promise<void> {
  await page.getByRole("button", { name: "Use this photo" }).click({ timeout: 45_000 });
}

/** The photo as it stands, its side told, nothing hurts: what leaves the phone, and where the server has it. */
async function sendIt(page: Page): Promise<string> {
  const photo = page.getByRole("region", { name: "Photo 1" });
  await photo.getByRole("button", { name: "The floor is at the bottom" }).click();
  await photo.getByRole("button", { name: "The head is on the left of the picture" }).click();
  await photo.getByRole("button", { name: "The back of Nia" }).click();
  await toLastLook(page, "");
  const stored = storedPhoto(page);
  await page.getByRole("button", { name: "Yes, send it" }).click();
  await page.waitForURL(/\/family\/history/);
  return `${await stored}/2048`;
}

const pixels = async (bytes: Buffer, width?: number) => {
  const picture = sharp(bytes).autoOrient();
  const { data, info } = await (width ? picture.resize({ width }) : picture).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  return { data, ...info };
};
const apart = (one: Uint8Array, other: Uint8Array): number => one.reduce((sum, value, at) => sum + Math.abs(value - (other[at] ?? 0)), 0) / one.length;

test("what leaves the phone is upright, smaller, and holds nothing of where and with what it was taken", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  const left = await sendingPage(parent);
  await expect(page.getByLabel("Take a photo")).toHaveAttribute("capture", "environment");
  await choose(page, PHONE_PHOTO);
  await expect(page.getByText(/0\.7 MB became 0\.\d MB/)).toBeVisible({ timeout: 45_000 });
  expect(left).toEqual([]);
  await expectSound(parent);
  await use(page);
  await expect(page.getByRole("region", { name: "Photo 1" })).toBeVisible({ timeout: 30_000 });
  // Not before the parent has looked at all of it and sends it.
  expect(left).toEqual([]);
  await sendIt(page);

  const original = readFileSync(PHONE_PHOTO);
  expect(await readMetadata.gps(original)).toMatchObject({ latitude: expect.any(Number) });
  expect((await sharp(original).metadata()).orientation).toBe(6);
  const [{ body, said } = { body: Buffer.alloc(0), said: null }] = left;
  expect(left).toHaveLength(1);
  expect(await readMetadata.parse(body, true).catch(() => undefined)).toBeUndefined();
  for (const trace of TRACES) expect(body.includes(trace), trace).toBe(false);
  expect(original.includes("Apple") && original.includes("2016:03:24") && original.includes("Exif")).toBe(true);
  // The time and the size are all that is said of it besides, and whether it was mirrored or covered.
  expect(said).toEqual({ originalBytes: original.length, taken: "2016:03:24 14:49:51", offset: null, isMirrored: false, isCovered: false });
  const [sent, upright, asStored] = [await pixels(body), await pixels(original, 2048), await sharp(original).resize({ width: 2048 }).raw().toBuffer()];
  expect([sent.width, sent.height]).toEqual([upright.width, upright.height]);
  expect(apart(sent.data, upright.data)).toBeLessThan(4);
  expect(apart(sent.data, asStored)).toBeGreaterThan(8);
  await parent.context.close();
});

test("when the worker does not come, the page itself takes the metadata away", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await page.addInitScript(() => {
    // As a script that could not be loaded on a bad line ends.
    window.Worker = class extends EventTarget {
      constructor() {
        super();
        setTimeout(() => this.dispatchEvent(new Event("error")));
      }
      postMessage(): void {}
      terminate(): void {}
    } as unknown as typeof Worker; // only what the page uses of one
  });
  const left = await sendingPage(parent);
  await choose(page, PHONE_PHOTO);
  await use(page);
  await sendIt(page);
  expect(left).toHaveLength(1);
  for (const trace of TRACES) expect(left[0]?.body.includes(trace), trace).toBe(false);
  expect(await readMetadata.parse(left[0]?.body ?? Buffer.alloc(0), true).catch(() => undefined)).toBeUndefined();
  await parent.context.close();
});

test("a covered part is gone from what leaves the phone, however it was turned and moved", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  const left = await sendingPage(parent);
  await choose(page, LARGE_PHOTO);
  await page.getByRole("button", { name: "Turn clockwise" }).click({ timeout: 45_000 });
  await page.getByRole("button", { name: "Cover a part" }).click();
  const cover = page.getByRole("button", { name: "Cover 1" });
  await cover.focus();
  await page.keyboard.press("ArrowLeft");
  await page.getByRole("button", { name: "Move up" }).click();
  await expectSound(parent);
  await use(page);
  const kept = await sendIt(page);

  const [{ body, said } = { body: Buffer.alloc(0), said: null }] = left;
  expect(said).toMatchObject({ isCovered: true, originalBytes: readFileSync(LARGE_PHOTO).length });
  expect(await readMetadata.thumbnail(body).catch(() => undefined)).toBeUndefined();
  const turned = await sharp(await sharp(LARGE_PHOTO).autoOrient().toBuffer()).rotate(90).resize({ width: 1365, height: 2048 }).removeAlpha().raw().toBuffer();
  for (const bytes of [body, await (await page.request.get(kept)).body()]) {
    const { data, width, height } = await pixels(bytes);
    expect([width, height]).toEqual([1365, 2048]);
    const box = coverPixels(movedCover(movedCover(FIRST_COVER, { x: -0.02, y: 0 }), { x: 0, y: -0.02 }), { width, height });
    let [inside, outside, furthest] = [0, 0, 0];
    // A JPEG's blocks of 16 pixels spread an edge; the edge is between the cover's own grey and what may be seen.
    for (let y = 0; y < height; y += 1) {
      for (let x = 0; x < width; x += 1) {
        const isInside = x >= box.x + 16 && x < box.x + box.width - 16 && y >= box.y + 16 && y < box.y + box.height - 16;
        const isOutside = x < box.x - 16 || x >= box.x + box.width + 16 || y < box.y - 16 || y >= box.y + box.height + 16;
        const at = (y * width + x) * 3;
        if (isInside) {
          inside += 1;
          furthest = Math.max(furthest, Math.abs((data[at] ?? 0) - 127), Math.abs((data[at + 1] ?? 0) - 127), Math.abs((data[at + 2] ?? 0) - 127));
        } else if (isOutside) outside += Math.abs((data[at] ?? 0) - (turned[at] ?? 0));
      }
    }
    expect(inside).toBeGreaterThan(50_000);
    expect(furthest).toBeLessThanOrEqual(3);
    expect(outside / (width * height)).toBeLessThan(6);
  }
  await parent.context.close();
});

test("a finger moves a cover and not the page; on the bare picture it moves the page", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await sendingPage(parent);
  await choose(page, PHONE_PHOTO);
  await page.getByRole("button", { name: "Cover a part" }).click({ timeout: 45_000 });
  const cover = page.getByRole("button", { name: "Cover 1" });
  await cover.evaluate((element) => element.scrollIntoView({ block: "center" }));
  const tools = await parent.context.newCDPSession(page);
  const touch = (type: "touchStart" | "touchMove" | "touchEnd", at?: { readonly x: number; readonly y: number }) => tools.send("Input.dispatchTouchEvent", { type, touchPoints: at ? [at] : [] });
  /** From the middle of the cover, or so far from it; by 40 to the left and 80 up, and how far cover and page went. */
  const drag = async (off: number) => {
    const look = () => cover.evaluate((element) => ({ box: element.getBoundingClientRect(), page: window.scrollY }));
    const { box, page: before } = await look();
    const [x, y] = [box.x + box.width / 2 + off, box.y + box.height / 2];
    await touch("touchStart", { x, y });
    for (let step = 1; step <= 8; step += 1) await touch("touchMove", { x: x - 5 * step, y: y - 10 * step });
    await touch("touchEnd");
    const after = await look();
    return { right: after.box.x - box.x, down: after.box.y + after.page - box.y - before, page: after.page - before };
  };
  const moved = await drag(0);
  expect(moved.right).toBeCloseTo(-40, 0);
  expect(moved.down).toBeCloseTo(-80, 0);
  expect(moved.page).toBe(0);
  const bare = await drag(100);
  expect(bare.right).toBeCloseTo(0, 0);
  expect(bare.down).toBeCloseTo(0, 0);
  expect(bare.page).toBeGreaterThan(20);
  await parent.context.close();
});

test("a side card is looked for before the photo is made smaller, and a mirror picture is told at once", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  const left = await sendingPage(parent);
  const { data, info } = await sharp(LARGE_PHOTO).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const card = { text: numberFrom(randomFrom(5)), at: { x: 0.7, y: 0.6 }, roll: 0, yaw: 0, pitch: 0, blur: 0, paper: 0.9, ink: 0.1 };
  // Of 6000 pixels, six a module are two of 2048: sent larger, so that the server reads it surely.
  const scene = await placeCard({ data, width: info.width, height: info.height }, { ...card, modulePixels: 6 });
  const asFile = async (mirrored: boolean) => ({ name: "photo.jpg", mimeType: "image/jpeg", buffer: await asPhoto(scene, { quality: 92, mirrored }) });
  await choose(page, await asFile(true));
  await expect(page.getByText("By the side card, this is a mirror picture.")).toBeVisible({ timeout: 45_000 });
  await page.getByRole("button", { name: "Take or choose another photo" }).first().click();
  await choose(page, await asFile(false));
  await expect(page.getByText("The side card is seen.")).toBeVisible({ timeout: 45_000 });

  await page.getByRole("button", { name: "Cover a part" }).click();
  for (let press = 0; press < 14; press += 1) await page.getByRole("button", { name: "Move right" }).click();
  for (let press = 0; press < 8; press += 1) await page.getByRole("button", { name: "Move down" }).click();
  await expect(page.getByText(/This covers the side card/)).toBeVisible();
  await expect(page.getByRole("button", { name: "Use this photo" })).toBeDisabled();
  await page.getByRole("button", { name: "Take this cover away" }).click();
  await use(page);
  await expect(page.getByText("This is not Nia's card.")).toBeVisible({ timeout: 45_000 });
  await sendIt(page);
  expect((await sharp(left[0]?.body).metadata()).width).toBe(4096);
  await parent.context.close();
});

test("what the browser cannot open goes as it is, and a broken or moving picture is refused in plain words", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  const left = await sendingPage(parent);
  const real = readFileSync(PHONE_PHOTO);
  const moving = readFileSync(join(PACKAGES, "fixture-images/animated.PNG"));
  const refused: readonly (readonly [Buffer, RegExp])[] = [
    [Buffer.concat([real.subarray(0, 3000), Buffer.alloc(20_000, 7)]), /damaged|did not arrive whole/],
    [real.subarray(0, 300_000), /damaged|did not arrive whole/],
    [moving, /This file is not a photo that we can open/],
  ];
  for (const [buffer, sentence] of refused) {
    await choose(page, { name: "photo.jpg", mimeType: "image/jpeg", buffer });
    await expect(page.getByText("We cannot open this photo here. It goes as it is.")).toBeVisible({ timeout: 45_000 });
    await use(page);
    await expect(page.getByRole("alert").filter({ hasText: sentence })).toBeVisible({ timeout: 30_000 });
    expect(left.at(-1)?.body.equals(buffer)).toBe(true);
    expect(left.at(-1)?.said).toBeNull();
  }
  // As a gallery gives whose photo lies elsewhere: there is nothing to send, and no line to blame.
  await choose(page, { name: "photo.jpg", mimeType: "image/jpeg", buffer: Buffer.alloc(0) });
  await expect(page.getByRole("alert").filter({ hasText: "the file is empty" })).toBeVisible();
  await expect(page.getByRole("button", { name: "Use this photo" })).toHaveCount(0);
  expect(left).toHaveLength(refused.length);
  await parent.context.close();
});

test("sharpness and light on the phone are the server's within tolerance", async ({ browser }) => {
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await sendingPage(parent);
  const started = page.waitForEvent("worker");
  await choose(page, PHONE_PHOTO);
  const worker = (await started).url();
  for (const path of [PHONE_PHOTO, LARGE_PHOTO, join(PACKAGES, "exif/test/short-ascii-II.jpg"), join(PACKAGES, "jpeg-exif/test/IMG_0003.JPG")]) {
    const bytes = readFileSync(path);
    const phone = await page.evaluate(async ({ url, coded }) => {
      const file = new Blob([Uint8Array.from(atob(coded), (letter) => letter.charCodeAt(0))]);
      const maker = new Worker(url);
      const reply = await new Promise<{ opened: { measures: { sharpness: number; exposure: { mean: number; darkShare: number; lightShare: number } } } }>((resolve) => {
        maker.addEventListener("message", ({ data }) => resolve(data), { once: true });
        maker.postMessage({ act: "open", file }, []);
      });
      maker.terminate();
      return reply.opened.measures;
    }, { url: worker, coded: bytes.toString("base64") });
    // As the server makes it: by libvips, to 2048 and then to 1024.
    const base = await sharp(bytes).autoOrient().resize({ width: 2048, height: 2048, fit: "inside", withoutEnlargement: true }).removeAlpha().toColourspace("srgb").png().toBuffer();
    const { data, info } = await sharp(base).resize({ width: 1024, height: 1024, fit: "inside", withoutEnlargement: true }).raw().toBuffer({ resolveWithObject: true });
    const server = measurePhoto({ pixels: data, width: info.width, height: info.height, channels: 3 });
    // Browsers average on the way down, libvips keeps more of the fine lines: 0.6 to 0.85 was measured. Limits are tens apart.
    expect(phone.sharpness / server.sharpness, path).toBeGreaterThan(0.5);
    expect(phone.sharpness / server.sharpness, path).toBeLessThan(1.1);
    expect(Math.abs(phone.exposure.mean - server.exposure.mean), path).toBeLessThan(2);
    expect(Math.abs(phone.exposure.darkShare - server.exposure.darkShare), path).toBeLessThan(0.02);
    expect(Math.abs(phone.exposure.lightShare - server.exposure.lightShare), path).toBeLessThan(0.02);
  }
  await parent.context.close();
});
