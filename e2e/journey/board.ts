import { expect, type Browser, type Page } from "@playwright/test";
import Database from "better-sqlite3";
import { join } from "node:path";
import { LAPTOP, personAt, type Person, type PHONE } from "@/e2e/journey/person";

export type DrawnMark = { readonly id: string; readonly kind: string; readonly itemKey: string | null; readonly text?: string } & Readonly<Record<string, unknown>>;

/** The answering desk of a set that waits; what is drawn is not kept, so that no other journey meets it. */
export async function openBoard(browser: Browser, device: typeof LAPTOP | typeof PHONE): Promise<Person> {
  const therapist = await personAt(browser, "Tom Ferrant", device);
  const { page } = therapist;
  await page.route("**/api/drafts/**", (route) => route.fulfill({ json: { version: 1 } }));
  await page.route("**/api/claims/**", (route) => route.fulfill({ json: { isMine: true, name: "" } }));
  const db = new Database(join(process.env["E2E_DATA_DIR"] ?? "", "trueside.db"), { readonly: true });
  const set = db.prepare(
    `select child_id as childId, id from photo_sets where sent_at is not null and voided_at is null
     and id not in (select photo_set_id from answers) order by sent_at limit 1`,
  ).get() as { readonly childId: string; readonly id: string } | undefined; // the two columns asked for
  db.close();
  if (!set) throw new Error("no photo set waits in the demo");
  await page.goto(`/desk/children/${set.childId}/sets/${set.id}`);
  await expect(page.locator("[data-canvas]")).toBeVisible();
  await page.locator("[data-canvas]").evaluate((canvas) => canvas.scrollIntoView({ block: "center" }));
  return therapist;
}

/** The first photo's marks, as the form would send them. */
export async function marksOf(page: Page): Promise<readonly DrawnMark[]> {
  const json = await page.locator("input[type=hidden][name^='marks.']").first().inputValue();
  return json === "" ? [] : (JSON.parse(json) as { readonly marks: readonly DrawnMark[] }).marks; // what the form just wrote
}

/** Where a place of the photo, in its fractions, is on the screen. */
export async function onScreen(page: Page, x: number, y: number): Promise<{ readonly x: number; readonly y: number }> {
  return page.locator("[data-canvas]").evaluate((canvas, at) => {
    const image = canvas.querySelector("image");
    if (!(canvas instanceof SVGSVGElement) || !image) throw new Error("no photo");
    const matrix = canvas.getScreenCTM();
    const point = new DOMPoint(at.x * image.width.baseVal.value, at.y * image.height.baseVal.value).matrixTransform(matrix ?? undefined);
    return { x: point.x, y: point.y };
  }, { x, y });
}
