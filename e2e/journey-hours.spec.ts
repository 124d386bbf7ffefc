import { expect, test } from "@playwright/test";
import { expectSound, LAPTOP, PHONE, personAt, someone, signIn } from "@/e2e/journey/person";

/** Far enough ahead that nothing of the demo is due by it. */
const DAY = new Date(Date.now() + 60 * 86_400_000).toISOString().slice(0, 10);

test("the lead plans an extra opening without scripts, and takes it out again on a phone; wrong times save nothing", async ({ browser }) => {
  const still = await someone(browser, LAPTOP, { javaScriptEnabled: false });
  await signIn(still, "Ines Calloway");
  await still.page.goto("/desk/practice");
  await expect(still.page.getByText(/^.*Zone data 20\d\d[a-z]$/)).toBeVisible();
  const form = still.page.getByRole("form", { name: "Add an extra opening" });
  await form.getByLabel("Day open").fill(DAY);
  await form.getByLabel("From and to").fill("9:00-12:00, 11:00-13:00");
  await form.getByRole("button", { name: "Add an extra opening" }).click();
  await expect(form.getByText("These times cannot be read, or overlap.")).toBeVisible();
  await expect(form.getByLabel("From and to")).toHaveValue("9:00-12:00, 11:00-13:00");
  await form.getByLabel("From and to").fill("9:00-12:00, 22:00-01:00");
  await form.getByRole("button", { name: "Add an extra opening" }).click();
  await expect(still.page.getByRole("listitem").filter({ hasText: "09:00-12:00, 22:00-01:00" })).toBeVisible();
  await still.context.close();

  const lead = await personAt(browser, "Ines Calloway", PHONE);
  await lead.page.goto("/desk/practice");
  await expectSound(lead);
  const hours = lead.page.getByRole("form", { name: "Working hours" });
  await hours.getByLabel("Call after a symptom flag").fill("20");
  await hours.getByRole("button", { name: "Save" }).click();
  await expect(hours.getByText("A symptom flag would wait longer than a photo set. Nothing was saved.")).toBeVisible();
  const takeOut = lead.page.getByRole("button", { name: /^Take out .*09:00-12:00, 22:00-01:00$/ });
  await takeOut.focus();
  await lead.page.keyboard.press("Enter");
  await expect(takeOut).toHaveCount(0);
  await lead.context.close();
});
