import { join } from "node:path";
import { expect, test, type Browser, type Page, type TestInfo } from "@playwright/test";
import Database from "better-sqlite3";
import { complaintsOf, expectSound, faintAt, signIn } from "@/e2e/journey/person";

/** Texts of the demo's database, at least one. */
function idsOf(sql: string): readonly string[] {
  const db = new Database(join(process.env["E2E_DATA_DIR"] ?? "", "trueside.db"), { readonly: true });
  const ids: readonly unknown[] = db.prepare(sql).pluck().all();
  db.close();
  if (ids.length === 0) throw new Error(`the demo has no row for: ${sql}`);
  return ids.map(String);
}
const idOf = (sql: string): string => idsOf(sql)[0] ?? "";
const childNamed = (name: string): string => idOf(`select id from children where given_name = '${name}'`);

type Screens = { readonly who: string | null; readonly paths: () => readonly string[] };
const SCREENS: readonly Screens[] = [
  { who: null, paths: () => ["/sign-in", "/join", "/session", "/mail-off?key=none", "/no-such-page"] },
  {
    who: "Anouk Vossler",
    paths: () => ["/family", "/family/send", `/family/send?child=${childNamed("Lena")}&exercise=side-lying`, "/family/symptom", "/family/history", "/family/account", "/family/account/mail", "/family/account/address", "/family/account/proof", `/family/export/${childNamed("Lena")}`, `/family/consent/${childNamed("Lena")}`, `/family/erase/${childNamed("Lena")}`, `/family/erase/${childNamed("Lena")}/${idOf(`select photo_set_id from photos where child_id = '${childNamed("Lena")}' and removed_at is null`)}`, `/family/asked/${childNamed("Lena")}/${idOf(`select id from photo_sets where child_id = '${childNamed("Lena")}' and sent_at is not null order by sent_at desc`)}`],
  },
  { who: "Ritu Halvard", paths: () => ["/family", "/family/history"] },
  { who: "Sanna Brandvik", paths: () => ["/family", "/family/session"] },
  // With a clip.
  { who: "Ylva Tarnlund", paths: () => ["/family/history"] },
  { who: "Colm Teagle", paths: () => ["/family", "/family/send"] },
  {
    who: "Ines Calloway",
    paths: () => {
      const lena = childNamed("Lena");
      const waiting = idOf(`select id from photo_sets where child_id = '${lena}' and sent_at is not null order by sent_at desc`);
      return [
        "/desk", "/desk/families", `/desk/families/${idOf("select id from families where name = 'Vossler'")}`, `/desk/children/${lena}`,
        ...["progress", "export", "curve", "setup", "stop", "seen-live", "clearance", "then-and-now", `sets/${waiting}`, `sets/${waiting}/photos`, "erase"].map((each) => `/desk/children/${lena}/${each}`),
        `/desk/children/${childNamed("Ansel")}/sets/${idOf(`select id from photo_sets where child_id = '${childNamed("Ansel")}' order by sent_at desc`)}`,
        `/desk/children/${childNamed("Oscar")}/setup`, `/desk/children/${childNamed("Rowan")}/progress`, `/desk/children/${childNamed("Oscar")}/progress`, `/desk/children/${childNamed("Zuri")}/clearance`, "/desk/caseload", "/desk/caseload?show=everyone&weeks=1", "/desk/caseload?show=unread-stop&order=name", "/desk/sessions", ...idsOf("select id from group_sessions order by starts_at").flatMap((id) => [`/desk/sessions/${id}`, `/desk/sessions/${id}/invitation`]),
        "/desk/teaching", "/desk/times", "/desk/practice", "/desk/alarms", "/desk/erasures", `/desk/families/${idOf("select id from families where name = 'Vossler'")}/erase`, "/desk/mail", "/desk/account", "/desk/account/codes", "/desk/account/app", "/desk/account/address", "/desk/account/proof",
        "/desk/exercises", "/desk/exercises/new", "/desk/exercises/side-lying", "/desk/cues", "/desk/cues?exercise=side-lying&item=elbow-high",
      ];
    },
  },
];

for (const { who, paths } of SCREENS) {
  test(`every screen of ${who ?? "somebody unknown"} is sound, light and dark`, async ({ browser }, info) => {
    await visit(browser, info, who, paths());
  });
}

/** Each screen is loaded once and looked at in both colour schemes: nothing but the colours differs. SCREENSHOTS names a folder that keeps the pictures. */
async function visit(browser: Browser, info: TestInfo, who: string | null, paths: readonly string[]): Promise<void> {
  const { viewport, isMobile, hasTouch, deviceScaleFactor } = info.project.use;
  const context = await browser.newContext({
    colorScheme: "light", ...(viewport ? { viewport } : {}), ...(isMobile ? { isMobile } : {}), ...(hasTouch ? { hasTouch } : {}), ...(deviceScaleFactor ? { deviceScaleFactor } : {}),
  });
  const page = await context.newPage();
  const person = { page, context, complaints: complaintsOf(page) };
  if (who) await signIn(person, who);
  for (const path of paths) {
    const answer = await page.goto(path, { waitUntil: "load" });
    expect(answer?.status(), path).toBe(path === "/no-such-page" ? 404 : 200);
    await expect(page.locator("h1").first()).toBeVisible();
    await page.emulateMedia({ colorScheme: "light" });
    await picture(page, info, path, "light");
    await expectSound(person);
    await page.emulateMedia({ colorScheme: "dark" });
    await picture(page, info, path, "dark");
    expect(await faintAt(page), `contrast of ${path} when dark`).toEqual([]);
  }
  await context.close();
}

async function picture(page: Page, info: TestInfo, path: string, scheme: "light" | "dark"): Promise<void> {
  const folder = process.env["SCREENSHOTS"];
  if (!folder) return;
  const name = path.replace(/\?.*$/, "-chosen").replace(/[0-9a-f-]{30,}/g, "id").replace(/\W+/g, "_");
  await page.screenshot({ path: join(folder, info.project.name, scheme, `${name}.png`), fullPage: true });
}
