import { expect, test } from "@playwright/test";
import { newestMail } from "@/e2e/journey/mail";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";

// On a practice of its own: who is erased here is missed by other journeys.
const practice = ownPractice();

test("a mother shows that it is her and asks to erase her child; the lead does it, and her other child stays", async ({ browser }) => {
  const mother = await practice.at(browser, "Anouk Vossler", PHONE);
  const { page } = mother;
  await page.goto("/family/account");
  await page.getByRole("link", { name: "Erase photos or everything about Lena" }).click();
  const all = page.getByRole("form", { name: "Everything about Lena" });
  await all.getByLabel("type the first name").fill("Lena");
  await all.getByRole("button", { name: "Ask to erase" }).click();
  await expect(all.getByRole("alert")).toBeVisible();
  await expectSound(mother);

  const proof = await mother.context.newPage();
  await proof.goto("/family/account/proof");
  await proof.getByRole("button", { name: "Send me a code" }).click();
  await expect(proof.getByRole("button", { name: "That is me" })).toBeVisible();
  const mail = await newestMail(page, "anouk@families.example", /\d{4} ?\d{4}/);
  await proof.getByRole("textbox").fill(/\d{4} ?\d{4}/.exec(mail)?.[0] ?? "");
  await proof.getByRole("button", { name: "That is me" }).click();
  await expect(proof.getByRole("status")).toBeVisible();

  await page.goto("/family/account");
  await page.getByRole("link", { name: "Erase photos or everything about Lena" }).click();
  await all.getByLabel("type the first name").fill("Lena");
  await all.getByRole("button", { name: "Ask to erase" }).click();
  await expect(page.getByRole("button", { name: "Do not erase this" })).toBeVisible();
  await expectSound(mother);

  const lead = await practice.at(browser, "Ines Calloway", LAPTOP);
  await lead.page.goto("/desk/erasures");
  const row = lead.page.getByRole("listitem").filter({ hasText: "Everything about Lena" });
  await row.getByRole("link", { name: "Erase it now" }).click();
  await lead.page.getByLabel("Now; nobody can bring it back").check();
  await lead.page.getByLabel("type the first name").fill("Lena");
  await lead.page.getByRole("button", { name: "Erase Lena" }).click();
  await expect(lead.page).toHaveURL(/\/desk\/families$/);
  await expect(lead.page.getByText("Lena")).toHaveCount(0);
  // She cares for another child, whose page is hers as before.
  const gone = new URL(page.url()).pathname;
  expect((await page.goto(gone))?.status()).toBe(404);
  await page.goto("/family");
  await expect(page.getByText("Felix").first()).toBeVisible();
  await expect(page.getByText("Lena")).toHaveCount(0);
});
