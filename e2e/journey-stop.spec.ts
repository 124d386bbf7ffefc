import { expect, test, type Browser } from "@playwright/test";
import { choose, judge, send } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";
import { addPhoto, checkSide, finishSending } from "@/e2e/journey/sending";

const { at, withDatabase, letAnswersOut } = ownPractice();

// One story in order: each part begins where the one before ended.
test.describe.configure({ mode: "serial", timeout: 180_000 });

/** A child whom no other journey touches, who lies on the left side. */
const CHILD = "Rowan";
const PARENT = "Bea Quillon";
/** When the stop was sent, at the latest. */
let stoppedAt = 0;

/** A photo sent from the parent's phone and opened on the therapist's desk. */
async function sentAndOpened(browser: Browser, note: string) {
  const parent = await at(browser, PARENT, PHONE);
  const photo = await addPhoto(parent.page, CHILD);
  await checkSide(photo, CHILD, "left");
  await finishSending(parent.page, CHILD, "LEFT", note);
  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  await therapist.page.goto("/desk");
  // A question of the same child may wait as well.
  await therapist.page.locator(`main a[href*="/sets/"]`, { hasText: CHILD }).first().click();
  await therapist.page.waitForURL(/\/sets\//);
  return { parent, therapist };
}

test("an answer with a stop reaches the family at once, with its mark and its question", async ({ browser }) => {
  const { parent, therapist } = await sentAndOpened(browser, "It feels odd today.");
  const { page } = therapist;
  await judge(page, { "prop-low-back": "fix" });
  await choose(page, "cue.prop-low-back", await page.locator('input[name="cue.prop-low-back"][data-cue-index="1"]').inputValue());
  // Placed from the keyboard, in the middle of the photo.
  await page.getByRole("button", { name: /^Arrow/ }).first().press("Enter");
  await expect(page.locator('input[name^="marks."]').first()).toHaveValue(/arrow/);
  await expect(page.locator('textarea[name="summary"]')).toHaveValue(/Stop until this is corrected/);
  const desk = page.url();
  await send(page);
  await page.waitForURL((url) => url.href !== desk);
  stoppedAt = Date.now();

  // No half minute: a stop is there at once.
  await parent.page.goto("/family");
  await expect(parent.page.getByText(`Stop: ${CHILD}`).first()).toBeVisible();
  await expect(parent.page.getByText("Not like this")).toBeVisible();
  await expectSound(parent);
  await parent.page.getByLabel("Under the hip bone").check();
  await parent.page.getByRole("button", { name: "Answer", exact: true }).click();
  await expect(parent.page.getByText("That was not right. Read the stop again")).toBeVisible();
  await expectSound(parent);

  // The therapists are told.
  const told = withDatabase((db) => db.prepare("select count(*) from notices where kind = 'read-back-wrong'").pluck().get());
  expect(Number(told)).toBeGreaterThan(0);
  await parent.page.goto("/family");
  await parent.page.getByLabel("Under the low back, between the ribs and the hip bone").check();
  await parent.page.getByRole("button", { name: "Answer", exact: true }).click();
  await expect(parent.page.getByText("Please answer, so that we know this stop was understood.")).toHaveCount(0);
  // It says so; understood is not lifted.
  await expect(parent.page.getByText("You answered this rightly. The stop stays until the therapist lifts it.")).toBeVisible();
  await expect(parent.page.getByText(`Stop: ${CHILD}`).first()).toBeVisible();
  await Promise.all([parent.context.close(), therapist.context.close()]);
});

test("an old photo lifts nothing, and being seen live does", async ({ browser }) => {
  // The file's own date is 2016: whatever is judged from it, the stop stands.
  const { parent, therapist } = await sentAndOpened(browser, "Taken anew.");
  const { page } = therapist;
  await expect(page.getByText(/cannot lift a stop/)).toBeVisible();
  await judge(page);
  const desk = page.url();
  await send(page);
  await page.waitForURL((url) => url.href !== desk);
  letAnswersOut();
  await parent.page.goto("/family");
  await expect(parent.page.getByText(`Stop: ${CHILD}`).first()).toBeVisible();

  await page.goto(desk.replace(/\/sets\/.*/, "/seen-live"));
  await expectSound(therapist);
  await page.getByLabel("A video call").check();
  // A time is told to the minute and counts from its beginning: one in the stop's own minute is not after it.
  await expect.poll(() => Math.floor(Date.now() / 60_000), { timeout: 65_000 }).toBeGreaterThan(Math.floor(stoppedAt / 60_000));
  const now = new Date();
  await page.getByLabel("On", { exact: true }).fill(now.toLocaleDateString("en-CA", { timeZone: "Europe/London" }));
  await page.getByLabel(/^At/).fill(now.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: "Europe/London" }));
  await judge(page);
  await page.getByRole("button", { name: "Record it" }).click();
  await page.waitForURL(/\/desk\/children\/[^/]+$/);
  await parent.page.goto("/family");
  await expect(parent.page.getByText(`Stop: ${CHILD}`)).toHaveCount(0);
  await expectSound(parent);
  await Promise.all([parent.context.close(), therapist.context.close()]);
});
