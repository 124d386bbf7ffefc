import { expect, test } from "@playwright/test";
import { expectSound, LAPTOP, PHONE, personAt } from "@/e2e/journey/person";

// It looks and changes nothing, so it walks the demo that all journeys share.
test("a therapist finds who is stuck on one item, and reads why on the child's own page", async ({ browser }) => {
  const tom = await personAt(browser, "Tom Ferrant", LAPTOP);
  const { page } = tom;
  await page.getByRole("navigation", { name: "Trueside" }).getByRole("link", { name: "Caseload" }).click();
  await page.getByRole("link", { name: /^Stuck on an item/ }).click();
  await expect(page).toHaveURL(/show=stuck$/);
  const jonas = page.getByRole("listitem").filter({ hasText: "Family Brandvik" });
  await expect(jonas).toContainText("Bottom arm long, palm down: needed changing in the last 3 photo sets");
  await page.getByLabel("Weeks without a photo set").fill("52");
  await page.getByRole("button", { name: "Find" }).click();
  await expect(page).toHaveURL(/show=stuck&weeks=52$/);
  await page.reload();
  await expect(page.getByRole("link", { name: /^Stuck on an item/ })).toHaveAttribute("aria-current", "true");
  await jonas.getByRole("link", { name: "Progress: Jonas" }).click();

  await expect(page.getByRole("heading", { level: 1, name: "Jonas: progress" })).toBeVisible();
  await expect(page.getByRole("list", { name: "Working on" }).getByRole("listitem").filter({ hasText: "Bottom arm long" })).toContainText("time to look");
  const row = page.getByRole("table", { name: /^Every verdict/ }).getByRole("row", { name: /^Bottom arm long/ });
  await expect(row.getByRole("cell")).toHaveText(["Fix this", "Fix this", "Fix this", "Working on"]);
  await expectSound(tom);
  // On paper the table does not scroll, and nothing of the last column is cut off.
  await page.setViewportSize({ width: 680, height: 960 });
  await page.emulateMedia({ media: "print" });
  const table = page.getByRole("table", { name: /^Every verdict/ });
  expect(await table.evaluate((each) => each.getBoundingClientRect().right <= document.documentElement.clientWidth)).toBe(true);
  await page.emulateMedia({ media: "screen" });
  await page.getByRole("link", { name: /\b20\d\d$/ }).first().click();
  await expect(page).toHaveURL(/\/sets\//);
});

test("a ledger that is wider than the screen begins with how it stands now and the newest date", async ({ browser }) => {
  const adaeze = await personAt(browser, "Adaeze", PHONE);
  const { page } = adaeze;
  await page.goto("/family/history");
  const table = page.getByRole("table", { name: "Every item over time" });
  const place = (name: string | RegExp) => table.getByRole("columnheader", { name }).last().evaluate((cell) => {
    const [box, around] = [cell.getBoundingClientRect(), cell.closest("section")?.getBoundingClientRect()];
    return { isSeen: around !== undefined && box.left >= around.left - 1 && box.right <= around.right + 1, isCut: cell.closest("section")?.scrollWidth !== cell.closest("section")?.clientWidth };
  });
  // Four dates in the demo.
  await expect(table.getByRole("columnheader")).toHaveCount(6);
  expect(await place("Now")).toEqual({ isSeen: true, isCut: true });
  expect(await place(/\b20\d\d$/)).toEqual({ isSeen: true, isCut: true });
  expect(await place("Item")).toEqual({ isSeen: true, isCut: true });
  await expectSound(adaeze);
  await adaeze.context.close();
});

test("the caseload is chosen from on a phone without scripts", async ({ browser }) => {
  const tom = await personAt(browser, "Tom Ferrant", PHONE);
  const plain = await browser.newContext({ ...PHONE, javaScriptEnabled: false });
  await plain.addCookies(await tom.context.cookies());
  const page = await plain.newPage();
  await page.goto("/desk/caseload");
  await page.getByRole("link", { name: /^Every child/ }).click();
  await page.getByRole("link", { name: "By name" }).click();
  await page.getByLabel("Weeks without a photo set").fill("1");
  await page.getByRole("button", { name: "Find" }).click();
  await expect(page).toHaveURL(/show=everyone&order=name&weeks=1$/);
  await expect(page.getByRole("list", { name: "Children" }).getByRole("listitem").first()).toContainText("Ansel");
  await plain.close();
});
