import { expect, test, type Page } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE, someone } from "@/e2e/journey/person";

// On a practice of its own: the language stays with the person, and other journeys read in English.
const { at, baseURL } = ownPractice();

/** The side that each exercise of a page begins with, in the order of the page. */
const sidesAt = async (page: Page, side: RegExp): Promise<readonly string[]> =>
  (await page.getByText(side).allInnerTexts()).map((said) => side.exec(said)?.[1] ?? "");

test("a family chooses Spanish before it is known, reads every page of its side in it with the same sides, and goes back", async ({ browser }) => {
  const parent = await someone(browser, PHONE, { baseURL: baseURL() });
  const { page } = parent;
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Español" }).click();
  await expect(page.getByRole("heading", { name: "Entrar" })).toBeVisible();
  await expect(page.locator("html")).toHaveAttribute("lang", "es");
  await expectSound(parent);
  await page.getByRole("button", { name: /Anouk Vossler/ }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Antes de empezar" })).toBeVisible();
  const theirs = await sidesAt(page, /^Tumbarse sobre el lado (DERECHO|IZQUIERDO)\.$/);
  expect(theirs).toHaveLength(2);
  for (const path of ["/family", "/family/send", "/family/symptom", "/family/history", "/family/account", "/family/account/mail"]) {
    await page.goto(path);
    await expect(page.locator("html")).toHaveAttribute("lang", "es");
    await expect(page.getByRole("link", { name: "Historial", exact: true })).toBeVisible();
    await expectSound(parent);
  }

  await page.goto("/family/account");
  await page.getByRole("button", { name: "English" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "You" })).toBeVisible();
  await page.goto("/family");
  const ours = await sidesAt(page, /^Lie on the (RIGHT|LEFT) side\.$/);
  expect(theirs).toEqual(ours.map((side) => (side === "RIGHT" ? "DERECHO" : "IZQUIERDO")));
  await parent.context.close();
});

test("a therapist's translation is what the family reads; one that loses a side is refused", async ({ browser }) => {
  const tom = await at(browser, "Tom Ferrant", LAPTOP);
  const { page } = tom;
  await page.goto("/desk/exercises/side-lying");
  await page.getByRole("link", { name: "In other languages" }).click();
  await page.getByRole("link", { name: "Change the translation of: Stop. Turn over" }).click();
  await page.getByLabel("Español").fill("Pare y dese la vuelta.");
  await page.getByRole("button", { name: "Save the translation" }).click();
  await expect(page.getByRole("alert").filter({ hasText: "Nothing was saved. Use each of them as often as the English does." })).toBeVisible();
  await expect(page.getByLabel("Español")).toHaveValue("Pare y dese la vuelta.");
  await expectSound(tom);

  await page.getByRole("link", { name: "Change the translation of: Side-lying over a small prop" }).click();
  await expect(page.getByLabel("Español")).toHaveValue("De lado sobre un apoyo pequeño, con el brazo de arriba en alto");
  await page.getByLabel("Español").fill("De costado sobre un apoyo");
  await page.getByRole("button", { name: "Save the translation" }).click();
  await expect(page.getByLabel("Español")).toHaveCount(0);
  await expect(page.getByText("De costado sobre un apoyo")).toBeVisible();
  await tom.context.close();

  const parent = await at(browser, "Bea Quillon", PHONE);
  await parent.page.goto("/family/account");
  await parent.page.getByRole("button", { name: "Español" }).click();
  await expect(parent.page.getByRole("heading", { level: 1, name: "Usted" })).toBeVisible();
  await parent.page.goto("/family");
  await expect(parent.page.getByRole("heading", { name: "De costado sobre un apoyo, para Rowan" })).toBeVisible();
  await parent.context.close();
});
