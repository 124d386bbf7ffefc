import { expect, test, type Page } from "@playwright/test";
import { choose, expectKept, judge, send, sideReasonOf, summaryOf, writeSummary } from "@/e2e/journey/answering";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, LAPTOP, PHONE, signIn } from "@/e2e/journey/person";

// On a server and a practice of its own: one of them is killed, sessions end, and answers are sent.
test.describe.configure({ timeout: 240_000 });

const { at, baseURL, kill, serve, withDatabase } = ownPractice();

/** The desk of the newest photo set of a child. */
const deskOf = (child: string): string => withDatabase((db) => {
  const row = db.prepare("select s.child_id as child, s.id as id from photo_sets s join children c on c.id = s.child_id where c.given_name = ? and s.sent_at is not null order by s.sent_at desc").get(child);
  if (typeof row !== "object" || row === null || !("child" in row) || !("id" in row)) throw new Error("the demo has no such photo set");
  return `/desk/children/${String(row.child)}/sets/${String(row.id)}`;
});

/** As if the half minute were over: the rest of it is waited for once, below. */
const letOut = (): void => withDatabase((db) => {
  db.prepare("update answers set published_at = answered_at where taken_back_at is null and published_at > ?").run(Date.now());
});

test("an answer is taken back before the family has read it, and the draft is there as it was sent", async ({ browser }) => {
  const tom = await at(browser, "Tom Ferrant");
  const { page } = tom;
  const anouk = await at(browser, "Anouk Vossler", PHONE);
  const desk = deskOf("Felix");
  await page.goto(desk);
  await judge(page, { "head-neck": "fix" });
  await writeSummary(page, "Felix lies on his RIGHT side. Look straight ahead.");
  await send(page);
  await page.waitForURL((url) => url.pathname !== desk);
  await expect(page.getByText(/Answer sent to Felix's family in \d+ s\./)).toBeVisible();
  await expectSound(tom);
  await page.goto("/desk");
  await expect(page.getByText(/Felix: answered by you, with the family at/)).toBeVisible();
  await expectSound(tom);
  for (const path of ["/family", "/family/history", "/family/symptom"]) {
    await anouk.page.goto(path);
    await expect(anouk.page.getByText("Look straight ahead.")).toHaveCount(0);
  }
  await page.getByRole("button", { name: "Take it back" }).click();
  await page.waitForURL((url) => url.pathname === desk);
  await expect(summaryOf(page)).toHaveValue("Felix lies on his RIGHT side. Look straight ahead.");
  await expect(page.locator('input[name="verdict.head-neck"][value="fix"]')).toBeChecked();
  // Without scripts too; and once its time is over there is no way back.
  const plain = await browser.newContext({ ...LAPTOP, baseURL: baseURL(), javaScriptEnabled: false });
  await plain.addCookies(await tom.context.cookies());
  const still = await plain.newPage();
  await send(page);
  await page.waitForURL((url) => url.pathname !== desk);
  await still.goto("/desk");
  await still.getByRole("button", { name: "Take it back" }).click();
  await expect(summaryOf(still)).toHaveValue("Felix lies on his RIGHT side. Look straight ahead.");
  await page.goto(desk);
  await send(page);
  await page.waitForURL((url) => url.pathname !== desk);
  await expect(page.getByText("Answer sent to Felix's family.")).toBeVisible({ timeout: 40_000 });
  await expect(page.getByRole("button", { name: "Take it back" })).toHaveCount(0);
  await anouk.page.goto("/family/history");
  await expect(anouk.page.getByText("Look straight ahead.").first()).toBeVisible();
  await Promise.all([tom.context.close(), anouk.context.close(), plain.close()]);
});

test("the slower of two therapists loses nothing, sees both, and amends; the family reads both versions", async ({ browser }) => {
  const [tom, ines] = [await at(browser, "Tom Ferrant"), await at(browser, "Ines Calloway")];
  const desk = deskOf("Lena");
  await tom.page.goto(desk);
  await ines.page.goto(desk);
  await expect(ines.page.getByText("Tom Ferrant is answering this set just now.")).toBeVisible();
  await judge(tom.page);
  await writeSummary(tom.page, "Lena lies on her LEFT. All is well.");
  await judge(ines.page, { stacked: "fix" });
  await writeSummary(ines.page, "Lena lies on her LEFT. Her shoulder still rolls.");
  await send(tom.page);
  await tom.page.waitForURL((url) => url.pathname !== desk);
  await send(ines.page);
  await ines.page.waitForURL(/late=answer/);
  await expect(ines.page.getByText("Tom Ferrant answered this before you.")).toBeVisible();
  const both = ines.page.getByRole("table", { name: "What differs" });
  await expect(both).toContainText("Lena lies on her LEFT. Her shoulder still rolls.");
  await expect(both).toContainText("Lena lies on her LEFT. All is well.");
  await expectSound(ines);
  letOut();
  await ines.page.goto(desk);
  await ines.page.getByRole("link", { name: "Amend it with what I wrote" }).click();
  await expect(summaryOf(ines.page)).toHaveValue("Lena lies on her LEFT. Her shoulder still rolls.");
  await expect(ines.page.locator('input[name="verdict.stacked"][value="fix"]')).toBeChecked();
  await expectSound(ines);
  await ines.page.locator('textarea[name="amendReason"]').fill("Seen again: one shoulder rolls.");
  await ines.page.getByRole("button", { name: "Send the changed answer" }).click();
  await expect(ines.page.getByText(/Answer sent to Lena's family/)).toBeVisible();
  const anouk = await at(browser, "Anouk Vossler", PHONE);
  await anouk.page.goto("/family/history");
  await expect(anouk.page.getByText("All is well.")).toBeVisible();
  await expect(anouk.page.getByText("Her shoulder still rolls.")).toHaveCount(0);
  letOut();
  await anouk.page.goto("/family/history");
  await expect(anouk.page.getByText(/Changed on .* by Ines Calloway: Seen again: one shoulder rolls\./)).toBeVisible();
  await expect(anouk.page.getByText("Lena lies on her LEFT. All is well.")).toBeHidden();
  await anouk.page.getByText("What it said before").click();
  await expect(anouk.page.getByText("Lena lies on her LEFT. All is well.")).toBeVisible();
  await expectSound(anouk);
  await ines.page.goto(desk);
  await expect(ines.page.getByText(/Changed on .* by Ines Calloway/)).toBeVisible();
  await expectSound(ines);
  await Promise.all([tom, ines, anouk].map(({ context }) => context.close()));
});

test("who takes over tells the other, who claims nothing more", async ({ browser }) => {
  const desk = reopened("Felix");
  const tom = await at(browser, "Tom Ferrant");
  await tom.page.clock.install();
  await tom.page.goto(desk);
  const ines = await at(browser, "Ines Calloway");
  await ines.page.goto(desk);
  await ines.page.getByRole("button", { name: "Take over" }).click();
  await expect(ines.page.getByText("Tom Ferrant is answering this set just now.")).toHaveCount(0);
  await tom.page.keyboard.press("Shift");
  await tom.page.clock.fastForward("01:01");
  await expect(tom.page.getByText("Ines Calloway took this over from you and is answering it now. Your draft is kept.")).toBeVisible();
  await tom.page.keyboard.press("Shift");
  await tom.page.clock.fastForward("02:10");
  const holder = withDatabase((db) => db.prepare("select p.name from claims c join people p on p.id = c.person_id").pluck().all());
  expect(holder).toEqual(["Ines Calloway"]);
  await tom.page.goto("/desk");
  await expect(tom.page.getByText("Ines Calloway is answering this")).toBeVisible();
  await Promise.all([tom.context.close(), ines.context.close()]);
});

/** The desk with its script at work: the claim is the first thing it asks the server for. */
async function open(page: Page, desk: string): Promise<void> {
  const claimed = page.waitForResponse((answer) => answer.url().includes("/api/claims/"));
  await page.goto(desk);
  await claimed;
}

/** A child's newest set as if nobody had answered it. */
function reopened(child: string): string {
  const desk = deskOf(child);
  const id = desk.split("/").at(-1);
  withDatabase((db) => db.prepare("update answers set taken_back_at = published_at where photo_set_id = ?").run(id));
  return desk;
}

test("a closed tab, a killed server and a lapsed session lose nothing", async ({ browser }) => {
  const desk = reopened("Felix");
  const tom = await at(browser, "Tom Ferrant");
  let { page } = tom;
  // The tab goes the moment the last letter is typed: no time to wait for the server's word.
  await open(page, desk);
  await summaryOf(page).fill("Half a sen");
  await page.close({ runBeforeUnload: false });
  page = await tom.context.newPage();
  await open(page, desk);
  // The browser may have sent it while closing; what it has not sent is offered.
  if (await goOn().count() > 0) await takeFromComputer();
  await expect(summaryOf(page)).toHaveValue("Half a sen");

  // The server is killed while somebody types, and the tab closed before it is back.
  await kill();
  await summaryOf(page).fill("Half a sentence, typed to nobody");
  await choose(page, "verdict.side-down", "in-place");
  await expect(page.getByText(/The server does not answer\. The draft is kept on this computer/)).toBeVisible();
  await page.close();
  await serve();
  page = await tom.context.newPage();
  await page.goto(desk);
  await expect(page.getByText(/A newer draft is kept on this computer/)).toBeVisible();
  await expect(page.getByRole("table", { name: "What differs" })).toContainText("typed to nobody");
  await expectSound({ page, complaints: [] });
  await takeFromComputer();
  await expect(summaryOf(page)).toHaveValue("Half a sentence, typed to nobody");
  await expect(page.locator('input[name="verdict.side-down"][value="in-place"]')).toBeChecked();

  // The session ends on the server while the page is open.
  withDatabase((db) => db.prepare("delete from sessions").run());
  await summaryOf(page).fill("A whole sentence, after the session");
  await expect(page.getByText("Your session ended. Nothing is lost:")).toBeVisible();
  await page.getByRole("link", { name: "sign in again" }).click();
  await page.getByRole("button", { name: /Tom Ferrant/ }).click();
  await page.waitForURL((url) => url.pathname === desk);
  await takeFromComputer();
  await expect(summaryOf(page)).toHaveValue("A whole sentence, after the session");

  // What the server has is not kept twice, and signing out leaves nothing in the browser.
  await summaryOf(page).fill("Once more");
  await expectKept(page);
  expect(await page.evaluate(() => Object.keys(localStorage).filter((key) => key.startsWith("trueside.draft.")))).toEqual([]);
  // What was chosen before the page's script came is kept as well.
  let come = (): void => undefined;
  const scripts = new Promise<void>((resolve) => (come = resolve));
  await page.route("**/_next/static/**/*.js", (route) => scripts.then(() => route.continue()));
  await page.goto(desk, { waitUntil: "commit" });
  await choose(page, "verdict.side-down", "fix");
  come();
  await expectKept(page);
  await page.evaluate(() => localStorage.setItem("trueside.draft.somebody.some-set", "{}"));
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await page.waitForURL(/sign-in/);
  expect(await page.evaluate(() => Object.keys(localStorage))).toEqual([]);
  await tom.context.close();

  /** What the server has not got is offered; once taken, the page is made anew. */
  async function takeFromComputer(): Promise<void> {
    const claimed = page.waitForResponse((answer) => answer.url().includes("/api/claims/"));
    await goOn().click();
    await claimed;
    await expect(goOn()).toHaveCount(0);
  }
  function goOn() {
    return page.getByRole("button", { name: "Go on with what is chosen" });
  }
});

test("two tabs of one therapist: neither writes over the other, and each part is chosen", async ({ browser }) => {
  const desk = reopened("Felix");
  const tom = await at(browser, "Tom Ferrant");
  const [one, two] = [tom.page, await tom.context.newPage()];
  await open(one, desk);
  await open(two, desk);
  await summaryOf(one).fill("Written in the first tab");
  await expectKept(one);
  await summaryOf(two).fill("Written in the second tab");
  await sideReasonOf(two).evaluate((field: HTMLTextAreaElement) => {
    field.value = "A reason from the second tab";
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await expect(two.getByText(/changed in another window\. Both are kept/)).toBeVisible();
  const table = two.getByRole("table", { name: "What differs" });
  await expect(table).toContainText("Written in the first tab");
  await expect(table).toContainText("Written in the second tab");
  await expectSound({ page: two, complaints: [] });
  await two.getByRole("button", { name: "Take this one: Summary, In the other window" }).click();
  await two.getByRole("button", { name: "Go on with what is chosen" }).click();
  await expect(summaryOf(two)).toHaveValue("Written in the first tab");
  await expect(sideReasonOf(two)).toHaveValue("A reason from the second tab");
  await tom.context.close();
});

test.describe("somebody signed out by another", () => {
  test("finds nothing of a colleague's draft on a shared computer", async ({ browser }) => {
    const desk = reopened("Felix");
    const tom = await at(browser, "Tom Ferrant");
    await open(tom.page, desk);
    await tom.page.route("**/api/drafts/**", (route) => route.abort());
    await summaryOf(tom.page).fill("Only on this computer");
    await expect(tom.page.getByText(/The draft is kept on this computer/)).toBeVisible();
    withDatabase((db) => db.prepare("delete from sessions").run());
    await tom.page.close();
    const page = await tom.context.newPage();
    await signIn({ ...tom, page }, "Ines Calloway");
    await page.goto(desk);
    await expect(page.getByRole("button", { name: "Send the answer" })).toBeVisible();
    await expect(page.getByText("Only on this computer")).toHaveCount(0);
    await tom.context.close();
  });
});

test("before a sign-in ends every tab says so, one press keeps it, and after its end what was typed is still sent", async ({ browser }) => {
  const tom = await at(browser, "Tom Ferrant");
  const [one, two] = [tom.page, await tom.context.newPage()];
  const used = (minutesAgo: number): void => withDatabase((db) => void db.prepare("update sessions set last_seen_at = ?").run(Date.now() - minutesAgo * 60_000));
  // As when the tab comes to the front, or the machine wakes; again, where the page's script was not at work yet.
  const look = async (): Promise<void> => {
    for (const page of [one, two]) await expect(async () => {
      const asked = page.waitForRequest((request) => request.url().endsWith("/api/session"), { timeout: 1000 });
      await Promise.all([asked, page.evaluate(() => document.dispatchEvent(new Event("visibilitychange")))]);
    }).toPass();
  };
  await one.goto("/desk/families");
  await two.goto("/desk/cues");
  const name = one.getByRole("form", { name: "Add a family" }).getByRole("textbox");
  await name.fill("Typed before the end");
  used(56);
  await look();
  for (const page of [one, two]) await expect(page.getByText("In a few minutes you are signed out")).toBeVisible();
  await expectSound(tom);
  await name.press("Alt+s");
  for (const page of [one, two]) await expect(page.getByText("In a few minutes you are signed out")).toHaveCount(0);
  await expect(name).toHaveValue("Typed before the end");

  used(61);
  await look();
  await expect(one.getByText("You are signed out. What you typed is still on this page.")).toBeVisible();
  await expectSound({ page: one, complaints: [] });
  const [door] = await Promise.all([tom.context.waitForEvent("page"), one.getByRole("link", { name: "Sign in in another tab" }).click()]);
  await door.getByRole("button", { name: /Tom Ferrant/ }).click();
  await door.waitForURL((url) => url.pathname.startsWith("/desk"));
  await one.bringToFront();
  await one.getByRole("button", { name: "I have signed in" }).click();
  await expect(one.getByText("You are signed out.")).toHaveCount(0);
  await expect(name).toHaveValue("Typed before the end");
  await one.getByRole("button", { name: "Add a family" }).click();
  await expect(one.getByRole("heading", { name: "Typed before the end" })).toBeVisible();
  await tom.context.close();
});
