import { expect, test, type BrowserContext } from "@playwright/test";
import { expectKept, send, summaryOf, writeSummary } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE } from "@/e2e/journey/person";

const { at, withDatabase } = ownPractice();

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

for (const [how, end] of [
  ["on another device", async (context: BrowserContext) => {
    withDatabase((db) => db.prepare("delete from sessions").run());
    expect((await context.cookies()).some(({ name }) => name.endsWith("session-token"))).toBe(true);
  }],
  ["in another tab", async (context: BrowserContext) => {
    const tab = await context.newPage();
    await tab.goto("/family/account");
    await tab.getByRole("button", { name: "Sign out", exact: true }).click();
    await tab.waitForURL(/sign-in/);
    await tab.close();
  }],
] as const) {
  test(`a symptom told after signing out ${how} is not lost and not taken for told: it is sent after signing in`, async ({ browser }) => {
    const parent = await at(browser, "Luc Pellerin", PHONE);
    const { page, context } = parent;
    const reports = () => withDatabase((db) => db.prepare("select count(*) from symptom_reports where note = ?").pluck().get(how));
    await page.goto("/family/symptom");
    await page.getByLabel("Caio").check();
    await page.getByLabel("Dizzy").check();
    await page.getByRole("textbox").fill(how);
    await end(context);
    await page.getByRole("button", { name: "Stop and tell the practice" }).click();
    const form = page.getByRole("form", { name: "Something hurts or feels wrong" });
    // Sent at the end of the form, it is said where it can be seen.
    await expect(form.getByText("You are signed out, so nothing was sent.")).toBeInViewport();
    await expect(form.getByRole("link", { name: "Sign in, in a new tab" })).toBeInViewport();
    await expect(page).toHaveURL(/\/family\/symptom$/);
    await expect(page.getByRole("textbox")).toHaveValue(how);
    await expect(page.getByLabel("Caio")).toBeChecked();
    await expect(page.getByLabel("Dizzy")).toBeChecked();
    await expectSound(parent);
    expect(reports()).toBe(0);

    const [tab] = await Promise.all([context.waitForEvent("page"), form.getByRole("link", { name: "Sign in, in a new tab" }).click()]);
    await tab.getByRole("button", { name: /Luc Pellerin/ }).click();
    await tab.waitForURL(/\/family$/);
    await tab.close();
    await page.getByRole("button", { name: "Stop and tell the practice" }).click();
    await expect.poll(reports).toBe(1);
    await context.close();
  });
}
