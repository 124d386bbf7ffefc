import { expect, test, type Locator, type Page } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";

const { at, letAnswersOut } = ownPractice();

// The microphone is the browser's own fake one, which beeps once a second; the configuration asks for it.

/** The answering desk of a child whose photo waits. */
async function openDesk(page: Page, child: string): Promise<void> {
  await page.goto("/desk");
  await page.getByRole("main").getByRole("link", { name: new RegExp(child) }).first().click();
  await page.waitForURL(/\/sets\//);
  // A key pressed before the scripts are at work would be lost.
  await expect(page.locator("[data-keys-ready]")).toBeAttached();
}

const recorderOf = (page: Page): Locator => page.getByRole("region", { name: "Spoken note", exact: true });

/** Milliseconds of the time shown while recording. */
async function shownMs(recorder: Locator): Promise<number> {
  const shown = /^(\d):(\d\d) of 3:00/.exec(await recorder.getByText(/ of 3:00\. /).innerText());
  return (Number(shown?.[1]) * 60 + Number(shown?.[2])) * 1000;
}

/** Plays on for a moment and gives where the player is and how long it says the sound is, in seconds. */
async function played(audio: Locator): Promise<{ readonly at: number; readonly lasts: number; readonly rate: number }> {
  await audio.evaluate((element: HTMLAudioElement) => element.play());
  await expect.poll(() => audio.evaluate((element: HTMLAudioElement) => element.currentTime), { timeout: 20_000 }).toBeGreaterThan(0.5);
  return audio.evaluate((element: HTMLAudioElement) => ({ at: element.currentTime, lasts: element.duration, rate: element.playbackRate }));
}

test("a spoken note is recorded, outlives a lost line and a reload, goes with the answer, and the family plays it", async ({ browser }) => {
  test.slow();
  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  const { page } = therapist;
  await openDesk(page, "Lena");
  const recorder = recorderOf(page);
  await expect(recorder.getByRole("button", { name: /Record a spoken note/ })).toBeVisible();

  // One key starts it; the pause does not count.
  await page.keyboard.press("m");
  await expect.poll(() => shownMs(recorder), { timeout: 20_000 }).toBeGreaterThanOrEqual(2000);
  await expect(recorder.getByText(/Well heard|Quiet|Nothing is heard|Too loud/)).toBeVisible();
  await expectSound(therapist);
  await recorder.getByRole("button", { name: "Pause" }).click();
  await expect(recorder.getByText("Paused.").first()).toBeVisible();
  const before = await shownMs(recorder);
  await page.waitForTimeout(2500);
  expect(await shownMs(recorder)).toBe(before);
  await recorder.getByRole("button", { name: "Go on" }).click();
  await expect.poll(() => shownMs(recorder)).toBeGreaterThan(before);

  // The line is lost: the note stays on this computer, and a reload finds it again.
  await page.route("**/api/voice/**", (route) => route.abort());
  const lasted = await shownMs(recorder);
  await page.keyboard.press("m");
  await expect(recorder.getByText(/kept on this computer/)).toBeVisible();
  expect((await played(recorder.getByLabel("The recording on this computer"))).at).toBeGreaterThan(0.5);
  await page.reload();
  await expect(recorder.getByText(/kept on this computer/)).toBeVisible();
  await expect(recorder.getByLabel("The recording on this computer")).toBeVisible();
  await page.unroute("**/api/voice/**");
  await recorder.getByRole("button", { name: "Try again" }).click();
  await expect(recorder.getByText(/goes with the answer/)).toBeVisible({ timeout: 20_000 });
  const own = await played(recorder.getByLabel("Your spoken note"));
  // What the clock showed, give or take the second it is cut to and the moment of the key.
  expect(own.lasts).toBeGreaterThan(lasted / 1000 - 0.3);
  expect(own.lasts).toBeLessThan(lasted / 1000 + 2.5);
  await expect.poll(() => page.locator("form input[name=voice]").inputValue()).toMatch(/^[0-9a-f-]{36}$/);

  // The summary stays required; then everything goes.
  for (const item of await page.locator("fieldset[data-item][data-asked]").all()) await item.locator("input[value=in-place]").check({ force: true });
  await page.locator("textarea[name=summary]").fill("Lena lies on the LEFT side, as she should. Keep this set-up.");
  await page.locator("input[name=nextStep][value=keep-going]").check({ force: true });
  const desk = page.url();
  await page.getByRole("button", { name: "Send the answer" }).click();
  await page.waitForURL((url) => url.href !== desk);

  // Nobody hears it before it can no longer be taken back (30 seconds).
  const parent = await at(browser, "Anouk Vossler", PHONE);
  const player = parent.page.getByRole("region", { name: /^Spoken note/ }).first();
  letAnswersOut();
  await parent.page.goto("/family/history");
  await expect(player).toBeVisible();
  await expect(player.getByText("The same in words:")).toBeVisible();
  await expect(player.getByText("Lena lies on the LEFT side, as she should. Keep this set-up.")).toBeVisible();
  await player.getByRole("button", { name: "1.5 times" }).click();
  const heard = await played(player.locator("audio"));
  expect(heard.rate).toBe(1.5);
  expect(Math.abs(heard.lasts - own.lasts)).toBeLessThan(0.2);
  await expectSound(parent);
  await Promise.all([therapist.context.close(), parent.context.close()]);
});

test("a tab killed while recording loses at most the last second", async ({ browser }) => {
  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  const { page } = therapist;
  await openDesk(page, "Felix");
  const address = page.url();
  await page.keyboard.press("m");
  await expect.poll(() => shownMs(recorderOf(page)), { timeout: 20_000 }).toBeGreaterThanOrEqual(4000);
  await page.close();

  const again = await therapist.context.newPage();
  await again.goto(address);
  const recorder = recorderOf(again);
  await expect(recorder.getByText(/The recording was cut off when the page closed/)).toBeVisible({ timeout: 20_000 });
  const { lasts } = await played(recorder.getByLabel("Your spoken note"));
  expect(lasts).toBeGreaterThan(2.9);
  // Thrown away, it is gone here and on the server.
  await recorder.getByRole("button", { name: "Throw away" }).click();
  await expect(recorder.getByRole("button", { name: /Record a spoken note/ })).toBeVisible();
  await again.reload();
  await expect(recorder.getByRole("button", { name: /Record a spoken note/ })).toBeVisible();
  await therapist.context.close();
});

test("without a microphone a recording may be chosen instead, and what is no recording is refused in words", async ({ browser }) => {
  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  const { page } = therapist;
  await page.addInitScript(() => {
    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("none", "NotFoundError"));
  });
  await openDesk(page, "Felix");
  const recorder = recorderOf(page);
  await recorder.getByRole("button", { name: /Record a spoken note/ }).click();
  await expect(recorder.getByText(/No microphone was found/)).toBeVisible();
  await expectSound(therapist);
  await recorder.getByLabel(/choose a recording/).setInputFiles({ name: "note.webm", mimeType: "audio/webm", buffer: Buffer.from("<!doctype html><script>alert(1)</script>") });
  await expect(recorder.getByText(/not a recording that we can play/)).toBeVisible();
  await recorder.getByRole("button", { name: "Throw away" }).click();
  await recorder.getByRole("button", { name: /Record a spoken note/ }).click();
  await recorder.getByLabel(/choose a recording/).setInputFiles("tests/voice/recordings/tone-aac.mp4");
  await expect(recorder.getByText("Spoken note, 0:02, goes with the answer.")).toBeVisible({ timeout: 20_000 });
  await recorder.getByRole("button", { name: "Throw away" }).click();
  await therapist.context.close();
});
