import { expect, test, type Page } from "@playwright/test";
import { choose, judge, send } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";

const { at, withDatabase, loseSignal, findSignal } = ownPractice();

// One story in order: each part begins where the one before ended.
test.describe.configure({ mode: "serial", timeout: 180_000 });

/** A child of the demo whose photo waits for an answer, and who lies on the left side. */
const CHILD = "Lena";
const PARENT = "Anouk Vossler";

/** Stops the child with a mark on its photo and a spoken note. */
async function stopWithNote(page: Page): Promise<void> {
  // Without a microphone a recording may be chosen.
  await page.addInitScript(() => {
    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("none", "NotFoundError"));
  });
  await page.goto("/desk");
  await page.getByRole("main").locator('a[href*="/sets/"]', { hasText: CHILD }).first().click();
  await page.waitForURL(/\/sets\//);
  await expect(page.locator("[data-keys-ready]")).toBeAttached();
  const recorder = page.getByRole("region", { name: "Spoken note", exact: true });
  await recorder.getByRole("button", { name: /Record a spoken note/ }).click();
  await recorder.getByLabel(/choose a recording/).setInputFiles("tests/voice/recordings/tone-opus.webm");
  await expect(recorder.getByText(/goes with the answer/)).toBeVisible({ timeout: 20_000 });
  await judge(page, { "prop-low-back": "fix" });
  await choose(page, "cue.prop-low-back", await page.locator('input[name="cue.prop-low-back"][data-cue-index="1"]').inputValue());
  await page.getByRole("button", { name: /^Arrow/ }).first().press("Enter");
  const desk = page.url();
  await send(page);
  await page.waitForURL((url) => url.href !== desk);
}

const databases = (page: Page) => page.evaluate(async () => (await indexedDB.databases()).map(({ name }) => name));
const began = Date.now();
const reportsOf = (child: string) => withDatabase((db) => db.prepare(
  "select count(*) from symptom_reports r join children c on c.id = r.child_id where c.given_name = ? and r.reported_at > ?",
).pluck().get(child, began));

test("kept on the phone, the page opens without signal with its pictures; a stop is read back and a symptom stops at once, and both arrive once", async ({ browser }) => {
  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  await stopWithNote(therapist.page);

  const parent = await at(browser, PARENT, PHONE);
  const { page, context } = parent;
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await expect(page.getByText("Keep this on this phone?")).toBeVisible();
  await expectSound(parent);
  await page.getByRole("button", { name: "Yes, keep it" }).click();
  await expect(page.getByText("This page is kept on this phone.")).toBeVisible();
  // Asked once.
  await page.goto("/family");
  await expect(page.getByRole("heading", { name: "Before you start", level: 1 })).toBeVisible();
  await expect(page.getByText("Keep this on this phone?")).toHaveCount(0);

  await loseSignal(context);
  await page.goto("/family");
  await expect(page).toHaveURL(/\/kept/);
  await expect(page.getByText(/^You are offline\. This page is from \w{3} \d+ \w{3} \d{4}\. Go online before you start\.$/)).toBeVisible();
  await expect(page.getByText(`Stop: ${CHILD}`)).toBeVisible();
  const card = page.getByRole("article").filter({ hasText: CHILD }).first();
  await expect(card.getByText("Lie on the LEFT side.", { exact: true })).toBeVisible();
  await expect(card.getByRole("img", { name: "The set-up seen from behind" })).toBeVisible();
  const picture = card.getByRole("img", { name: /with the therapist's marks/ });
  await expect(picture).toHaveAttribute("src", /^blob:/);
  await expect.poll(() => picture.evaluate((image: HTMLImageElement) => image.naturalWidth)).toBeGreaterThan(100);
  const audio = card.locator("audio");
  await audio.evaluate((element: HTMLAudioElement) => element.play());
  await expect.poll(() => audio.evaluate((element: HTMLAudioElement) => element.currentTime)).toBeGreaterThan(0.2);
  await expect(card.getByText(/^Go/)).toHaveCount(0);

  // The question of the stop: the wrong answer shows the stop again, the right one ends the question.
  await page.getByLabel("Under the hip bone").check();
  await page.getByRole("button", { name: "Answer", exact: true }).click();
  await expect(page.getByText(/^That was not right\./)).toBeVisible();
  await page.getByLabel("Under the low back, between the ribs and the hip bone").check();
  await page.getByRole("button", { name: "Answer", exact: true }).click();
  await expect(page.getByText("Your answer is kept on this phone.")).toBeVisible();
  await expect(page.getByRole("button", { name: "Answer", exact: true })).toHaveCount(0);

  // When the line comes back it breaks once more, just when the server has taken the report. In place before anything is said: what sets
  // out in the moment in which the signal comes back must meet it too.
  let taken = 0;
  await context.route("**/api/symptoms/**", async (route) => {
    const answer = await route.fetch().catch(() => null); // no line
    if (answer) taken += 1;
    await (answer && taken > 1 ? route.fulfill({ response: answer }) : route.abort());
  });

  // Something hurts: said on the phone, and it stops there.
  await card.getByRole("button", { name: "Something hurts or feels wrong" }).click();
  await page.getByRole("button", { name: "Stop now" }).click();
  await page.getByLabel(CHILD, { exact: true }).check();
  await page.getByRole("button", { name: "Stop now" }).click();
  await expect(page.getByText(/^Please say who it is about/)).toBeVisible();
  await page.getByLabel("A leg is weak, numb or tingles").check();
  await page.getByRole("button", { name: "Stop now" }).click();
  await expect(page.getByText(/^Stop\. Get medical help now:/)).toBeVisible();
  await expect(page.getByText("This has not reached us yet: call Alderbrook Back Clinic, 01632 960100.")).toBeVisible();
  await page.reload();
  await expect(page.getByText("This has not reached us yet: call Alderbrook Back Clinic, 01632 960100.")).toBeVisible();
  expect(reportsOf(CHILD)).toBe(0);

  await findSignal(context);
  await expect.poll(() => reportsOf(CHILD), { timeout: 40_000 }).toBe(1);
  await page.goto("/family");
  await expect(page.getByText(`Stop: ${CHILD}`)).toBeVisible();
  await expect.poll(() => taken, { timeout: 40_000 }).toBeGreaterThan(1);
  await expect(page.getByText(/has not reached us yet/)).toHaveCount(0);
  await expect(page.getByText(/^Stop\. Get medical help now:/)).toBeVisible();
  expect(reportsOf(CHILD)).toBe(1);
  // Sent one after the other, after the report.
  await expect.poll(() => withDatabase((db) => db.prepare("select is_right from read_backs r join children c on c.id = r.child_id where c.given_name = ? and r.answered_at > ? order by r.answered_at").pluck().all(CHILD, began))).toEqual([0, 1]);

  // Staff see it, once.
  await therapist.page.goto("/desk");
  await expect(therapist.page.getByText(`Urgent: ${CHILD}`)).toHaveCount(1);
  await therapist.context.close();

  // Off the phone again, with the way out.
  await page.goto("/family/account");
  await expectSound({ page, complaints: [] });
  expect(await databases(page)).toContain("trueside-kept");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await page.waitForURL(/\/sign-in/);
  expect(await databases(page)).not.toContain("trueside-kept");
  expect(await page.evaluate(() => localStorage.length)).toBe(0);
  await context.close();
});

test("a report whose form loses the line stops on the phone, is written down there, and arrives once", async ({ browser }) => {
  const { page, context } = await at(browser, "Luc Pellerin", PHONE);
  await page.getByRole("button", { name: "Not now" }).click();
  await page.goto("/family/symptom");
  await page.getByLabel("Caio", { exact: true }).check();
  await page.getByLabel("Dizzy").check();
  // What the page needs for it is fetched while there is a line.
  await page.waitForLoadState("networkidle");
  await loseSignal(context);
  await page.getByRole("button", { name: "Stop and tell the practice" }).click();
  await expect(page.getByText(/^Stop\. You told this phone that something hurts or feels wrong\. This has not reached us yet: call Alderbrook Back Clinic, 01632 960100\./)).toBeVisible();
  await findSignal(context);
  await expect.poll(() => reportsOf("Caio"), { timeout: 40_000 }).toBe(1);
  await page.goto("/family");
  await expect(page.getByText("Stop: Caio")).toBeVisible();
  await expect(page.getByText(/has not reached us yet/)).toHaveCount(0);
  // Asked once, whatever the answer.
  await expect(page.getByText("Keep this on this phone?")).toHaveCount(0);
  expect(reportsOf("Caio")).toBe(1);
  expect(await databases(page)).toContain("trueside-kept");
  await context.close();
});

test("a clip that the newest answer is about plays without signal, from any place in it", async ({ browser }) => {
  const { page, context } = await at(browser, "Ylva Tarnlund", PHONE);
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  const arrives = page.waitForResponse(/\/media\/[^/]+\/[^/]+\/clip$/);
  await page.getByRole("button", { name: "Yes, keep it" }).click();
  await (await arrives).finished();
  await expect(page.getByText("This page is kept on this phone.")).toBeVisible();

  // Asked anew while there is a line: what was noted meanwhile is no clock set back, not for a moment either.
  await page.addInitScript(noteDoubts);
  await page.goto("/kept");
  await expect.poll(() => page.evaluate(wasAskedAnew)).toBe(true);
  await expect(page.getByText("It shows how it was then: do what is written above.")).toBeVisible();
  expect(await page.evaluate(() => sessionStorage.getItem("doubted"))).toBeNull();

  await loseSignal(context);
  await page.goto("/family");
  await expect(page).toHaveURL(/\/kept/);
  const player = page.getByRole("region", { name: /^Clip, 4 s/ });
  await expect(page.getByText("It shows how it was then: do what is written above.")).toBeVisible();
  const film = player.locator("video");
  await expect(film).toHaveAttribute("src", /^blob:/);
  const stands = (to: number) => film.evaluate((element: HTMLVideoElement, second) => new Promise<number>((resolve) => {
    element.addEventListener("seeked", () => resolve(element.currentTime), { once: true });
    element.currentTime = second;
  }), to);
  expect([await stands(3), await stands(0.4)]).toEqual([3, 0.4]);
  expect(await film.evaluate((element: HTMLVideoElement) => [element.videoWidth, element.videoHeight])).toEqual([480, 360]);
  await context.close();
});

/** Writes down that the page doubted its clock, however shortly. */
function noteDoubts(): void {
  new MutationObserver(() => {
    if (document.querySelector("main")?.textContent.includes("The clock of this phone was set back")) sessionStorage.setItem("doubted", "yes");
  }).observe(document, { childList: true, characterData: true, subtree: true });
}

/** Whether this page has put a new answer of the server's in the place of what was kept, and looked at it since. */
const wasAskedAnew = (): Promise<boolean> => new Promise((resolve, reject) => {
  const opened = indexedDB.open("trueside-kept");
  opened.addEventListener("error", () => reject(new Error("not opened")));
  opened.addEventListener("success", () => {
    const asked = opened.result.transaction("kept").objectStore("kept").getAll();
    asked.addEventListener("success", () => {
      const rows: readonly { readonly keptAt: number; readonly seenAt: number }[] = asked.result;
      opened.result.close();
      resolve(rows.some(({ keptAt, seenAt }) => keptAt > performance.timeOrigin && seenAt > keptAt));
    });
  });
});
