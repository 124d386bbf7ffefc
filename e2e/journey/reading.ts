import { expect, type Locator, type Page } from "@playwright/test";

/** What a screen reader says of a page, one line a thing, from the top: its role, its name, its words. */
async function heard(page: Page): Promise<readonly string[]> {
  const tree = await page.locator("body").ariaSnapshot();
  return tree.split("\n").map((line) => line.replace(/^\s*- /, "").replace(/^'(.*)':?$/, "$1")).filter((line) => !line.includes("/url:"));
}

/**
 * All of these are heard, in this order; other things may stand between them. A string is the beginning of a line.
 * Waits until it is so.
 */
export async function expectHeard(page: Page, order: readonly (string | RegExp)[]): Promise<void> {
  await expect(async () => {
    const lines = await heard(page);
    let at = -1;
    for (const each of order) {
      const next = lines.findIndex((line, index) => index > at && (typeof each === "string" ? line.startsWith(each) : each.test(line)));
      expect(next, `${String(each)}, after line ${at} of ${page.url()}:\n${lines.join("\n")}`).toBeGreaterThan(at);
      at = next;
    }
  }).toPass({ timeout: 20_000 });
}

/** Where the focus is, as a screen reader says it: role and name, without what lies within. */
export const expectFocus = (page: Page, on: string | RegExp): Promise<void> =>
  expect.poll(async () => {
    const focused = page.locator(":focus");
    if ((await focused.count()) === 0) return "nowhere";
    const [first = ""] = (await focused.ariaSnapshot()).split("\n");
    return first.replace(/^- /, "").replace(/^'(.*)':?$/, "$1");
  }, { message: `focus at ${page.url()}` }).toMatch(on);

/** More stops of the Tab key than any page of a family has. */
const MOST_STOPS = 90;

/** Goes on by the Tab key alone until this has the focus: nothing on the way holds it, and it is not out of reach. */
export async function tabTo(page: Page, to: Locator): Promise<void> {
  await expect(to).toBeVisible();
  for (let stop = 0; stop < MOST_STOPS; stop += 1) {
    if (await to.evaluate((element) => element === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the Tab key does not come to ${String(to)}`);
}

/** By keyboard alone. */
export async function press(page: Page, to: Locator, key: "Enter" | "Space" = "Enter"): Promise<void> {
  await tabTo(page, to);
  await page.keyboard.press(key);
}
