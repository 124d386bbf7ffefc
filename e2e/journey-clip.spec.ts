import { expect, test, type Locator } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";
import { addPhoto, checkSide, finishSending } from "@/e2e/journey/sending";

const { at } = ownPractice();

/** Where the player stands, in seconds, once it has come to rest there. */
const stands = (film: Locator): Promise<number> => film.evaluate((element: HTMLVideoElement) => new Promise<number>((resolve) => {
  if (!element.seeking) resolve(element.currentTime);
  else element.addEventListener("seeked", () => resolve(element.currentTime), { once: true });
}));

test("a family adds a clip, one moment of it is checked like a photo, and the therapist looks at it frame by frame", async ({ browser }) => {
  test.slow();
  const parent = await at(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await checkSide(await addPhoto(page, "Nia"), "Nia", "left");
  const part = page.getByRole("region", { name: "Add a short clip" });
  await part.getByLabel("Choose a clip").setInputFiles("tests/voice/recordings/tone-opus.webm");
  await expect(part.getByText("This file holds sound alone")).toBeVisible();
  await part.getByLabel("Choose a clip").setInputFiles("tests/clips/recordings/large-vp8.webm");
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
  await expectSound(therapist);
});
