import { expect, test } from "@playwright/test";
import { expectKept, send, summaryOf, writeSummary } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound } from "@/e2e/journey/person";

const { at } = ownPractice();

test("what is typed before the script comes, and while a form is on its way, stays", async ({ browser }) => {
  const tom = await at(browser, "Tom Ferrant");
  const { page, context } = tom;
  await page.goto("/desk");
  await page.getByRole("main").locator('a[href*="/sets/"]', { hasText: "Felix" }).first().click();
  await expect(page.locator("[data-keys-ready]")).toBeAttached();
  await writeSummary(page, "Felix lies on his RIGHT side.");
  await expectKept(page);

  // The page stands with its restored draft, and its scripts are still on their way.
  let letThrough = (): void => {};
  const held = new Promise<void>((resolve) => (letThrough = resolve));
  await page.route("**/_next/static/**/*.js", async (route) => {
    await held;
    await route.continue();
  });
  await page.goto(page.url(), { waitUntil: "commit" });
  await expect(summaryOf(page)).toHaveValue("Felix lies on his RIGHT side.");
  await summaryOf(page).press("Control+End");
  await summaryOf(page).pressSequentially(" Well done.");
  letThrough();
  await expect(page.locator("[data-keys-ready]")).toBeAttached({ timeout: 60_000 });
  await expect(summaryOf(page)).toHaveValue("Felix lies on his RIGHT side. Well done.");
  await expectKept(page);

  // Nothing is judged yet: the answer comes back refused, and meanwhile more was typed.
  let answer = (): void => {};
  const late = new Promise<void>((resolve) => (answer = resolve));
  await page.route("**/sets/**", async (route) => {
    if (route.request().method() !== "POST") return route.continue();
    await late;
    return route.continue();
  });
  const asked = page.waitForRequest((request) => request.method() === "POST" && /\/sets\//.test(request.url()));
  await send(page);
  await asked;
  await summaryOf(page).press("Control+End");
  await summaryOf(page).pressSequentially(" Look ahead.");
  answer();
  await expect(page.getByRole("form", { name: "Checklist" }).locator("[data-said] [role=alert], [data-said] p").first()).toBeVisible();
  await expect(summaryOf(page)).toHaveValue("Felix lies on his RIGHT side. Well done. Look ahead.");
  await expectSound(tom);
  await context.close();
});
