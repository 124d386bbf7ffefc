import { expect, test } from "@playwright/test";
import { expectSound, LAPTOP, personAt, PHONE, someone } from "@/e2e/journey/person";
import { addPhoto, checkSide } from "@/e2e/journey/sending";

test("a photo that looks like the wrong side stops the parent before it is sent", async ({ browser }) => {
  const parent = await personAt(browser, "Sanna Brandvik", PHONE);
  const { page } = parent;
  const photo = await addPhoto(page, "Jonas");
  // Back to the camera, head on the left: the left side is down, and Jonas lies on his right.
  await checkSide(photo, "Jonas", "left");
  await expect(page.getByRole("alertdialog")).toContainText("Stop. Get up.");
  await expect(page.getByRole("alertdialog")).toContainText("The set-up says: RIGHT side down.");
  await expect(page.getByRole("alertdialog")).toContainText("It must be the LEFT hand.");
  await expectSound(parent);
  // Escape is no way past it, and behind it nothing can be sent.
  await page.keyboard.press("Escape");
  await expect(page.getByRole("alertdialog")).toBeVisible();
  await expect(page.locator("button", { hasText: /^Next$/ })).toBeDisabled();
  await page.goto("/family/history");
  await expect(page.getByText(/Expect an answer by/)).toHaveCount(0);
  await parent.context.close();
});

test("an urgent symptom shows the emergency sentence and comes first for the practice", async ({ browser }) => {
  const parent = await personAt(browser, "Luc Pellerin", PHONE);
  const { page } = parent;
  await page.getByRole("link", { name: "Something hurts or feels wrong" }).first().click();
  await page.waitForURL(/\/family\/symptom/);
  await expectSound(parent);
  const child = page.getByLabel("Caio");
  if (await child.count() > 0) await child.first().check();
  await page.getByLabel("A leg is weak, numb or tingles").check();
  await page.getByRole("button", { name: "Stop and tell the practice" }).click();
  await expect(page).toHaveURL(/\/family$/);
  await expect(page.getByText(/Get medical help now: call your local emergency number or your doctor\. Do not wait for us/)).toBeVisible();
  await expectSound(parent);

  const therapist = await personAt(browser, "Tom Ferrant", LAPTOP);
  await therapist.page.goto("/desk");
  const main = therapist.page.getByRole("main");
  await expect(main).toContainText("01632 960109");
  const words = await main.innerText();
  // Waiting photo sets come after every open symptom.
  expect(words.indexOf("Caio")).toBeGreaterThanOrEqual(0);
  expect(words.indexOf("Caio")).toBeLessThan(words.indexOf("Felix"));
  await expectSound(therapist);
  await Promise.all([parent.context.close(), therapist.context.close()]);
});

test("the family's first page reads with JavaScript off", async ({ browser }) => {
  const parent = await personAt(browser, "Ritu Halvard", PHONE);
  const { page } = await someone(browser, PHONE, { javaScriptEnabled: false });
  await page.context().addCookies(await parent.context.cookies());
  await page.goto("/family");
  await expect(page.getByText("Stop: Priya")).toBeVisible();
  await expect(page.getByText("Which side will Priya lie on?").or(page.getByText("Where does the prop go for Priya?")).first()).toBeVisible();
  await expect(page.getByText(/LEFT/).first()).toBeVisible();
  await expect(page.getByText("Not like this")).toBeVisible();
  await page.goto("/family/history");
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await page.goto("/family/send");
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await Promise.all([parent.context.close(), page.context().close()]);
});

test("a child whose back the exercise does not fit sees no set-up", async ({ browser }) => {
  const parent = await personAt(browser, "Colm Teagle", PHONE);
  await expect(parent.page.getByText("This exercise is not right for Oscar's back. Do not do it.")).toBeVisible();
  await expect(parent.page.getByText("Ines Calloway will tell you what to do.")).toBeVisible();
  await expect(parent.page.getByText(/\bLEFT\b|\bRIGHT\b/)).toHaveCount(0);
  await expect(parent.page.locator("main svg title")).toHaveCount(0);
  await expectSound(parent);
  await parent.context.close();
});
