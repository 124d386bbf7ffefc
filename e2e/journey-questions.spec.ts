import { expect, test } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE } from "@/e2e/journey/person";

// On a practice of its own: what is asked here would wait in the queue of other journeys.
const { at, baseURL } = ownPractice();

const QUESTION = "Which side does Mira lie on when she uses the blue mat?";

test("a family asks, two therapists reply at once, a wrong side is caught, and the family reads one reply", async ({ browser }) => {
  const adaeze = await at(browser, "Adaeze Okonjo-Lund", PHONE);
  await adaeze.page.getByRole("link", { name: "Ask about the newest answer" }).click();
  await expect(adaeze.page.getByText("Questions are not for emergencies")).toBeVisible();
  await expect(adaeze.page.getByRole("link", { name: "Something hurts or feels wrong" })).toHaveAttribute("href", "/family/symptom");
  await expect(adaeze.page.getByText(/Expect a reply by \w{3} \d\d:(00|15|30|45)\./)).toBeVisible();
  await expectSound(adaeze);
  const address = new URL(adaeze.page.url()).pathname;

  // Without scripts: too short comes back with what was typed, then it is sent.
  const plain = await browser.newContext({ ...PHONE, baseURL: baseURL(), javaScriptEnabled: false });
  await plain.addCookies(await adaeze.context.cookies());
  const still = await plain.newPage();
  await still.goto(address);
  await still.getByLabel("Your question").fill("a");
  await still.getByRole("button", { name: "Send the question" }).click();
  await expect(still.getByText("Write 3 to 1000 characters.")).toBeVisible();
  await expect(still.getByLabel("Your question")).toHaveValue("a");
  await still.getByLabel("Your question").fill(QUESTION);
  await still.getByRole("button", { name: "Send the question" }).click();
  await expect(still.getByText(QUESTION)).toBeVisible();
  await expect(still.getByText(/No reply yet\. Expect a reply by/)).toBeVisible();
  await plain.close();

  const tom = await at(browser, "Tom Ferrant");
  const row = tom.page.getByRole("listitem").filter({ hasText: QUESTION });
  await expect(row).toContainText("Mira");
  await expect(row).toContainText("Question");
  await expectSound(tom);
  await row.getByRole("link").click();
  await expect(tom.page.getByText("Still all in place, lying on the LEFT. Keep going like this.")).toBeVisible();
  const reply = tom.page.getByLabel("Your reply");
  await expectSound(tom);

  // Mira lies on her LEFT: thoracic right, lumbar left.
  await reply.fill("Lie on the right side.");
  await expect(tom.page.getByText("… Lie on the right side. …")).toBeVisible();
  await tom.page.getByRole("button", { name: "Send the reply" }).click();
  await expect(tom.page.getByRole("alert").filter({ hasText: /left|right/i }).first()).toBeVisible();
  await expect(reply).toHaveValue("Lie on the right side.");
  await reply.fill("Lie on the left side, on the mat too.");

  const ines = await at(browser, "Ines Calloway");
  await ines.page.goto(new URL(tom.page.url()).pathname);
  await ines.page.getByLabel("Your reply").fill("The left side, as always.");
  const asked = new URL(ines.page.url()).pathname;
  await ines.page.getByRole("button", { name: "Send the reply" }).click();
  await ines.page.waitForURL((url) => url.pathname !== asked);
  await expect(ines.page).toHaveURL(/\/desk/);

  await tom.page.getByRole("button", { name: "Send the reply" }).click();
  await expect(tom.page.getByText("A colleague has replied already")).toBeVisible();
  await expect(tom.page.getByText("The left side, as always.")).toBeVisible();
  await expect(reply).toHaveValue("Lie on the left side, on the mat too.");

  await adaeze.page.goto("/family");
  await adaeze.page.getByRole("link", { name: "Questions and replies (1)" }).click();
  await expect(adaeze.page.getByText("The left side, as always.")).toBeVisible();
  await expect(adaeze.page.getByText("on the mat too")).toHaveCount(0);
  await expectSound(adaeze);
  await adaeze.page.goto("/family/history");
  await expect(adaeze.page.getByText("The left side, as always.")).toBeVisible();
  await expectSound(adaeze);
});
