import { expect, test } from "@playwright/test";
import { choose, judge, send } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE, someone } from "@/e2e/journey/person";
import { expectFocus, expectHeard, press, tabTo } from "@/e2e/journey/reading";
import { PHONE_PHOTO } from "@/e2e/journey/sending";

// What has to be heard, and in which order, is written here by hand: the verdict before the exercise, a caution before
// what it is about, the child's own side in words. Common practice, no source; roles and names after WAI-ARIA 1.2.
const { at, baseURL, withDatabase } = ownPractice();

// One long way: a busy machine needs longer for it than for others.
test.describe.configure({ timeout: 300_000 });

test("a parent who hears the page and has only a keyboard goes the whole way", async ({ browser }) => {
  const parent = await someone(browser, PHONE, { baseURL: baseURL() });
  const { page } = parent;
  const { keyboard } = page;
  const button = (name: string | RegExp) => page.getByRole("button", { name });
  const link = (name: string | RegExp) => page.getByRole("main").getByRole("link", { name });
  const place = (name: string) => page.getByRole("navigation").getByRole("link", { name, exact: true });

  await page.goto("/sign-in");
  await expectHeard(page, ["link \"Skip to the page\"", "banner", "main", "heading \"Choose who you want to be\" [level=1]", "button \"Sanna Brandvik", "heading \"Sign in\" [level=2]", "paragraph: Trueside is for feedback"]);
  await press(page, button(/Sanna Brandvik/));

  // The first page: what may be done today, then why, then the side, and only then how.
  await expect(page).toHaveTitle("Before you start · Trueside");
  await expectFocus(page, /^heading "Before you start"/);
  await expectHeard(page, [
    "navigation", "main", "heading \"Before you start\" [level=1]",
    "article \"Side-lying over a small prop, top arm up, for Jonas\"", "heading \"Side-lying over a small prop, top arm up, for Jonas\" [level=2]",
    "paragraph: Go, and fix these", /^paragraph: "?Bottom arm long, palm down: fix this\. .+, Tom Ferrant/,
    "paragraph: Lie on the RIGHT side.", "strong: Two small soft bags under the low back on the RIGHT side",
    /^img "The set-up seen from behind Jonas lies on the RIGHT side/, /^listitem: "Bottom arm \(RIGHT\)/, /^listitem: "Top arm \(LEFT\)/,
    "heading \"Fix these first\" [level=3]", "figure \"Not like this\"", /^img "The photo from .+ It shows what to fix/,
    "link \"Something hurts or feels wrong\"", "link \"Send a photo\"", "button \"Done today\"", "paragraph: Trueside is for feedback",
  ]);
  await press(page, button("Done today"));
  await expectFocus(page, /^status: .*Done today\. Thank you\.|^status/);
  await expect(page.locator(":focus")).toHaveText("Done today. Thank you.");

  // The photo. Nothing is sent before the last look, and the caution of a step is heard before its buttons.
  await press(page, link("Send a photo"));
  await expect(page).toHaveTitle("Send a photo · Trueside");
  await expectFocus(page, /^heading "Jonas: Side-lying/);
  await expectHeard(page, [
    "heading \"Jonas: Side-lying over a small prop, top arm up\" [level=1]", "paragraph: Go, and fix these", "paragraph: Lie on the RIGHT side.",
    "heading \"How to take it\" [level=2]", "region \"Add 1 to 4 photos\"", "paragraph: Step 1 of 3", "heading \"Add 1 to 4 photos\" [level=2]",
    "combobox \"Seen from\"", "button \"Take a photo\"", "button \"Choose a photo\"", "button \"Next\" [disabled]",
  ]);
  const chooser = page.waitForEvent("filechooser");
  await press(page, page.getByLabel("Choose a photo"));
  await (await chooser).setFiles(PHONE_PHOTO);
  await expectFocus(page, /^region "Your photo, not sent yet"/);
  await expectHeard(page, ["region \"Your photo, not sent yet\"", "paragraph: Take it again?", "paragraph: The photo is blurred.", "img \"Your photo, not sent yet\"", "paragraph: \"You can cover a part", "button \"Cover a part\"", "button \"Use this photo\""]);
  await press(page, button("Use this photo"));
  const photo = page.getByRole("region", { name: "Photo 1" });
  await expectFocus(page, /^region "Photo 1"/);
  await expectHeard(page, ["region \"Photo 1\"", "paragraph: Turn the picture until the floor is at the bottom.", "button \"Turn clockwise\"", "button \"The floor is at the bottom\""]);
  const picture = photo.locator("img").first();
  const before = await picture.getAttribute("src");
  await press(page, photo.getByRole("button", { name: "Turn clockwise" }));
  await expect(picture).not.toHaveAttribute("src", before ?? "");
  await expectFocus(page, /^button "Turn clockwise"/);
  await press(page, photo.getByRole("button", { name: "The floor is at the bottom" }));
  await expectFocus(page, /^paragraph: Tap the head in the picture\. Or use the arrow keys, or a button below\./);
  await expectHeard(page, ["paragraph: Tap the head", "button \"Tap the head", "button \"The head is on the left of the picture\"", "button \"The head is on the right of the picture\"", "group \"What faces the camera?\"", "button \"The back of Jonas\""]);
  await press(page, photo.getByRole("button", { name: "The head is on the left" }));
  await expectHeard(page, ["button \"The head is on the left of the picture\" [pressed]", "paragraph: The head is marked."]);
  await press(page, photo.getByRole("button", { name: "The back of Jonas" }));

  // The wrong side, by those taps: the whole of the stop is said with its name, and Escape is no way past it.
  const stop = page.getByRole("alertdialog");
  await expect(stop).toHaveAccessibleName("Stop. Get up.");
  await expect(stop).toHaveAccessibleDescription(/Jonas looks to lie on the wrong side\. The set-up says: RIGHT side down\. .*It must be the LEFT hand\./);
  await expectFocus(page, /^button "Take a new photo"/);
  await keyboard.press("Escape");
  await expect(stop).toBeVisible();
  await press(page, stop.getByRole("button", { name: "I tapped the wrong spot" }));
  await expectFocus(page, /^region "Photo 1"/);
  await press(page, photo.getByRole("button", { name: "The head is on the right" }));
  await press(page, photo.getByRole("button", { name: "The back of Jonas" }));
  await expectHeard(page, ["region \"Photo 1\"", /This looks as it should\. It is not proof/, "group \"When was this photo taken?\"", "button \"Just now\"", "button \"Next\""]);
  await press(page, button("Just now"));
  await press(page, button("Next"));
  await expectFocus(page, /^region "How does Jonas feel\?"/);
  await expectHeard(page, ["region \"How does Jonas feel?\"", "paragraph: Step 2 of 3", "group \"Is any of this new?\"", "checkbox \"A leg is weak, numb or tingles\"", "group \"Or one of these?\"", "textbox \"A note for the therapist", "button \"Next\" [disabled]"]);
  // Ticked by mistake: the emergency is announced at once, and gone when it is unticked.
  const leg = page.getByRole("checkbox", { name: "A leg is weak" });
  await press(page, leg, "Space");
  await expect(page.getByRole("alert").filter({ hasText: "Get medical help now" })).toContainText("Jonas does no exercises");
  await keyboard.press("Space");
  for (const none of await page.getByRole("checkbox", { name: "None of these" }).all()) await press(page, none, "Space");
  await press(page, button("Next"));
  await expectFocus(page, /^region "Last look"/);
  await expectHeard(page, ["region \"Last look\"", "paragraph: Step 3 of 3", "strong: This is Jonas. Jonas lies on Jonas's RIGHT.", "button \"Back\"", "button \"Yes, send it\""]);
  await expect(button("Yes, send it")).toHaveAccessibleDescription("This is Jonas. Jonas lies on Jonas's RIGHT.");
  await press(page, button("Yes, send it"));
  await page.waitForURL(/\/family\/history/);
  await expect(page).toHaveTitle("History · Trueside");
  await expectHeard(page, ["heading \"History\" [level=1]", "heading \"Jonas: Side-lying", "paragraph: Go, and fix these", /^article "Sent .+ by Sanna Brandvik"/, "img \"Your photo: from behind\"", /^paragraph: "?Expect an answer by/]);

  const therapist = await at(browser, "Tom Ferrant", LAPTOP);
  await therapist.page.goto("/desk");
  await therapist.page.locator("main a[href*=\"/sets/\"]", { hasText: "Jonas" }).first().click();
  await therapist.page.waitForURL(/\/sets\//);
  await judge(therapist.page, { "prop-low-back": "fix" });
  await choose(therapist.page, "cue.prop-low-back", await therapist.page.locator("input[name=\"cue.prop-low-back\"][data-cue-index=\"1\"]").inputValue());
  await expect(therapist.page.locator("textarea[name=\"summary\"]")).toHaveValue(/Stop until this is corrected/);
  const desk = therapist.page.url();
  await send(therapist.page);
  await therapist.page.waitForURL((url) => url.href !== desk);
  await therapist.context.close();

  // The stop comes before all else of the page, and the focus with it.
  await press(page, place("Before you start"));
  await expect(page).toHaveTitle("Before you start · Trueside");
  await expectFocus(page, /^alert/);
  await expect(page.locator(":focus")).toContainText(/Stop: Jonas.*Prop under the low back.*this is not right in the photo\. Do not do the exercise\..*Tom Ferrant/);
  await expectHeard(page, [
    "main", "alert", "paragraph: \"Stop: Jonas\"", "form \"Where does the prop go for Jonas?\"", "group \"Where does the prop go for Jonas?\"", "radio \"Under the low back", "button \"Answer\"",
    "heading \"Before you start\" [level=1]", "article \"Side-lying", "paragraph: Stop", "paragraph: Lie on the RIGHT side.", "link \"Something hurts or feels wrong\"",
  ]);
  await expect(button("Done today")).toHaveCount(0);
  await expectSound(parent);

  await tabTo(page, page.getByRole("radio").first());
  await keyboard.press("ArrowDown");
  while (!(await page.getByRole("radio", { name: "Under the hip bone" }).isChecked())) await keyboard.press("ArrowDown");
  await press(page, button("Answer"));
  await expect(page.getByRole("alert").filter({ hasText: "That was not right. Read the stop again" })).toContainText("on the RIGHT side");
  await expectFocus(page, /^(?:alert|button "Answer")/);
  await tabTo(page, page.getByRole("radio").first());
  while (!(await page.getByRole("radio", { name: "Under the low back" }).isChecked())) await keyboard.press("ArrowDown");
  await press(page, button("Answer"));
  // Understood is not lifted: what is heard next is the stop.
  await expect(page.getByRole("radio")).toHaveCount(0);
  await expectFocus(page, /^alert/);
  await expect(page.locator(":focus")).toContainText("Stop: Jonas");

  await press(page, place("History"));
  await expectFocus(page, /^heading "History"/);
  await expectHeard(page, [
    "heading \"History\" [level=1]", "heading \"Jonas: Side-lying", "paragraph: Stop", /^article "Sent .+ by Sanna Brandvik"/, /^img "Your photo/,
    /^paragraph: "?Answered .+ by Tom Ferrant/, /Stop until this is corrected/, /Prop under the low back.*Fix this/,
  ]);

  await press(page, place("Before you start"));
  await press(page, link("Ask about the newest answer"));
  await expect(page).toHaveTitle("Ask about this answer · Trueside");
  await expectFocus(page, /^heading "Ask about the answer for Jonas"/);
  await expectHeard(page, [
    "heading \"Ask about the answer for Jonas\" [level=1]", /^heading "The answer of/, "heading \"Questions and replies\" [level=2]",
    /Questions are not for emergencies/, "link \"Something hurts or feels wrong\"", "form \"Ask about this answer\"", "textbox \"Your question\"", /^paragraph: "?Expect a reply by/, "button \"Send the question\"",
  ]);
  await tabTo(page, page.getByLabel("Your question"));
  await keyboard.type("a");
  await press(page, button("Send the question"));
  await expect(page.getByRole("alert").filter({ hasText: "Write 3 to 1000 characters." })).toBeVisible();
  await expect(page.getByLabel("Your question")).toHaveValue("a");
  await expectFocus(page, /^(?:alert|button "Send the question")/);
  await tabTo(page, page.getByLabel("Your question"));
  await keyboard.press("End");
  await keyboard.type("re the bags to be this small?");
  await press(page, button("Send the question"));
  await expectHeard(page, ["list \"Questions and replies\"", "paragraph: are the bags to be this small?", /^paragraph: "?No reply yet\. Expect a reply by/, "textbox \"Your question\""]);
  // The form stays, and what was sent is said aloud.
  await expect(page.locator("[aria-live=polite]").filter({ hasText: "are the bags to be this small?" })).toBeVisible();
  await expectFocus(page, /^(?:textbox "Your question"|button "Send the question")/);

  // Something hurts: what must not wait is heard before the ticks, and the first page begins with it.
  await press(page, link("Something hurts or feels wrong"));
  await expect(page).toHaveTitle("Something hurts or feels wrong · Trueside");
  await expectFocus(page, /^(?:heading "Something hurts|alert)/);
  await expectHeard(page, [
    "heading \"Something hurts or feels wrong\" [level=1]", "group \"Who is it about?\"", "radio \"Jonas\"", "alert", /Get medical help now: call your local emergency number/,
    "group \"Is any of this new?", "checkbox \"A leg is weak, numb or tingles\"", "group \"Or is it one of these?\"", /^textbox "What happened\?/, /^paragraph: "?If you tell us now/, "button \"Stop and tell the practice\"",
  ]);
  await press(page, page.getByRole("radio", { name: "Jonas" }), "Space");
  await press(page, button("Stop and tell the practice"));
  await expect(page.getByRole("alert").filter({ hasText: "Please mark what you notice" })).toBeVisible();
  await press(page, leg, "Space");
  await press(page, button("Stop and tell the practice"));
  await expect(page).toHaveTitle("Before you start · Trueside");
  await expectFocus(page, /^alert/);
  await expect(page.locator(":focus")).toContainText(/Stop: Jonas.*Get medical help now: call your local emergency number or your doctor\. Do not wait for us.*We promise to call you by/);
  await expectSound(parent);
});

test("who asks by keyboard for what is older goes on where the page ended, not at its top", async ({ browser }) => {
  // A day of more than a year ago is older than what is shown at first.
  withDatabase((db) => db.prepare("insert into practice_days (id, child_id, family_id, exercise_key, day, person_id, marked_at) select 'long-ago', child_id, family_id, exercise_key, '2024-05-03', person_id, marked_at from practice_days where child_id = (select id from children where given_name = 'Mira') limit 1").run());
  const { page, context } = await at(browser, "Adaeze", PHONE);
  await page.goto("/family/history");
  const older = page.getByRole("link", { name: "Show what is older too" });
  const last = page.getByRole("article").last().getByRole("heading", { level: 3 });
  const name = await last.textContent() ?? "";
  await older.focus();
  await page.keyboard.press("Enter");
  await expect(page).toHaveURL(/shown=40#set-/);
  await expect(page.getByRole("heading", { level: 3, name })).toBeFocused();
  await expect(page.getByRole("heading", { level: 3, name })).toBeInViewport();
  await context.close();
});
