import { expect, test, type Page } from "@playwright/test";
import { expectSound, LAPTOP, personAt, PHONE } from "@/e2e/journey/person";

const choose = (page: Page, name: string, value: string) => page.locator(`input[name="${name}"][value="${value}"]`).check();

test("from a curve record to a set-up the family sees", async ({ browser }) => {
  const parent = await personAt(browser, "Elin Marsh-Odell", PHONE);
  await expect(parent.page.getByText("No set-up is shown until the therapist has confirmed it. Do not guess.")).toBeVisible();

  const therapist = await personAt(browser, "Ines Calloway", LAPTOP);
  const { page } = therapist;
  await page.goto("/desk/families?find=Tove");
  await page.getByRole("main").getByRole("link", { name: "Tove" }).first().click();
  await page.waitForURL(/\/desk\/children\//);
  await expectSound(therapist);
  await page.getByRole("link", { name: "Enter a new curve record" }).click();
  await page.getByLabel("A radiograph (X-ray film)").check();
  await page.getByLabel("From behind: the child's left is on the picture's left").check();
  await page.getByLabel("Assessed on").fill(new Date().toISOString().slice(0, 10));
  await choose(page, "proximal-thoracic-is", "none");
  await choose(page, "thoracic-is", "right");
  await choose(page, "thoracolumbar-is", "none");
  await choose(page, "lumbar-is", "left");
  await page.locator("input[name=thoracic-apex]").fill("T8");
  await page.locator("input[name=thoracic-cobb]").fill("28");
  await page.locator("input[name=lumbar-apex]").fill("L2");
  await page.locator("input[name=lumbar-cobb]").fill("22");
  await choose(page, "ribs", "right");
  await choose(page, "lowBack", "left");
  await page.getByRole("button", { name: "Next: read the sides back" }).click();
  await expect(page.getByText("Step 2 of 3: read back each side")).toBeVisible();
  await expectSound(therapist);

  // A side read back wrongly is refused and nothing is saved.
  await choose(page, "thoracic-again", "left");
  await choose(page, "lumbar-again", "left");
  const save = page.getByRole("button", { name: "Save the curve record" });
  // The page said "Nothing was saved" before too: what counts is this answer, which sets the fields as they were sent.
  const answered = page.waitForResponse((answer) => answer.request().method() === "POST");
  await save.click();
  await answered;
  await expect(save).toBeVisible();
  await expect(page.getByRole("alert").first()).toContainText("Nothing was saved");
  await choose(page, "thoracic-again", "right");
  await choose(page, "lumbar-again", "left");
  await save.click();
  await expect(page).toHaveURL(/\/desk\/children\/[0-9a-f-]+(?:\/setup)?$/);

  await page.goto(page.url().replace(/\/setup$/, "").concat("/setup"));
  await expect(page.getByText("thoracic right, lumbar left").first()).toBeVisible();
  await expectSound(therapist);
  await page.getByLabel(/apex spot/i).fill("two fingers above the hip bone");
  await choose(page, "lieOn", "left");
  await page.getByRole("button", { name: "Confirm this set-up for this child" }).click();
  await expect(page).toHaveURL(/\/desk\/children\/[0-9a-f-]+/);
  await page.goto(page.url().replace(/\/setup$/, ""));
  await page.getByRole("button", { name: "Open this phase" }).first().click();
  await expect(page.getByText("Photo first").first()).toBeVisible();
  await expectSound(therapist);

  await parent.page.goto("/family");
  await expect(parent.page.getByText("Photo first").first()).toBeVisible();
  await expect(parent.page.getByText(/LEFT/).first()).toBeVisible();
  await expect(parent.page.getByText(/two fingers above the hip bone/)).toBeVisible();
  await expectSound(parent);
  await Promise.all([parent.context.close(), therapist.context.close()]);
});
