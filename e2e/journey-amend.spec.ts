import { expect, test, type Page } from "@playwright/test";
import { choose, judge, send, summaryOf, writeSummary } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE } from "@/e2e/journey/person";

const { at, letAnswersOut } = ownPractice();

/** What the form would send besides words and verdicts, by field. */
async function carried(page: Page): Promise<readonly (readonly [string, unknown])[]> {
  const fields = await page.locator("input[name^='marks.'], input[name^='pair.'], input[name='voice'], input[name^='cue.']:checked")
    .evaluateAll((all) => all.flatMap((field) => (field instanceof HTMLInputElement && field.value !== "" ? [[field.name, field.value] as const] : [])));
  return fields.map(([name, value]): readonly [string, unknown] => [name, name.startsWith("marks.") ? JSON.parse(value) : value]).sort(([one], [other]) => one.localeCompare(other));
}

test("an answer that is changed keeps its marks, its pair, its spoken note and its cue, and a stop in it comes at once", async ({ browser }) => {
  test.slow();
  const therapist = await at(browser, "Tom Ferrant");
  const { page } = therapist;
  await page.goto("/desk");
  await page.getByRole("main").getByRole("link", { name: /Lena/ }).first().click();
  await page.waitForURL(/\/sets\//);
  await expect(page.locator("[data-keys-ready]")).toBeAttached();
  const desk = page.url();
  await judge(page, { "bottom-arm-long": "fix" });
  await page.locator("input[name='cue.bottom-arm-long']").first().evaluate((field: HTMLInputElement) => field.click());
  await page.getByRole("button", { name: /^Arrow/ }).focus();
  await page.keyboard.press("a");
  await page.keyboard.press("a");
  await page.locator("summary", { hasText: "Then and now" }).click();
  await page.getByRole("button", { name: "Attach this pair to the answer" }).click();
  await page.getByRole("button", { name: /Record a spoken note/ }).click();
  await expect(page.getByText(/ of 3:00\. /)).toBeVisible();
  await page.waitForTimeout(1500);
  await page.getByRole("button", { name: /^Finish/ }).click();
  await expect(page.getByText(/goes with the answer\./).first()).toBeVisible({ timeout: 20_000 });
  await writeSummary(page, "Lena lies on the LEFT side. Her bottom arm has to be long.");
  const before = await carried(page);
  expect(before.map(([name]) => name.split(".")[0])).toEqual(["cue", "marks", "pair", "voice"]);
  // From within another form the sending key sends no answer.
  await page.locator("summary", { hasText: "Take it again" }).click();
  const sendings: string[] = [];
  page.on("request", (request) => request.method() === "POST" && sendings.push(request.url()));
  await page.getByLabel("Why, in words the family understands").press("Control+Enter");
  await page.waitForTimeout(1000);
  expect(sendings).toEqual([]);
  await send(page);
  await page.waitForURL((url) => url.href !== desk);

  // Once it is out, it is shown as it was sent, and changed from there: by the link, as people do.
  letAnswersOut();
  await page.goto(desk);
  await expect(page.getByRole("link", { name: "Change this answer" })).toHaveCount(1);
  await expect(page.getByText(/^Then and now: .+ and .+$/)).toBeVisible();
  await expect(page.getByText("Spoken note, 0:0").first()).toBeVisible();
  await expectSound(therapist);
  await page.getByRole("link", { name: "Change this answer" }).click();
  await page.waitForURL(/amend=yes/);
  await expect(summaryOf(page)).toHaveValue("Lena lies on the LEFT side. Her bottom arm has to be long.");
  expect(await carried(page)).toEqual(before);
  await expectSound(therapist);

  await judge(page, { "prop-low-back": "fix", "bottom-arm-long": "fix" });
  await summaryOf(page).fill("Stop. Lena lies on the LEFT side, but the bags lie too high.");
  await page.getByRole("textbox", { name: /Why it is changed/ }).fill("The bags lie too high.");
  // A stop that goes on is refused, and the words stay; with another next step it goes.
  await page.getByRole("button", { name: "Send the changed answer" }).click();
  await expect(page.getByText("An answer that stops the exercise cannot say to go on with it.", { exact: false }).first()).toBeVisible();
  await expect(summaryOf(page)).toHaveValue("Stop. Lena lies on the LEFT side, but the bags lie too high.");
  await choose(page, "nextStep", "new-photo");
  await page.getByRole("button", { name: "Send the changed answer" }).click();
  await page.waitForURL((url) => !url.href.includes("amend=yes"));

  const parent = await at(browser, "Anouk Vossler", PHONE);
  await parent.page.goto("/family");
  await expect(parent.page.getByText("Where does the prop go for Lena?")).toBeVisible();
  await parent.page.goto("/family/history");
  const card = parent.page.getByRole("article").filter({ hasText: "The bags lie too high." });
  await expect(card.getByText("Then and now", { exact: true }).first()).toBeVisible();
  await expect(card.getByText("What it said before")).toBeVisible();
  await expect(card.getByText(/Spoken note, 0:0/).first()).toBeVisible();
  await expectSound(parent);
  await Promise.all([therapist.context.close(), parent.context.close()]);
});
