import { expect, test, type Page } from "@playwright/test";
import { sideReasonOf } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP } from "@/e2e/journey/person";

const { at } = ownPractice();

/**
 * Operators of the keystroke-level model, in seconds (Card, Moran and Newell, Communications of the ACM 1980;23:396-410):
 * a key by an average typist, and the thought before each thing that is decided. Keys that only carry out
 * what was decided have none before them.
 */
const K = 0.28;
const M = 1.35;

/** The same said in a message: forty words. */
const MESSAGE =
  "Lena lies on her left side and that is as it should be. Her bottom arm has to be long on the floor, palm down, " +
  "so that she cannot roll. The rest is fine, please send me a new photo.";
/** Thought about here as there: the side, the prop, what to change, how to say it, the rest, and that it may go. */
const MESSAGE_DECISIONS = 6;

/** Counts what is pressed: every key by itself, modifiers too, and the decisions among them. */
function counting(page: Page) {
  let keys = 0;
  let decisions = 0;
  return {
    press: async (key: string, isDecision = false) => {
      await page.keyboard.press(key);
      keys += key.split("+").length;
      decisions += isDecision ? 1 : 0;
    },
    keys: () => keys,
    seconds: () => keys * K + decisions * M,
  };
}

/** The set of this child that waits, its first item not yet in hand. */
async function open(page: Page, child: string): Promise<void> {
  await page.goto("/desk");
  await page.getByRole("link", { name: new RegExp(child) }).first().click();
  await page.waitForURL(/\/sets\//);
  await expect(page.getByRole("heading", { name: `Answer for ${child}` })).toBeVisible();
  // Scripts are at work once the keys' own control is.
  await expect(page.locator("[data-keys-ready]")).toBeAttached();
}

const verdict = (page: Page, item: string) => page.locator(`input[name="verdict.${item}"]:checked`);
const canBeSent = (page: Page) => page.getByRole("form", { name: "Checklist" }).evaluate((form) => form instanceof HTMLFormElement && form.checkValidity());

test("usual answers take few keys and no mouse", async ({ browser }, info) => {
  test.slow();
  const figures: Record<string, { keys: number; seconds: number }> = {};
  const typed = MESSAGE.length * K + MESSAGE_DECISIONS * M;
  expect(MESSAGE.split(" ")).toHaveLength(40);

  await test.step("a stop for the wrong side", async () => {
    const { page, context } = await at(browser, "Ines Calloway", LAPTOP);
    await open(page, "Felix");
    const pressed = counting(page);
    await pressed.press("n");
    await pressed.press("2", true);
    await pressed.press("1", true);
    await pressed.press("1", true);
    await pressed.press("r", true);
    await expect(verdict(page, "side-down")).toHaveValue("fix");
    await expect(verdict(page, "prop-low-back")).toHaveValue("in-place");
    await expect(page.locator('textarea[name="summary"]')).toHaveValue(/^Stop\. Felix has to lie on the (?:LEFT|RIGHT) side\./);
    // The computed check called this side right, so a reason is due before it can be sent.
    await expect(sideReasonOf(page)).toBeVisible();
    expect(await canBeSent(page)).toBe(true);
    figures["stop for wrong side"] = { keys: pressed.keys() + 2, seconds: pressed.seconds() + 2 * K + M };
    await context.close();
  });

  await test.step("all in place", async () => {
    const person = await at(browser, "Tom Ferrant", LAPTOP);
    const { page } = person;
    await open(page, "Felix");
    const fits = await page.evaluate(() => document.documentElement.scrollHeight <= window.innerHeight);
    expect(fits, "the page itself does not scroll").toBe(true);
    const pressed = counting(page);
    await pressed.press("n");
    await pressed.press("1", true);
    await pressed.press("1", true);
    await pressed.press("r", true);
    await expect(page.locator('textarea[name="summary"]')).toHaveValue(/^Felix lies on the (?:LEFT|RIGHT) side, as it should be\. The rest is in place\.$/);
    await expect(page.locator('input[name="nextStep"]:checked')).toHaveValue("keep-going");
    await expectSound(person);
    const before = page.url();
    await pressed.press("Control+Enter", true);
    await page.waitForURL((url) => url.href !== before);
    figures["all in place"] = { keys: pressed.keys(), seconds: pressed.seconds() };
    await person.context.close();
  });

  await test.step("three changes with a spoken note", async () => {
    const { page, context } = await at(browser, "Tom Ferrant");
    await open(page, "Lena");
    const pressed = counting(page);
    await pressed.press("n");
    await pressed.press("1", true);
    await pressed.press("1", true);
    for (const letter of ["e", "h", "i"]) {
      await pressed.press(letter, true);
      await pressed.press("2");
      await pressed.press("1", true);
    }
    await pressed.press("m", true);
    // Speaking is not counted: the words would be spoken, or typed, in either way of answering.
    await expect(page.getByText(/^0:0[1-9] of 3:00/)).toBeVisible({ timeout: 20_000 });
    await pressed.press("m");
    await expect(page.getByText(/goes with the answer/)).toBeVisible({ timeout: 20_000 });
    await pressed.press("r", true);
    for (const item of ["stacked", "bottom-arm-long", "elbow-high"]) await expect(verdict(page, item)).toHaveValue("fix");
    expect(await canBeSent(page)).toBe(true);
    figures["three changes, spoken note"] = { keys: pressed.keys() + 2, seconds: pressed.seconds() + 2 * K + M };
    await context.close();
  });

  await test.step("one change with its cue and an arrow", async () => {
    const person = await at(browser, "Ines Calloway", LAPTOP);
    const { page } = person;
    await open(page, "Lena");
    const pressed = counting(page);
    await pressed.press("n");
    await pressed.press("1", true);
    await pressed.press("1", true);
    await pressed.press("h", true);
    await pressed.press("2");
    await pressed.press("1", true);
    await pressed.press("a", true);
    await pressed.press("a");
    await pressed.press("ArrowDown");
    await pressed.press("r", true);
    await expect(verdict(page, "bottom-arm-long")).toHaveValue("fix");
    await expect(page.locator('input[name="cue.bottom-arm-long"]:checked')).toHaveAttribute("data-cue-index", "1");
    await expect(page.locator('input[name^="marks."]').first()).toHaveValue(/"kind":"arrow".*"itemKey":"bottom-arm-long"|"itemKey":"bottom-arm-long".*"kind":"arrow"/);
    await expect(page.locator('textarea[name="summary"]')).toHaveValue(/^Lena lies on the LEFT side, as it should be\. Change this: Bottom arm \(LEFT\)/);
    await expectSound(person);
    const before = page.url();
    await pressed.press("Control+Enter", true);
    await page.waitForURL((url) => url.href !== before);
    figures["one change, cue, arrow"] = { keys: pressed.keys(), seconds: pressed.seconds() };
    await person.context.close();
  });

  await info.attach("keystrokes", { body: JSON.stringify({ typed, figures }, null, 2), contentType: "application/json" });
  process.stdout.write(`  keystrokes: ${Object.entries(figures).map(([name, { keys, seconds }]) => `${name} ${keys} keys, ${seconds.toFixed(1)} s`).join("; ")}; typing 40 words ${typed.toFixed(1)} s\n`);
  const usual = figures["one change, cue, arrow"];
  expect(usual?.keys).toBeLessThanOrEqual(12);
  expect(usual?.seconds).toBeLessThanOrEqual(typed / 4);
});
