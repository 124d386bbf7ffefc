import { expect, test } from "@playwright/test";
import { expectSound, LAPTOP, personAt, PHONE, signIn, someone } from "@/e2e/journey/person";

const PLACE = "/desk/cues?exercise=side-lying";

test("a cue is written without scripts: a typed side is refused and kept, a placeholder is taken", async ({ browser }) => {
  const therapist = await someone(browser, LAPTOP, { javaScriptEnabled: false });
  await signIn(therapist, "Tom Ferrant");
  const { page } = therapist;
  await page.goto("/desk/practice");
  await page.getByRole("link", { name: "Cues of this practice" }).click();
  await page.getByRole("link", { name: "Add a cue: Stool steady" }).click();
  const words = page.getByLabel("Words of the cue");
  await words.fill("Hold the stool with your left hand first.");
  await page.getByRole("button", { name: "Save this cue" }).click();
  await expect(page.getByText("This cue says left or right itself")).toHaveCount(2); // above the form, and beside its words
  await expect(words).toHaveValue("Hold the stool with your left hand first.");
  await words.fill("Hold the stool with the top hand ({top arm side}) first. Then you feel it stand.");
  await page.getByRole("button", { name: "Save this cue" }).click();
  const item = page.getByRole("region", { name: "Stool steady" });
  await expect(item.getByText("Then you feel it stand.")).toBeVisible();
  await expect(words).toHaveCount(0);

  await item.getByRole("link", { name: /^Change: Hold the stool/ }).click();
  await page.getByRole("button", { name: "Retire this cue" }).click();
  await item.getByText("Retired (1)").click();
  await item.getByRole("button", { name: "Return to the list" }).click();
  await expect(item.getByRole("link", { name: /^Change: Hold the stool/ })).toBeVisible();
  await therapist.context.close();
});

test("two who change one cue see both versions, and each family's words while they write", async ({ browser }) => {
  const [lead, therapist] = await Promise.all([personAt(browser, "Ines Calloway", LAPTOP), personAt(browser, "Tom Ferrant", PHONE)]);
  const open = `${PLACE}&cue=stool-press.elbow-high#item-stool-press`;
  for (const { page } of [lead, therapist]) await page.goto(open);
  await expectSound(lead);
  await expectSound(therapist);

  const words = lead.page.getByLabel("Words of the cue");
  await words.fill("Facilitate an appropriate elevation of the contralateral elbow during stabilisation (");
  await lead.page.getByRole("button", { name: "{top arm side}" }).click();
  await words.pressSequentially(").");
  await expect(words).toHaveValue(/\(\{top arm side\}\)\.$/);
  await expect(lead.page.getByText("Simpler? Families read best at grade 6 or below.")).toBeVisible();
  const preview = lead.page.getByRole("region", { name: "How families will read it" });
  await expect(preview.getByText("(RIGHT).")).toHaveCount(2);
  await expect(preview.getByText("(LEFT).")).toHaveCount(2);
  await expectSound(lead);
  await words.fill("Press and keep the top elbow ({top arm side}) high.");
  await expect(lead.page.getByText("Simpler?")).toHaveCount(0);
  await lead.page.getByRole("button", { name: "Save this cue" }).click();
  await expect(words).toHaveCount(0);

  const theirs = therapist.page.getByLabel("Words of the cue");
  await theirs.fill("Press down. The elbow stays high, so that the ribs stay open.");
  await therapist.page.getByRole("button", { name: "Save this cue" }).click();
  await expect(therapist.page.getByText("Theirs: “Press and keep the top elbow ({top arm side}) high.”")).toBeVisible();
  await expect(theirs).toHaveValue("Press down. The elbow stays high, so that the ribs stay open.");
  await expectSound(therapist);
  await therapist.page.getByRole("button", { name: "Save this cue" }).click();
  await expect(theirs).toHaveCount(0);
  await lead.page.goto(PLACE);
  await expect(lead.page.getByRole("region", { name: "Pressing the stool" }).getByText("The elbow stays high, so that the ribs stay open.")).toBeVisible();
  await Promise.all([lead.context.close(), therapist.context.close()]);
});
