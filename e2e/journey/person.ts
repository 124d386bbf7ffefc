import axe, { type AxeResults } from "axe-core";
import { expect, type Browser, type BrowserContext, type Page } from "@playwright/test";

/** A parent's phone, held upright, and a therapist's laptop. */
export const PHONE = { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2 } as const;
export const LAPTOP = { viewport: { width: 1280, height: 800 } } as const;

export type Person = { readonly page: Page; readonly context: BrowserContext; readonly complaints: readonly string[] };

/** Somebody's browser in which anything the console complains of is kept; nobody is signed in yet. */
export async function someone(browser: Browser, device: typeof PHONE | typeof LAPTOP, more: { readonly javaScriptEnabled?: boolean; readonly colorScheme?: "light" | "dark"; readonly baseURL?: string } = {}): Promise<Person> {
  const context = await browser.newContext({ ...device, ...more });
  const page = await context.newPage();
  return { page, context, complaints: complaintsOf(page) };
}

/** What a page's console calls an error, as it comes. A refused sending is answered 4xx on purpose. */
export function complaintsOf(page: Page): readonly string[] {
  const complaints: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error" && !/status of 4(?:01|03|04|09|22)/.test(message.text())) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  return complaints;
}

/** Signs in through the demo's own button. */
export async function signIn({ page }: Person, name: string): Promise<void> {
  await page.goto("/sign-in");
  await page.getByRole("button", { name: new RegExp(name) }).click();
  await page.waitForURL((url) => /^\/(?:desk|family)/.test(url.pathname));
}

/** A demo person's browser, signed in. */
export async function personAt(browser: Browser, name: string, device: typeof PHONE | typeof LAPTOP, more: { readonly baseURL?: string } = {}): Promise<Person> {
  const person = await someone(browser, device, more);
  await signIn(person, name);
  return person;
}

/** axe-core puts itself on the window of the page it is evaluated in. */
type Axed = { readonly axe?: typeof axe };

/** What axe calls serious or critical at this page, by rule and place; of these rules alone, or of all. */
async function graveAt(page: Page, rules: readonly string[] = []): Promise<readonly string[]> {
  for (let left = 3; ; left -= 1) {
    try {
      return await judged(page, rules);
    } catch (error) {
      // The page made room for another meanwhile, as after a photo set is sent: then that one is judged.
      if (left === 0 || !/axe is not on the page|context was destroyed|because of a navigation/.test(String(error))) throw error;
      await page.waitForLoadState();
    }
  }
}

async function judged(page: Page, rules: readonly string[]): Promise<readonly string[]> {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe.source);
  const { violations }: Pick<AxeResults, "violations"> = await page.evaluate(async (only) => {
    const { axe: here } = window as Axed;
    if (!here) throw new Error("axe is not on the page");
    const found = await here.run(document, { resultTypes: ["violations"], ...(only.length > 0 ? { runOnly: [...only] } : {}) });
    return { violations: found.violations };
  }, rules);
  return violations.filter(({ impact }) => impact === "serious" || impact === "critical")
    .map(({ id, nodes }) => `${id}: ${nodes.map(({ target }) => target.join(" ")).join(", ")}`);
}

/** Every violation of contrast, which is all that another colour scheme can bring. */
export const faintAt = (page: Page): Promise<readonly string[]> => graveAt(page, ["color-contrast", "link-in-text-block"]);

/**
 * No violation that axe calls serious or critical (WCAG 2.2 A and AA and its best practices), nothing
 * wider than the screen, and nothing the console complains of.
 */
export async function expectSound({ page, complaints }: Pick<Person, "page" | "complaints">): Promise<void> {
  // Between two pages there is a moment without a title.
  await expect(page, `title at ${page.url()}`).toHaveTitle(/./);
  const grave = await graveAt(page);
  expect(grave, `axe at ${page.url()}`).toEqual([]);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(over, `sideways scrolling at ${page.url()}`).toBeLessThanOrEqual(0);
  expect(complaints, `console at ${page.url()}`).toEqual([]);
}
