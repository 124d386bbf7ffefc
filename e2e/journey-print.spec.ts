import { expect, test } from "@playwright/test";
import { pagesIn } from "@/e2e/journey/paper";
import { LAPTOP, personAt } from "@/e2e/journey/person";

test("what to do before the start is one page on paper, with all that matters and nothing to press", async ({ browser }) => {
  // Go and fix: an open item, its cue, a marked picture; settled items are folded on the screen.
  const { page, context } = await personAt(browser, "Bea Quillon", LAPTOP);
  await expect(page.getByRole("button", { name: "Print this page" })).toBeVisible();
  const folded = page.locator("details").filter({ hasText: "What already sits well" }).locator("li").first();
  await expect(folded).toBeHidden();
  expect(pagesIn(await page.pdf({ format: "A4" }))).toBe(1);
  expect(pagesIn(await page.pdf({ format: "Letter" }))).toBe(1);
  expect(pagesIn(await page.pdf({ width: "105mm", height: "148mm" }))).toBeGreaterThan(1);
  await page.emulateMedia({ media: "print" });
  for (const said of [/Lie on the LEFT side/, /bags/i, /Go, and fix these/, /\w{3} \d{1,2} \w{3} \d{4}/, /licensed|assessment/i]) await expect(page.getByText(said).first()).toBeVisible();
  await expect(folded).toBeVisible();
  for (const button of await page.getByRole("button").all()) await expect(button).toBeHidden();
  await expect(page.getByRole("link", { name: "Something hurts or feels wrong" })).toBeHidden();
  const colours = await page.evaluate(() => [...document.querySelectorAll("main *")].map((at) => getComputedStyle(at).color)
    .filter((colour) => !/^rgba?\((\d+), \1, \1/.test(colour)));
  expect(colours).toEqual([]);
  await context.close();

  const plain = await browser.newContext({ ...LAPTOP, javaScriptEnabled: false });
  const signedIn = await personAt(browser, "Bea Quillon", LAPTOP);
  await plain.addCookies(await signedIn.context.cookies());
  const still = await plain.newPage();
  await still.goto("/family");
  await expect(still.getByText('use "Print" in your browser\'s menu')).toBeVisible();
  await expect(still.getByRole("button", { name: "Print this page" })).toHaveCount(0);
});

test("today's tap can be taken back, and days practised stand in a table for family and therapist", async ({ browser }) => {
  const adaeze = await personAt(browser, "Adaeze Okonjo-Lund", LAPTOP);
  await adaeze.page.getByRole("button", { name: "Done today" }).click();
  await adaeze.page.getByRole("button", { name: "Not done after all" }).click();
  await expect(adaeze.page.getByRole("button", { name: "Done today" })).toBeVisible();
  await adaeze.page.goto("/family/history");
  const done = adaeze.page.getByRole("table").filter({ has: adaeze.page.getByRole("columnheader", { name: "Mon" }) }).getByRole("cell", { name: /^\d{1,2} done$/ });
  await expect(done).not.toHaveCount(0);
  const days = await done.allInnerTexts();
  const tom = await personAt(browser, "Tom Ferrant", LAPTOP);
  await tom.page.goto("/desk/families");
  await tom.page.getByRole("link", { name: "Mira" }).first().click();
  await expect(tom.page.getByRole("cell", { name: /^\d{1,2} done$/ })).toHaveCount(days.length);
});
