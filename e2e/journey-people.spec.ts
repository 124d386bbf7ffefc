import { expect, test, type Locator, type Page } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";
import { addPhoto, checkSide } from "@/e2e/journey/sending";

test.describe.configure({ mode: "serial" });
const { at, baseURL, withDatabase } = ownPractice();

const idOf = (child: string): string => withDatabase((db) => db.prepare("select id from children where given_name = ?").pluck().get(child) as string); // a text column

/** One card for each exercise; a group session has one too. */
const exercisesAt = (page: Page): Locator => page.getByRole("article").filter({ has: page.getByRole("heading", { name: /^Side-lying/ }) });

test("a young person practises with a sign-in of their own, and decides nothing", async ({ browser }) => {
  const ansel = await at(browser, "Ansel Tarnlund", PHONE);
  const { page } = ansel;
  await expect(page).toHaveURL(/\/family$/);
  await expect(exercisesAt(page)).toHaveCount(1);
  await expectSound(ansel);
  await page.getByRole("button", { name: "Done today" }).click();
  await expect(page.getByText("Done today. Thank you.")).toBeVisible();
  await page.goto("/family/account");
  await expect(page.getByRole("link", { name: /consent/i })).toHaveCount(0);
  // Who else looks: by name, with no address or number, and no say in it before they are an adult.
  await expect(page.getByText("Ylva Tarnlund sees your photos, notes and answers, and can send.")).toBeVisible();
  await expect(page.getByText("Rafe Corrin sees your photos, notes and answers, and can send.")).toBeVisible();
  // The practice's own number alone: no carer's, and nobody's address.
  await expect(page.getByRole("main")).not.toContainText(/@|01632 9601(?!00)/);
  await expect(page.getByRole("button", { name: /see/ })).toHaveCount(0);
  await expectSound(ansel);
  expect((await page.goto(`/family/consent/${idOf("Ansel")}`))?.status()).toBe(404);
  await ansel.context.close();
});

test("the writing hand is asked once and helps to find the side on the child, not in the photo", async ({ browser }) => {
  const ylva = await at(browser, "Ylva Tarnlund", PHONE);
  const { page } = ylva;
  await page.goto("/family/send");
  await page.getByRole("main").getByRole("link", { name: /^Ansel:/ }).click();
  const form = page.getByRole("form", { name: "Which hand does Ansel write with?" });
  await form.getByLabel("LEFT").check();
  await expectSound(ylva);
  await form.getByRole("button", { name: "Save" }).click();
  await expect(page.getByText("Ansel writes with the LEFT hand.")).toBeVisible();
  await expect(form).toHaveCount(0);
  // Thoracic left, lumbar right: Ansel lies on the RIGHT, and with the head left and the back seen the LEFT side is down.
  const photo = await addPhoto(page, "Ansel");
  await checkSide(photo, "Ansel", "left");
  const stop = page.getByRole("alertdialog");
  await expect(stop).toContainText("Look at Ansel, not at the photo: that is Ansel's LEFT.");
  await expect(stop).toContainText("Ansel lies on Ansel's RIGHT: the other side. That hand is on top.");
  await expectSound(ylva);
  // The phone turned: its first word can be read, and its last button pressed.
  await page.setViewportSize({ width: 640, height: 320 });
  await stop.evaluate((element) => element.scrollTo(0, 0));
  await expect(stop.getByRole("heading", { level: 2 })).toBeInViewport({ ratio: 1 });
  await stop.evaluate((element) => element.scrollTo(0, element.scrollHeight));
  await expect(stop.getByRole("button").last()).toBeInViewport({ ratio: 1 });
  expect(await stop.getByRole("button").evaluateAll((buttons) => buttons.filter((each) => each.scrollHeight > each.clientHeight).length)).toBe(0);
  await ylva.context.close();
});

test("one of two separated guardians is removed at once; the other keeps everything and never saw how to reach them", async ({ browser }) => {
  const [rafe, ylva, lead] = [await at(browser, "Rafe Corrin", PHONE), await at(browser, "Ylva Tarnlund", PHONE), await at(browser, "Ines Calloway", LAPTOP)];
  for (const path of ["/family", "/family/history", "/family/account", "/family/send"]) {
    await ylva.page.goto(path);
    await expect(ylva.page.locator("body")).not.toContainText(/rafe@|960112/);
  }
  const childId = idOf("Ansel");
  const picture = withDatabase((db) => db.prepare("select id from photos where child_id = ? and removed_at is null order by stored_at limit 1").pluck().get(childId) as string); // a text column
  const media = `/media/${childId}/${picture}/320`;
  expect((await rafe.page.request.get(media)).status()).toBe(200);

  const { page } = lead;
  await page.goto("/desk/families");
  await page.getByRole("link", { name: /Tarnlund/ }).first().click();
  const row = page.getByRole("listitem").filter({ hasText: "rafe@families.example" });
  await expect(row).toContainText("01632 960112");
  await expect(page.getByText("Never promise one of them to keep something here from another.")).toBeVisible();
  await expectSound(lead);
  await row.getByRole("button", { name: "End access of Rafe Corrin to Ansel" }).click();
  await expect(row).toHaveCount(0);

  // His tab, his pictures and what his phone still had to send are refused; his button opens nothing.
  expect((await rafe.page.request.get(media)).status()).toBe(401);
  const sent = await rafe.page.request.post(`/api/photos/${childId}`, { headers: { Origin: baseURL(), "Idempotency-Key": crypto.randomUUID() }, data: "x" });
  expect(sent.status()).toBe(401);
  await rafe.page.goto("/family");
  await expect(rafe.page).toHaveURL(/\/sign-in/);
  await expect(rafe.page.getByRole("button", { name: /Rafe Corrin/ })).toHaveCount(0);
  // Hers is as it was, and she is the last now.
  expect((await ylva.page.request.get(media)).status()).toBe(200);
  await page.getByRole("button", { name: "End access of Ylva Tarnlund to Ansel" }).click();
  await expect(page.getByText("Nobody would be left who decides for this child")).toBeVisible();
  await ylva.page.goto("/family");
  await expect(exercisesAt(ylva.page)).toHaveCount(1);
  await Promise.all([rafe, ylva, lead].map(({ context }) => context.close()));
});

test("staff invite a young person from the practice's age on, and are told why not before it", async ({ browser }) => {
  const lead = await at(browser, "Ines Calloway", LAPTOP);
  const { page } = lead;
  await page.goto("/desk/families");
  await page.getByRole("link", { name: /Vossler/ }).first().click();
  const form = page.getByRole("form", { name: "Invite a parent or carer" });
  await form.getByLabel("Name", { exact: true }).fill("Lena Vossler");
  await form.getByLabel("Email address").fill("lena@families.example");
  await form.getByLabel("Lena").check();
  await form.getByLabel(/young person or adult/).check();
  await form.getByRole("button", { name: "Send the invitation" }).click();
  await expect(page.getByText(/Lena may have a sign-in of their own from .* at 16 years\./)).toBeVisible();
  await page.goto("/desk/practice");
  const settings = page.getByRole("form", { name: "Name, zone and photo interval" });
  await settings.getByLabel("Own sign-in from this age on").fill("13");
  await settings.getByRole("button", { name: "Save" }).click();
  await expect(page.getByText("13 years")).toBeVisible();
  await expectSound(lead);
  await page.goto("/desk/families");
  await page.getByRole("link", { name: /Vossler/ }).first().click();
  // A slip that hits another family's address is stopped.
  await form.getByLabel("Name", { exact: true }).fill("Lena Vossler");
  await form.getByLabel("Email address").fill("ansel@families.example");
  await form.getByLabel("Lena").check();
  await form.getByLabel(/young person or adult/).check();
  await form.getByRole("button", { name: "Send the invitation" }).click();
  await expect(page.getByText("Somebody with this address is known here")).toBeVisible();
  await form.getByLabel("Email address").fill("lena@families.example");
  await form.getByRole("button", { name: "Send the invitation" }).click();
  await expect(page.getByText("Invited, not here yet: Lena Vossler")).toBeVisible();
  await lead.context.close();
});

test("a long name without a break stays on a narrow screen", async ({ browser }) => {
  // 320 CSS pixels: WCAG 2.2, 1.4.10.
  const lead = await at(browser, "Ines Calloway", LAPTOP);
  const { page } = lead;
  await page.setViewportSize({ width: 320, height: 640 });
  withDatabase((db) => db.prepare("update families set name = 'Vosslerquillonfernhavenbrackenwoodt' where name = 'Vossler'").run());
  await page.goto("/desk/families");
  await expectSound(lead);
  await page.getByRole("link", { name: "Vosslerquillonfernhavenbrackenwoodt" }).click();
  await expect(page.getByRole("heading", { level: 1, name: /Vosslerquillonfernhavenbrackenwoodt/ })).toBeVisible();
  await expectSound(lead);
  await lead.context.close();
});
