import { expect, test, type Locator, type Page } from "@playwright/test";
import { marksOf, openBoard, onScreen } from "@/e2e/journey/board";
import { LAPTOP, personAt } from "@/e2e/journey/person";
import { PHONE_PHOTO } from "@/e2e/journey/sending";

// A page that reads from the right turns its columns round. A picture, what is drawn on it and what is tapped stay as they
// are: turned round, a child would lie on the other side.
const DIRECTIONS = ["ltr", "rtl"] as const;
const read = (page: Page, direction: (typeof DIRECTIONS)[number]) => page.evaluate((to) => {
  document.documentElement.dir = to;
}, direction);

/** Where something is in its picture, in fractions of it. */
async function placeIn(part: Locator, picture: Locator): Promise<{ readonly x: number; readonly y: number }> {
  const [inner, outer] = [await part.boundingBox(), await picture.boundingBox()];
  if (!inner || !outer) throw new Error("not on the screen");
  return { x: (inner.x + inner.width / 2 - outer.x) / outer.width, y: (inner.y + inner.height / 2 - outer.y) / outer.height };
}

test("on the phone a cover is drawn and a head is tapped on the same pixels, whichever way the page reads", async ({ browser }) => {
  const { page, context } = await personAt(browser, "Maeve Sorrel", LAPTOP);
  await page.goto("/family/send");
  await page.getByRole("main").getByRole("link", { name: /^Nia:/ }).click();
  const letters: unknown[] = [];
  for (const direction of DIRECTIONS) {
    await read(page, direction);
    letters.push(await page.locator("main svg[role=img]").first().evaluate((drawing) => {
      const from = drawing.getBoundingClientRect();
      return [...drawing.querySelectorAll("text")].map((each) => [each.textContent, Math.round(each.getBoundingClientRect().x - from.x)]);
    }));
  }
  expect(letters[0]).not.toEqual([]);
  expect(letters[1]).toEqual(letters[0]);

  await page.getByLabel("Choose a photo").setInputFiles(PHONE_PHOTO);
  const shown = page.getByRole("button", { name: "Use this photo" });
  await expect(shown).toBeVisible({ timeout: 30_000 });
  const stage = page.locator("main svg[preserveAspectRatio=none]");
  for (const direction of DIRECTIONS) {
    await read(page, direction);
    await stage.scrollIntoViewIfNeeded();
    const box = await stage.boundingBox();
    if (!box) throw new Error("no picture");
    await page.mouse.move(box.x + box.width * 0.1, box.y + box.height * 0.2);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.3, box.y + box.height * 0.4, { steps: 4 });
    await page.mouse.up();
    const cover = page.getByRole("button", { name: "Cover 1", exact: true });
    for (const [name, value] of [["x", 0.1], ["y", 0.2], ["width", 0.2], ["height", 0.2]] as const) expect(Number(await cover.getAttribute(name))).toBeCloseTo(value, 1);
    const at = await placeIn(cover, stage);
    expect([at.x, at.y].map((each) => Math.round(each * 20) / 20)).toEqual([0.2, 0.3]);
    await page.getByRole("button", { name: "Take this cover away" }).click();
  }

  await shown.click();
  const photo = page.getByRole("region", { name: "Photo 1" });
  await photo.getByRole("button", { name: "The floor is at the bottom" }).click({ timeout: 30_000 });
  const picture = photo.locator("button:has(img)");
  for (const direction of DIRECTIONS) {
    await read(page, direction);
    const box = await picture.boundingBox();
    if (!box) throw new Error("no picture");
    await picture.click({ position: { x: box.width * 0.2, y: box.height * 0.3 } });
    const at = await placeIn(photo.locator("button svg path").last(), picture);
    expect([at.x, at.y].map((each) => Math.round(each * 20) / 20)).toEqual([0.2, 0.3]);
  }
  await context.close();
});

test("on the desk a mark is drawn, and stays, on the same pixels", async ({ browser }) => {
  const { page, context } = await openBoard(browser, LAPTOP);
  for (const direction of DIRECTIONS) {
    await read(page, direction);
    await page.locator("[data-canvas]").scrollIntoViewIfNeeded();
    await page.locator("button[aria-pressed]", { hasText: "Arrow" }).first().click();
    const [from, to] = [await onScreen(page, 0.2, 0.3), await onScreen(page, 0.6, 0.5)];
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(to.x, to.y, { steps: 4 });
    await page.mouse.up();
  }
  const marks = await marksOf(page);
  expect(marks).toHaveLength(2);
  for (const mark of marks) {
    expect(JSON.stringify([mark["from"], mark["to"]], (_, value: unknown) => (typeof value === "number" ? Math.round(value * 50) / 50 : value)))
      .toBe(JSON.stringify([{ x: 0.2, y: 0.3 }, { x: 0.6, y: 0.5 }]));
  }
  const words: unknown[] = [];
  for (const direction of DIRECTIONS) {
    await read(page, direction);
    const canvas = page.locator("[data-canvas]");
    words.push(await Promise.all((await page.locator("[data-canvas] [data-mark]").all()).map(async (mark) => {
      const at = await placeIn(mark, canvas);
      return [at.x.toFixed(2), at.y.toFixed(2)];
    })));
  }
  expect(words[1]).toEqual(words[0]);
  await context.close();
});
