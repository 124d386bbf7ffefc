import { join } from "node:path";
import { expect, test, type Browser, type TestInfo } from "@playwright/test";
import Database from "better-sqlite3";
import { complaintsOf, expectSound, signIn } from "@/e2e/journey/person";

/** One text of the demo's database. */
function idOf(sql: string): string {
  const db = new Database(join(process.env["E2E_DATA_DIR"] ?? "", "trueside.db"), { readonly: true });
  const id: unknown = db.prepare(sql).pluck().get();
  db.close();
  if (typeof id !== "string") throw new Error(`the demo has no row for: ${sql}`);
  return id;
}
const childNamed = (name: string): string => idOf(`select id from children where given_name = '${name}'`);

type Screens = { readonly who: string | null; readonly paths: () => readonly string[] };
const SCREENS: readonly Screens[] = [
  { who: null, paths: () => ["/sign-in", "/join", "/no-such-page"] },
  {
    who: "Anouk Vossler",
    paths: () => ["/family", "/family/send", `/family/send?child=${childNamed("Lena")}&exercise=side-lying`, "/family/symptom", "/family/history", "/family/account", `/family/consent/${childNamed("Lena")}`],
  },
  { who: "Ritu Halvard", paths: () => ["/family", "/family/history"] },
  { who: "Colm Teagle", paths: () => ["/family", "/family/send"] },
  {
    who: "Ines Calloway",
    paths: () => {
      const lena = childNamed("Lena");
      const waiting = idOf(`select id from photo_sets where child_id = '${lena}' and sent_at is not null order by sent_at desc`);
      return [
        "/desk", "/desk/families", `/desk/families/${idOf("select id from families where name = 'Vossler'")}`, `/desk/children/${lena}`,
        ...["curve", "setup", "stop", "seen-live", "clearance", `sets/${waiting}`].map((each) => `/desk/children/${lena}/${each}`),
        `/desk/children/${childNamed("Oscar")}/setup`, `/desk/children/${childNamed("Zuri")}/clearance`, "/desk/times", "/desk/practice",
      ];
    },
  },
];

for (const colorScheme of ["light", "dark"] as const) {
  for (const { who, paths } of SCREENS) {
    test(`every screen of ${who ?? "somebody unknown"} is sound when ${colorScheme}`, async ({ browser }, info) => {
      await visit(browser, info, who, paths(), colorScheme);
    });
  }
}

async function visit(browser: Browser, info: TestInfo, who: string | null, paths: readonly string[], colorScheme: "light" | "dark"): Promise<void> {
  const { viewport, isMobile, hasTouch, deviceScaleFactor } = info.project.use;
  const context = await browser.newContext({
    colorScheme, ...(viewport ? { viewport } : {}), ...(isMobile ? { isMobile } : {}), ...(hasTouch ? { hasTouch } : {}), ...(deviceScaleFactor ? { deviceScaleFactor } : {}),
  });
  const page = await context.newPage();
  const person = { page, context, complaints: complaintsOf(page) };
  if (who) await signIn(person, who);
  for (const path of paths) {
    const answer = await page.goto(path, { waitUntil: "load" });
    expect(answer?.status(), path).toBe(path === "/no-such-page" ? 404 : 200);
    await expect(page.locator("h1").first()).toBeVisible();
    await page.screenshot({ path: info.outputPath(`${path.replace(/\?.*$/, "-chosen").replace(/[0-9a-f-]{30,}/g, "id").replace(/\W+/g, "_")}.png`), fullPage: true });
    await expectSound(person);
  }
  await context.close();
}
