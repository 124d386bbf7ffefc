import { expect, test, type Locator, type Page } from "@playwright/test";
import sharp from "sharp";
import { choose, judge, send, writeSummary } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";
import { addPhoto, checkSide, finishSending } from "@/e2e/journey/sending";
import { filmsOf } from "@/tests/clips/films";

const { at } = ownPractice();

/** Where the player stands, in seconds, once it has come to rest there. */
const stands = (film: Locator): Promise<number> => film.evaluate((element: HTMLVideoElement) => new Promise<number>((resolve) => {
  if (!element.seeking) resolve(element.currentTime);
  else element.addEventListener("seeked", () => resolve(element.currentTime), { once: true });
}));

/** How far two pictures are apart, the second one turned by so many degrees: the mean over all pixels and colours, in steps of 255. */
async function apart(one: Buffer | undefined, other: Buffer | undefined, degrees: number): Promise<number> {
  const [a, b] = await Promise.all([sharp(one), sharp(other).rotate(degrees)].map((picture) => picture.resize(68, 120, { fit: "fill" }).removeAlpha().raw().toBuffer()));
  const steps = [...a ?? []].map((value, index) => Math.abs(value - (b?.[index] ?? 0)));
  return steps.reduce((sum, step) => sum + step, 0) / steps.length;
}

test("a family adds a clip, the therapist looks at it frame by frame, marks a moment of it, and the family finds that in the clip", async ({ browser }) => {
  test.slow();
  const parent = await at(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await checkSide(await addPhoto(page, "Nia"), "Nia", "left");
  const part = page.getByRole("region", { name: "Add a short clip" });
  await part.getByLabel("Choose a clip").setInputFiles("tests/voice/recordings/tone-opus.webm");
  await expect(part.getByText("This file holds sound alone")).toBeVisible();
  // A browser that can do none of it here says so, and a cover goes over no clip that it cannot be painted on.
  await page.evaluate(() => Object.assign(window, { aside: window.Worker, Worker: undefined }));
  await part.getByLabel("Choose a clip").setInputFiles("tests/clips/recordings/large-vp8.webm");
  await expect(part.getByText("The clip goes as it was filmed.")).toBeVisible();
  await expect(part.getByText("No part of this clip can be covered on this phone.")).toBeVisible();
  await part.getByRole("button", { name: "Use this moment" }).click();
  await part.getByRole("button", { name: "Cover a part" }).click({ timeout: 30_000 });
  await part.getByRole("button", { name: "Use this photo" }).click();
  await expect(part.getByText("This phone could not cover the clip. Nothing was sent.")).toBeVisible();
  await part.getByRole("button", { name: "Send photos alone" }).click();
  await page.evaluate(() => Object.assign(window, { Worker: (window as typeof window & { aside: typeof Worker }).aside })); // put there just now
  await part.getByLabel("Choose a clip").setInputFiles("tests/clips/recordings/large-vp8.webm");
  await expect(part.getByText("This phone has taken out the sound")).toBeVisible({ timeout: 30_000 });
  await part.getByRole("button", { name: "Use this moment" }).click();
  await part.getByRole("button", { name: "Use this photo" }).click({ timeout: 30_000 });
  const frame = page.getByRole("region", { name: "Photo 2" });
  await expect(frame.getByText("The clip goes along with this photo.")).toBeVisible();
  await expectSound(parent);
  await checkSide(frame, "Nia", "left");
  await finishSending(page, "Nia", "LEFT", "With a clip");

  const film = page.locator("video").first();
  // The film's own size and length: 480 by 272 pixels, two seconds.
  await expect.poll(() => film.evaluate((element: HTMLVideoElement) => [element.videoWidth, element.videoHeight, Math.round(element.duration)])).toEqual([480, 272, 2]);

  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  await therapist.page.goto("/desk");
  await therapist.page.getByRole("main").getByRole("link", { name: /Nia/ }).first().click();
  const player = therapist.page.getByRole("region", { name: /^Clip, 2 s/ });
  const shown = player.locator("video");
  await player.getByRole("button", { name: "One frame on" }).click();
  const first = await stands(shown);
  await therapist.page.keyboard.press(".");
  await expect.poll(() => stands(shown)).toBeCloseTo(first + 1 / 15, 2);
  await therapist.page.keyboard.press(",");
  await expect.poll(() => stands(shown)).toBeCloseTo(first, 2);
  await player.getByRole("button", { name: "0.25 times" }).click();
  expect(await shown.evaluate((element: HTMLVideoElement) => element.playbackRate)).toBe(0.25);

  // A moment of it becomes a picture on the board, with the mark drawn on it, and a part of it what is repeated.
  await player.getByRole("button", { name: "Take this moment as a picture" }).click();
  const board = therapist.page.getByRole("region", { name: "The photo and its marks" });
  const [seconds, canvas] = [`${Math.round(first * 10) / 10} s`, board.locator("[data-canvas]")];
  await expect(canvas).toHaveAccessibleName(`Moment ${seconds} of the clip, taken by Tom Ferrant`);
  await expect(canvas).toBeFocused();
  // Its parent turned the photo once, clockwise: so are the film's showing and what is taken from it.
  await expect(shown).toHaveAttribute("data-turns", "1");
  await expect(canvas.locator("image")).toHaveAttribute("width", "272");
  const [photo, moment] = await Promise.all([await shown.getAttribute("src"), await canvas.locator("image").getAttribute("href")]
    .map(async (path) => (await therapist.page.request.get((path ?? "").replace(/[^/]+$/, "320"))).body()));
  expect(await apart(photo, moment, 0)).toBeLessThan(20);
  expect(await apart(photo, moment, 180)).toBeGreaterThan(60);
  await therapist.page.keyboard.press("o");
  await therapist.page.keyboard.press("o");
  await player.getByRole("button", { name: "Repeat from here" }).click();
  for (let step = 0; step < 6; step += 1) await player.getByRole("button", { name: "One frame on" }).click();
  await player.getByRole("button", { name: "Repeat up to here" }).click();
  await player.getByRole("button", { name: "Have the family repeat this part" }).click();
  await judge(therapist.page, { "prop-low-back": "fix" });
  await writeSummary(therapist.page, "Nia lies on the LEFT. Move the bags as drawn in the clip.");
  await choose(therapist.page, "nextStep", "new-photo");
  await expectSound(therapist);
  const desk = therapist.page.url();
  await send(therapist.page);
  await therapist.page.waitForURL((url) => url.href !== desk);

  await page.goto("/family/history");
  const shownToFamily = page.getByRole("region", { name: /^Clip, 2 s/ }).first();
  await expect(shownToFamily.getByRole("img", { name: `Moment ${seconds} of the clip, with marks drawn on it` })).toBeVisible();
  await shownToFamily.getByRole("button", { name: `At ${seconds}` }).click();
  await expect.poll(() => stands(shownToFamily.locator("video"))).toBeCloseTo(first, 2);
  await shownToFamily.getByRole("button", { name: "Repeat the marked part" }).click();
  expect(await shownToFamily.locator("video").evaluate((element: HTMLVideoElement) => element.playbackRate)).toBe(0.5);
  await expectSound(parent);
});

/** Whether this browser shows H.264: builds without it show the other film, which is not turned. */
const showsTurned = (page: Page): Promise<boolean> => page.evaluate(() => document.createElement("video").canPlayType('video/mp4; codecs="avc1.64000d"') !== "");

/** How far each of five frames is from the cover's grey inside it, and whether the whole picture is: by the browser's own player. */
const greyIn = (page: Page, film: Buffer, cover: Readonly<Record<"x" | "y" | "width" | "height", number>>) => page.evaluate(async ([text, { x, y, width, height }]) => {
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const video = Object.assign(document.createElement("video"), { muted: true, src: URL.createObjectURL(new Blob([bytes], { type: bytes[0] === 0x1a ? "video/webm" : "video/mp4" })) });
  const comes = (event: string) => new Promise((resolve) => { video.addEventListener(event, resolve, { once: true }); });
  await comes("loadeddata");
  const canvas = Object.assign(document.createElement("canvas"), { width: video.videoWidth, height: video.videoHeight });
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("no canvas");
  const far: { inside: number; outside: number }[] = [];
  for (const share of [0.01, 0.25, 0.5, 0.75, 0.95]) {
    const arrives = comes("seeked");
    video.currentTime = share * video.duration;
    await arrives;
    pen.drawImage(video, 0, 0);
    const most = (left: number, top: number, wide: number, high: number) => {
      const { data } = pen.getImageData(Math.round(left), Math.round(top), Math.round(wide), Math.round(high));
      return data.reduce((worst, value, index) => (index % 4 === 3 ? worst : Math.max(worst, Math.abs(value - 127))), 0);
    };
    const [w, h, edge] = [canvas.width, canvas.height, 8];
    far.push({ inside: most(x * w + edge, y * h + edge, width * w - 2 * edge, height * h - 2 * edge), outside: most((x + width) * w + edge, y * h, 40, height * h) });
  }
  return { far, size: [canvas.width, canvas.height] };
}, [film.toString("base64"), cover] as const);

test("what is covered in a clip's photo is covered all through the clip before a byte of it leaves the phone, and its sound is gone", async ({ browser }) => {
  test.slow();
  const parent = await at(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  const pieces: Buffer[] = [];
  page.on("request", (request) => (request.method() === "PATCH" && request.url().includes("/api/clips/") ? pieces.push(request.postDataBuffer() ?? Buffer.alloc(0)) : undefined));
  await checkSide(await addPhoto(page, "Nia"), "Nia", "left");
  const isTurned = await showsTurned(page);
  const part = page.getByRole("region", { name: "Add a short clip" });
  await part.getByLabel("Choose a clip").setInputFiles(`tests/clips/recordings/${isTurned ? "turned-avc.mp4" : "phone-vp8.webm"}`);
  await expect(part.getByText("This phone has taken out the sound")).toBeVisible({ timeout: 30_000 });
  await part.getByRole("button", { name: "Use this moment" }).click();
  await part.getByRole("button", { name: "Cover a part" }).click({ timeout: 30_000 });
  const cover = part.getByRole("button", { name: "Cover 1", exact: true });
  // From the middle to the upper left, where no turn by a quarter would leave it: 2 of 100 with each press.
  for (const [key, times] of [["ArrowLeft", 10], ["ArrowUp", 15]] as const) for (let n = 0; n < times; n += 1) await cover.press(key);
  await part.getByRole("button", { name: "Use this photo" }).click();
  const made = part.getByRole("region", { name: "The covered clip" });
  await expect(made.getByText("Play the clip to its end.")).toBeVisible({ timeout: 60_000 });
  await expectSound(parent);
  await made.getByRole("button", { name: "Use the covered clip" }).click();
  await checkSide(page.getByRole("region", { name: "Photo 2" }), "Nia", "left");
  expect(pieces).toEqual([]);
  await finishSending(page, "Nia", "LEFT", "With a covered clip");

  const sent = Buffer.concat(pieces);
  const { films, sounds } = await filmsOf(sent);
  expect([films.length, films[0]?.packets.length, sounds]).toEqual([1, 30, 0]);
  for (const word of ["Planted", "Lavf", "+48.2082"]) expect(sent.includes(word), word).toBe(false);
  const { far, size } = await greyIn(page, sent, { x: 0.2, y: 0.1, width: 0.2, height: 0.2 });
  expect(size).toEqual(isTurned ? [272, 480] : [320, 240]);
  for (const { inside, outside } of far) {
    expect(inside).toBeLessThan(24);
    expect(outside).toBeGreaterThan(60);
  }
});
