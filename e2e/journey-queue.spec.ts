import { expect, test, type Page } from "@playwright/test";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE, signIn, type Person } from "@/e2e/journey/person";
import { addPhoto, checkSide, PHONE_PHOTO, toLastLook } from "@/e2e/journey/sending";

const { at, withDatabase, loseSignal, findSignal } = ownPractice();

/** Sets of a child that the practice has, and how often each was finished. */
const sentOf = (child: string, note = "From the queue.") => withDatabase((db) => db.prepare(`select (select count(*) from audit_entries a where a.act = 'photo-set.sent' and a.object_id = s.id) as times
  from photo_sets s join children c on c.id = s.child_id where c.given_name = ? and s.sent_at is not null and s.note = ?`).pluck().all(child, note));

/** Everything up to the last press, with the connection gone just before it. */
async function keptOffline({ page, context }: Person, child: string, side: "left" | "right", hurts?: string): Promise<void> {
  const photo = await addPhoto(page, child);
  await checkSide(photo, child, side);
  await loseSignal(context);
  await toLastLook(page, "From the queue.", hurts);
  await page.getByRole("button", { name: "Yes, send it" }).click();
  await expect(page.getByText("Nothing is lost if you close this page.")).toBeVisible();
  await expect(page.getByText("No connection.")).toBeVisible();
}

/** How many pictures the phone still holds. */
const picturesOn = (page: Page) => page.evaluate(() => new Promise<number>((resolve) => {
  indexedDB.open("trueside-sending").addEventListener("success", ({ target }) => {
    const db = (target as IDBOpenDBRequest).result;
    const counted = db.objectStoreNames.contains("pictures") ? db.transaction("pictures").objectStore("pictures").count() : null;
    if (counted) counted.addEventListener("success", () => resolve(counted.result));
    else resolve(0);
  });
}));

test("made without a connection, the app closed, opened again: it arrives once, and what hurts is told first", async ({ browser }) => {
  const parent = await at(browser, "Maeve Sorrel", PHONE);
  const { page, context } = parent;
  await keptOffline(parent, "Nia", "left", "Chest pain, hard to breathe, or fainting");
  // It must never look as if the practice knew: what to do now stands there, and that nobody was told.
  await expect(page.getByText(/Get medical help now/)).toBeVisible();
  await expect(page.getByText("What you noticed has not reached us yet.")).toBeVisible();
  // Without a connection the browser's console names every request that fails, the worker's too.
  await expectSound({ page, complaints: [] });
  await page.close();
  expect(sentOf("Nia")).toEqual([]);

  await findSignal(context);
  const again = await context.newPage();
  await again.goto("/family");
  await expect(again.getByText(/Sent at/)).toBeVisible({ timeout: 30_000 });
  expect(sentOf("Nia")).toEqual([1]);
  const [times] = withDatabase((db) => db.prepare(`select r.reported_at as told, p.stored_at as stored, s.sent_at as sent from symptom_reports r
    join photo_sets s on s.id = r.photo_set_id join photos p on p.photo_set_id = s.id where s.note = 'From the queue.'`).all()) as { told: number; stored: number; sent: number }[]; // the columns named above
  expect([times?.told, times?.stored, times?.sent]).toEqual([times?.told, times?.stored, times?.sent].sort());
  expect(times?.told).toBeLessThan(times?.sent ?? 0);
  expect(await picturesOn(again)).toBe(0);
  await again.reload();
  await expect(again.getByText("Stop: Nia")).toBeVisible();
  await again.getByRole("button", { name: "OK" }).click();
  await expect(again.getByText("On its way from this phone")).toHaveCount(0);
  expect(sentOf("Nia")).toEqual([1]);
  await context.close();
});

test("the session ended: nobody else sees or sends it, and it continues when the same person is back", async ({ browser }) => {
  const parent = await at(browser, "Adaeze Okonjo-Lund", PHONE);
  const { page, context } = parent;
  await keptOffline(parent, "Mira", "left");
  withDatabase((db) => db.prepare("delete from sessions").run());
  await findSignal(context);
  await expect(page.getByText("You are signed out. It is kept on this phone.")).toBeVisible({ timeout: 30_000 });
  await expectSound(parent);

  await signIn(parent, "Ritu Halvard");
  const asked: string[] = [];
  page.on("request", (request) => request.method() === "POST" && asked.push(request.url()));
  await page.goto("/family/send");
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await page.goto("/family");
  await expect(page.getByText(/Stop: Priya/)).toBeVisible();
  await page.waitForTimeout(1500);
  await expect(page.getByText(/On its way|Mira/)).toHaveCount(0);
  expect(asked).toEqual([]);
  // Leaving, she is asked nothing, and takes nothing of somebody else's with her.
  await page.goto("/family/account");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await page.waitForURL(/\/sign-in/);
  expect(await picturesOn(page)).toBe(1);

  await signIn(parent, "Adaeze Okonjo-Lund");
  await page.goto("/family");
  await expect(page.getByText(/Sent at/)).toBeVisible({ timeout: 30_000 });
  expect(sentOf("Mira")).toEqual([1]);
  await context.close();
});

test("signing out asks before it loses what waits; a consent withdrawn meanwhile erases it and says so", async ({ browser }) => {
  const parent = await at(browser, "Anouk Vossler", PHONE);
  const { page, context } = parent;
  await keptOffline(parent, "Lena", "left");
  // As if the family had sent too many today: it waits for a person's word.
  await page.evaluate(() => new Promise((resolve) => {
    indexedDB.open("trueside-sending").addEventListener("success", ({ target }) => {
      const sets = (target as IDBOpenDBRequest).result.transaction("sets", "readwrite").objectStore("sets");
      sets.getAll().addEventListener("success", (event) => {
        const [entry] = (event.target as IDBRequest<Record<string, unknown>[]>).result;
        sets.put({ ...entry, state: { at: "refused", code: "photo-limit-day", values: { max: 30 }, ordinal: 1 } }).addEventListener("success", resolve);
      });
    });
  }));
  await findSignal(context);
  await page.goto("/family");
  await expect(page.getByText("Your family has sent 30 photos today")).toBeVisible();
  await expectSound(parent);
  await page.goto("/family/account");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await expect(page.getByText("Photos of yours wait on this phone.")).toBeVisible();
  await expectSound(parent);
  await page.getByRole("button", { name: "Sign out and keep them on this phone" }).click();
  await page.waitForURL(/\/sign-in/);
  const waits = page.getByText("1 photo set waits on this phone. Sign in and it goes on by itself.");
  await expect(waits).toBeVisible();
  await expect(waits).not.toContainText(/Lena|Anouk/);
  expect(await picturesOn(page)).toBe(1);

  withDatabase((db) => db.prepare(`insert into consents (id, child_id, family_id, person_id, purpose, decision, text_version, text_hash, standing, decided_at, sequence)
    select lower(hex(randomblob(16))), child_id, family_id, person_id, purpose, 'withdrawn', text_version, text_hash, standing, decided_at + 1, sequence + 100
    from consents where purpose = 'photos' and child_id = (select id from children where given_name = 'Lena') order by sequence desc limit 1`).run());
  await signIn(parent, "Anouk Vossler");
  await page.goto("/family");
  await page.getByRole("button", { name: "Try now" }).click();
  await expect(page.getByText("The photo consent was withdrawn. No photo is sent.")).toBeVisible({ timeout: 30_000 });
  await expect(page.getByText("The photos were erased from this phone.")).toBeVisible();
  expect(await picturesOn(page)).toBe(0);
  await expectSound(parent);
  await page.getByRole("button", { name: "I have read this" }).click();
  await expect(page.getByText("On its way from this phone")).toHaveCount(0);
  expect(sentOf("Lena")).toEqual([]);
  await context.close();
});

test("the line gone before a photo is chosen: all that follows is on the phone, and it is sent when the line is back", async ({ browser }) => {
  const parent = await at(browser, "Maeve Sorrel", PHONE);
  const { page, context } = parent;
  await page.goto("/family/send");
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await page.getByRole("main").getByRole("link", { name: /^Nia:/ }).click();
  await expect(page.getByText("Choose a photo")).toBeVisible();
  await page.waitForLoadState("networkidle");

  await loseSignal(context);
  const later: string[] = [];
  page.on("request", (request) => request.url().endsWith(".js") && later.push(request.url()));
  await page.getByLabel("Choose a photo").setInputFiles(PHONE_PHOTO);
  await page.getByRole("button", { name: "Use this photo" }).click({ timeout: 30_000 });
  await checkSide(page.getByRole("region", { name: "Photo 1" }), "Nia", "left");
  await toLastLook(page, "From nothing.");
  await page.getByRole("button", { name: "Yes, send it" }).click();
  await expect(page.getByText("Nothing is lost if you close this page.")).toBeVisible();
  expect(later.length).toBeGreaterThan(0);
  expect(sentOf("Nia", "From nothing.")).toEqual([]);
  await findSignal(context);
  await page.waitForURL(/\/family\/history/, { timeout: 30_000 });
  expect(sentOf("Nia", "From nothing.")).toEqual([1]);
  await context.close();
});
