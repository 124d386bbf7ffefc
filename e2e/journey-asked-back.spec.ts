import { expect, test } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE } from "@/e2e/journey/person";

// On a practice of its own: what is asked here takes a photo set out of the queue of other journeys.
const { at, baseURL } = ownPractice();

const QUESTION = "Is there a second bag under Lena?";
const WORDS = "Yes, two bags. The second one is hidden behind her arm.";

test("a therapist asks the family and waits, the clock stands still, and the family's words bring the set back", async ({ browser }) => {
  const ines = await at(browser, "Ines Calloway");
  const queue = ines.page.getByRole("list", { name: "Photo sets to answer" });
  const waiting = ines.page.getByRole("list", { name: /^Waiting on the family/ });
  // Sent six days ago: late.
  const row = queue.getByRole("listitem").filter({ hasText: "Lena" });
  await expect(row).toContainText("overdue");
  await row.getByRole("link").click();
  await ines.page.getByText("Ask the family and wait", { exact: true }).first().click();
  const form = ines.page.getByRole("form", { name: "Ask the family and wait" });
  // Lena lies on her LEFT: thoracic right, lumbar left.
  await form.getByLabel("One short question about these photos").fill("Does she lie on her right side?");
  await expect(form.getByText("… Does she lie on her right side? …")).toBeVisible();
  await form.getByRole("button", { name: "Ask the family and wait" }).click();
  await expect(form.getByRole("alert").first()).toContainText("does not fit");
  await form.getByLabel("One short question about these photos").fill(QUESTION);
  await expectSound(ines);
  const set = new URL(ines.page.url()).pathname;
  await form.getByRole("button", { name: "Ask the family and wait" }).click();
  await ines.page.waitForURL((url) => url.pathname !== set);
  await ines.page.goto("/desk");
  await expect(row).toHaveCount(0);
  // The demo has asked another family something too.
  const lena = waiting.getByRole("listitem").filter({ hasText: "Lena" });
  await expect(lena).toContainText(QUESTION);
  await expect(lena).toContainText("Its time was up before: overdue once they answer");
  await lena.getByRole("button", { name: "Remind by mail" }).click();
  await expect(lena).toContainText("Everyone who can answer was mailed today.");
  await expectSound(ines);

  const anouk = await at(browser, "Anouk Vossler", PHONE);
  await expect(anouk.page.getByText(`“${QUESTION}”`)).toBeVisible();
  await expectSound(anouk);
  await anouk.page.goto("/family/history");
  await expect(anouk.page.getByText(QUESTION)).toBeVisible();
  await anouk.page.goto("/family");
  await anouk.page.getByRole("link", { name: "Answer the question" }).click();
  await anouk.page.waitForURL(/\/family\/asked\//);
  await expect(anouk.page.getByRole("link", { name: "Something hurts or feels wrong" })).toHaveAttribute("href", "/family/symptom");
  await expectSound(anouk);
  const address = new URL(anouk.page.url()).pathname;

  // Without scripts: too short comes back with what was typed, then it is sent.
  const plain = await browser.newContext({ ...PHONE, baseURL: baseURL(), javaScriptEnabled: false });
  await plain.addCookies(await anouk.context.cookies());
  const still = await plain.newPage();
  await still.goto(address);
  await still.getByLabel("Your answer, in words").fill("a");
  await still.getByRole("button", { name: "Send your answer" }).click();
  await expect(still.getByText("Write 3 to 1000 characters.")).toBeVisible();
  await expect(still.getByLabel("Your answer, in words")).toHaveValue("a");
  await still.getByLabel("Your answer, in words").fill(WORDS);
  await still.getByRole("button", { name: "Send your answer" }).click();
  await expect(still.getByText(WORDS)).toBeVisible();
  await expect(still.getByLabel("Your answer, in words")).toHaveCount(0);
  await plain.close();

  // The page that was open all the while is told so and keeps what was typed.
  await anouk.page.getByLabel("Your answer, in words").fill("One bag.");
  await anouk.page.getByRole("button", { name: "Send your answer" }).click();
  await expect(anouk.page.getByText("Somebody else has answered this question already")).toBeVisible();
  await expect(anouk.page.getByText(WORDS)).toBeVisible();
  await expect(anouk.page.getByLabel("Your answer, in words")).toHaveValue("One bag.");

  await ines.page.goto("/desk");
  await expect(lena).toHaveCount(0);
  await expect(row).toContainText("Anouk Vossler answered the question");
  await expect(row).toContainText("Yes, two bags.");
  await row.getByRole("link").click();
  await ines.page.waitForURL((url) => url.pathname === set);
  await expect(ines.page.getByText(`“${WORDS}”`)).toBeVisible();

  // Asked once more and withdrawn.
  await ines.page.getByText("Ask the family and wait", { exact: true }).first().click();
  await form.getByLabel("One short question about these photos").fill("Which bags are they?");
  await form.getByRole("button", { name: "Ask the family and wait" }).click();
  await ines.page.waitForURL((url) => url.pathname !== set);
  await anouk.page.goto("/family");
  await expect(anouk.page.getByText("“Which bags are they?”")).toBeVisible();
  await ines.page.goto(set);
  await expect(ines.page.getByText(/Waiting on the family since/)).toBeVisible();
  await ines.page.getByRole("button", { name: "Withdraw the question" }).click();
  await expect(ines.page.getByText(/Waiting on the family since/)).toHaveCount(0);
  await expectSound(ines);
  await anouk.page.goto("/family");
  await expect(anouk.page.getByRole("link", { name: "Answer the question" })).toHaveCount(0);
});
