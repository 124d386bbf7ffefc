import { readFileSync } from "node:fs";
import { expect, test, type Page } from "@playwright/test";
import { otherDoor } from "@/e2e/journey/other-door";
import { ownPractice } from "@/e2e/journey/own-practice";
import { expectSound, PHONE, someone } from "@/e2e/journey/person";
import { PHONE_PHOTO } from "@/e2e/journey/sending";

const practice = ownPractice();

const photo = { name: "IMG_1234.jpg", mimeType: "image/jpeg", buffer: readFileSync(PHONE_PHOTO) };

/** The first visit installs the worker, which then takes the open page over. */
const hasWorker = (page: Page): Promise<unknown> => page.waitForFunction(() => navigator.serviceWorker.controller !== null);

/** Every address the worker keeps an answer to. */
const keptBy = (page: Page): Promise<readonly string[]> => page.evaluate(async () => {
  const each = await Promise.all((await caches.keys()).map(async (name) => (await caches.open(name)).keys()));
  return each.flat().map(({ url }) => new URL(url).pathname);
});
const sharedOn = async (page: Page): Promise<readonly string[]> => (await keptBy(page)).filter((path) => /^\/family\/send\/shared\/[0-9a-f-]{36}$/.test(path));

/** As the phone's share sheet does: a form of several parts, posted as a navigation. */
async function share(page: Page, files: readonly { readonly name: string; readonly mimeType: string; readonly buffer: Buffer }[]): Promise<void> {
  await page.evaluate(() => {
    const form = document.createElement("form");
    form.innerHTML = `<input type="file" name="photo" multiple id="shared-files">`;
    Object.assign(form, { id: "share-sheet", method: "post", enctype: "multipart/form-data", action: "/family/send/shared" });
    document.body.append(form);
  });
  await page.locator("#shared-files").setInputFiles([...files]);
  await Promise.all([page.waitForNavigation(), page.evaluate(() => (document.querySelector("#share-sheet") as HTMLFormElement).submit())]); // made just now
}

test("without signal a page says so and leads back, and nothing private was kept for it", async ({ browser }) => {
  const parent = await practice.at(browser, "Maeve Sorrel", PHONE);
  const { page, context } = parent;
  await hasWorker(page);
  const script = await page.request.get("/worker.js");
  expect(script.headers()).toMatchObject({
    "cache-control": "no-cache", "content-type": "text/javascript; charset=utf-8",
    "content-security-policy": expect.stringContaining("default-src 'none'; connect-src 'self'"),
  });
  expect(script.headers()["sourcemap"]).toBeUndefined();
  for (const path of ["/family/history", "/family/send", "/family/account", "/family"]) await page.goto(path);
  await expectSound(parent);
  const kept = await keptBy(page);
  expect(kept.filter((path) => path !== "/kept" && path !== "/family/send/shared/who" && !path.startsWith("/_next/static/"))).toEqual([]);
  expect(kept).toContain("/kept");

  await context.setOffline(true);
  await page.goto("/family/history");
  await expect(page).toHaveURL(/\/kept\?from=/);
  await expect(page.getByRole("heading", { level: 1, name: "You are offline" })).toBeVisible();
  await expect(page.getByText("Go online before you start.")).toBeVisible();
  // The page's own script runs from the phone too: it knows the way back.
  await expect(page.getByRole("link", { name: "Try again" })).toHaveAttribute("href", "/family/history");
  // In the other language too, from the phone alone; the way back stays, and so does the choice.
  await page.getByRole("button", { name: "Español" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "No tiene conexión" })).toBeVisible();
  await expect(page.locator("html")).toHaveAttribute("lang", "es");
  await expect(page.getByRole("link", { name: "Intentar otra vez" })).toHaveAttribute("href", "/family/history");
  await page.goto("/family/send");
  await expect(page.getByRole("heading", { level: 1, name: "No tiene conexión" })).toBeVisible();
  await page.getByRole("button", { name: "English" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "You are offline" })).toBeVisible();
  await page.goto("/family/history");
  await expect(page.getByRole("link", { name: "Try again" })).toHaveAttribute("href", "/family/history");
  await context.setOffline(false);
  await expectSound({ page, complaints: [] });
  await page.getByRole("link", { name: "Try again" }).click();
  await expect(page).toHaveURL(/\/family\/history$/);

  await page.goto("/family/account");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await expect(page).toHaveURL(/\/sign-in/);
  await expect.poll(() => page.evaluate(async () => [await caches.keys(), (await navigator.serviceWorker.getRegistrations()).length])).toEqual([[], 0]);
  await context.close();
});

test("a new version waits until it is asked for, and warns before what was typed goes", async ({ browser }) => {
  const door = await otherDoor(practice.baseURL());
  const parent = await practice.at(browser, "Maeve Sorrel", PHONE);
  const { page, context } = parent;
  await page.goto(`${door.origin}/family/symptom`);
  await hasWorker(page);
  await expect(page.getByText("A new version is ready")).toBeHidden();
  door.newBuild();
  await page.evaluate(async () => (await navigator.serviceWorker.ready).update());
  const ready = page.getByText("A new version is ready");
  await expect(ready).toBeVisible();
  await page.evaluate(() => Object.assign(window, { isSamePage: true }));
  await page.getByLabel(/What happened/).fill("Since Tuesday.");
  await page.getByRole("button", { name: "Reload" }).click();
  await expect(page.getByText(/is not sent yet/)).toBeVisible();
  expect(await page.evaluate(() => "isSamePage" in window)).toBe(true);
  await expectSound(parent);
  await page.getByRole("button", { name: "Reload all the same" }).click();
  await page.waitForFunction(() => !("isSamePage" in window));
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await expect(ready).toBeHidden();
  await context.close();
  door.close();
});

test("what was typed outlives a lost line and a server that was renewed", async ({ browser }) => {
  const { page, context } = await practice.at(browser, "Maeve Sorrel", PHONE);
  await page.goto("/family/symptom");
  const note = page.getByLabel(/What happened/);
  const send = page.getByRole("button", { name: "Stop and tell the practice" });
  await page.getByRole("radio").first().check();
  await note.fill("Sore since Tuesday.");
  await context.route("**/family/symptom", (route) => (route.request().method() === "POST" ? route.abort() : route.continue()));
  await send.click();
  await expect(page.getByText(/could not be reached/)).toBeVisible();
  await expect(note).toHaveValue("Sore since Tuesday.");
  await expect(page.getByRole("radio").first()).toBeChecked();

  await context.unroute("**/family/symptom");
  // The server is asked for an act of a build it does not know, and answers for itself.
  await context.route("**/family/symptom", (route) =>
    route.request().method() === "POST" ? route.continue({ headers: { ...route.request().headers(), "next-action": `40${"0".repeat(40)}` } }) : route.continue());
  await send.click();
  await expect(page.getByText(/before Trueside was renewed/)).toBeVisible();
  await expect(note).toHaveValue("Sore since Tuesday.");
  await page.evaluate(() => Object.assign(window, { isSamePage: true }));
  await page.getByRole("button", { name: "Reload" }).click();
  await page.waitForFunction(() => !("isSamePage" in window));
  await expect(note).toHaveValue("Sore since Tuesday.");
  await expect(page.getByRole("radio").first()).toBeChecked();
  expect(await page.evaluate(() => Object.keys(sessionStorage).filter((key) => key.startsWith("trueside")))).toEqual([]);
  await context.close();
});

test("a photo shared from the gallery waits on the phone until it is chosen for a child", async ({ browser }) => {
  const parent = await practice.at(browser, "Maeve Sorrel", PHONE);
  const { page, context } = parent;
  await hasWorker(page);
  const posted: string[] = [];
  context.on("request", (request) => {
    if (request.method() === "POST" && request.serviceWorker() !== null) posted.push(request.url());
  });
  await share(page, [{ name: "notes.pdf", mimeType: "image/jpeg", buffer: Buffer.from("%PDF-1.7 not a photo, whatever it says") }]);
  await expect(page).toHaveURL(/\/family\/send\?shared=none$/);
  await expect(page.getByText(/could not be used/)).toBeVisible();
  expect(await sharedOn(page)).toEqual([]);

  await share(page, [photo, photo, photo, photo, photo]);
  await expect(page).toHaveURL(/\?shared=some$/);
  expect(await sharedOn(page)).toHaveLength(4);
  await share(page, [photo]);
  await expect(page).toHaveURL(/\?shared=kept$/);
  expect(await sharedOn(page)).toHaveLength(4);
  await expect(page.getByText(/on this phone alone/)).toBeVisible();
  await expectSound(parent);

  await page.getByRole("main").getByRole("link", { name: /^Nia:/ }).click();
  const waiting = page.getByRole("region", { name: "Shared from this phone" });
  await expect(waiting.getByRole("figure")).toHaveCount(4);
  await expectSound(parent);
  await waiting.getByRole("button", { name: "Take shared photo 1 away" }).click();
  await expect(waiting.getByRole("figure")).toHaveCount(3);
  await waiting.getByRole("button", { name: "Use shared photo 1" }).click();
  await page.getByRole("button", { name: "Use this photo" }).click({ timeout: 45_000 });
  await expect(page.getByRole("region", { name: "Photo 1" })).toBeVisible({ timeout: 45_000 });
  await expect.poll(() => sharedOn(page)).toHaveLength(2);
  expect(posted).toEqual([]);

  // Another person of this phone sees none of it.
  await page.goto("/sign-in");
  await page.getByRole("button", { name: /Colm Teagle/ }).click();
  await page.waitForURL(/\/family/);
  await expect.poll(() => sharedOn(page)).toEqual([]);
  await context.close();
});

test("a share that no worker answers is neither read nor kept, and leads to the app", async ({ browser }) => {
  const rows = () => practice.withDatabase((db) => ["photos", "photo_sets", "audit_entries"].map((table) => db.prepare(`select count(*) from ${table}`).pluck().get()));
  const stranger = await someone(browser, PHONE, { baseURL: practice.baseURL() });
  await stranger.page.goto("/sign-in");
  const before = rows();
  await share(stranger.page, [photo, { ...photo, buffer: Buffer.concat([photo.buffer, Buffer.alloc(3_000_000)]) }]);
  await expect(stranger.page).toHaveURL(/\/shared$/);
  await expect(stranger.page.getByRole("heading", { level: 1, name: "Open the app and choose the photo" })).toBeVisible();
  await expectSound(stranger);
  // As the share sheet comes: without any origin of ours.
  const bare = await fetch(`${practice.baseURL()}/family/send/shared`, { method: "POST", body: "photo", redirect: "manual", headers: { Origin: "null", "Sec-Fetch-Site": "none" } });
  expect([bare.status, bare.headers.get("location"), bare.headers.get("set-cookie")]).toEqual([303, "/shared", null]);
  expect(rows()).toEqual(before);
  await stranger.context.close();
});

test("a phone can install the app, with pictures of its own", async ({ request }) => {
  const base = practice.baseURL();
  const page = await (await request.get(`${base}/sign-in`)).text();
  expect(page).toMatch(/<link rel="manifest" href="\/manifest\.webmanifest"/);
  expect(page).toMatch(/<meta name="theme-color" content="#131a28" media="\(prefers-color-scheme: dark\)"/);
  const manifest = await (await request.get(`${base}/manifest.webmanifest`)).json() as { start_url: string; display: string; icons: { src: string; sizes: string; purpose: string }[]; share_target: { action: string; method: string; enctype: string } }; // our own route's answer
  // What browsers ask of an app to be installed: a name, 192 and 512 pixel icons, a start address, a display mode (web.dev, "Install criteria").
  expect(manifest).toMatchObject({ name: "Trueside", short_name: "Trueside", start_url: "/", display: "standalone", share_target: { action: "/family/send/shared", method: "POST", enctype: "multipart/form-data" } });
  expect(manifest.icons.map(({ sizes, purpose }) => `${sizes} ${purpose}`)).toEqual(["192x192 any", "512x512 any", "512x512 maskable"]);
  const links = [...page.matchAll(/<link rel="(?:icon|apple-touch-icon)" href="([^"]+)"/g)].map(([, href = ""]) => href.replaceAll("&amp;", "&"));
  expect(links).toHaveLength(2);
  for (const src of [...manifest.icons.map((icon) => icon.src), ...links]) {
    const picture = await request.get(`${base}${src}`);
    expect([src, picture.status(), picture.headers()["content-type"]]).toEqual([src, 200, expect.stringMatching(/^image\/(?:png|svg\+xml)/)]);
  }
  expect((await request.get(`${base}/icons/other.png`)).status()).toBe(404);
});
