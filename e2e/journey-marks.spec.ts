import { expect, test, type Page } from "@playwright/test";
import { marksOf, onScreen, openBoard } from "@/e2e/journey/board";
import { expectSound, LAPTOP, PHONE } from "@/e2e/journey/person";

const status = (page: Page) => page.getByRole("region", { name: "The photo and its marks" }).locator("output");
type At = { readonly x: number; readonly y: number };
const near = (point: At) => ({ x: expect.closeTo(point.x, 2), y: expect.closeTo(point.y, 2) });

test("a therapist draws, moves, undoes and deletes with the keyboard alone", async ({ browser }) => {
  const therapist = await openBoard(browser, LAPTOP);
  const { page } = therapist;
  const item = page.locator("fieldset[data-item]:not([data-stop])").first();
  const itemKey = await item.getAttribute("data-item");
  await item.locator("input[value=fix]").focus();
  await page.keyboard.press("Space");

  // The item in hand stands at fix: the arrow belongs to it.
  await page.keyboard.press("a");
  await page.keyboard.press("a");
  const [placed] = await marksOf(page);
  expect(placed).toMatchObject({ kind: "arrow", itemKey, from: near({ x: 0.4, y: 0.6 }), to: near({ x: 0.6, y: 0.4 }) });
  await expect(status(page)).toContainText("Arrow 1");

  // A run of moves is one change; one end by itself is another.
  for (const key of ["ArrowRight", "ArrowRight", "Shift+ArrowRight"]) await page.keyboard.press(key);
  expect((await marksOf(page))[0]).toMatchObject({ from: near({ x: 0.47, y: 0.6 }), to: near({ x: 0.67, y: 0.4 }) });
  await page.keyboard.press("Tab");
  await expect(page.locator("[data-handle=from]")).toBeFocused();
  await page.keyboard.press("ArrowLeft");
  expect((await marksOf(page))[0]).toMatchObject({ from: near({ x: 0.46, y: 0.6 }), to: near({ x: 0.67, y: 0.4 }) });
  await page.keyboard.press("Control+z");
  await page.keyboard.press("Control+z");
  expect((await marksOf(page))[0]).toEqual(placed);
  await page.keyboard.press("Control+Shift+z");
  expect((await marksOf(page))[0]).toMatchObject({ from: near({ x: 0.47, y: 0.6 }) });

  // An angle says what it is worth; a note is typed at once; brackets go from mark to mark.
  await page.keyboard.press("g");
  await page.keyboard.press("Enter");
  await expect(status(page)).toHaveText(/Angle 2: \d+° photo estimate, ±5° at best/);
  await page.keyboard.press("t");
  await page.keyboard.press("t");
  await page.keyboard.type("a g o 1: words, not tools");
  await page.keyboard.press("Enter");
  expect((await marksOf(page)).map((mark) => [mark.kind, mark.text])).toEqual([["arrow", undefined], ["angle", undefined], ["note", "a g o 1: words, not tools"]]);
  await page.keyboard.press("[");
  await expect(page.locator("[data-mark]").nth(1)).toBeFocused();
  await page.keyboard.press("Delete");
  expect((await marksOf(page)).map((mark) => mark.kind)).toEqual(["arrow", "note"]);
  await expectSound(therapist);

  // Escape leaves the photo for the item in hand.
  await page.keyboard.press("]");
  await page.keyboard.press("Escape");
  await expect(item.locator("input:focus")).toHaveCount(1);
  await therapist.context.close();
});

test("a therapist draws, takes up and zooms with a mouse", async ({ browser }) => {
  const therapist = await openBoard(browser, LAPTOP);
  const { page } = therapist;
  const drag = async (from: At, to: At, isHeld = false) => {
    const [a, b] = [await onScreen(page, from.x, from.y), await onScreen(page, to.x, to.y)];
    await page.mouse.move(a.x, a.y);
    await page.mouse.down();
    await page.mouse.move(b.x, b.y, { steps: 4 });
    if (!isHeld) await page.mouse.up();
  };
  const drawn = page.locator("[data-canvas] > g").first().locator("path");

  await page.keyboard.press("a");
  await drag({ x: 0.2, y: 0.3 }, { x: 0.5, y: 0.5 }, true);
  // Shown while it is drawn, and kept only when the button is let go.
  await expect(drawn).toHaveCount(2);
  expect(await marksOf(page)).toEqual([]);
  await page.mouse.up();
  expect(await marksOf(page)).toMatchObject([{ kind: "arrow", from: near({ x: 0.2, y: 0.3 }), to: near({ x: 0.5, y: 0.5 }) }]);

  // Taken up by its end, then as a whole.
  await drag({ x: 0.5, y: 0.5 }, { x: 0.4, y: 0.7 });
  expect((await marksOf(page))[0]).toMatchObject({ from: near({ x: 0.2, y: 0.3 }), to: near({ x: 0.4, y: 0.7 }) });
  await drag({ x: 0.3, y: 0.5 }, { x: 0.4, y: 0.4 });
  expect((await marksOf(page))[0]).toMatchObject({ from: near({ x: 0.3, y: 0.2 }), to: near({ x: 0.5, y: 0.6 }) });

  // An angle: the first arm by a drag, the second by a press.
  await page.keyboard.press("g");
  await drag({ x: 0.8, y: 0.3 }, { x: 0.6, y: 0.8 });
  const end = await onScreen(page, 0.9, 0.8);
  await page.mouse.click(end.x, end.y);
  expect((await marksOf(page))[1]).toMatchObject({ kind: "angle", from: near({ x: 0.8, y: 0.3 }), vertex: near({ x: 0.6, y: 0.8 }), to: near({ x: 0.9, y: 0.8 }) });

  // The wheel enlarges about the pointer; a drag beside every mark looks around; 0 shows all again.
  const held = await onScreen(page, 0.5, 0.2);
  await page.mouse.move(held.x, held.y);
  await page.mouse.wheel(0, -300);
  await expect.poll(async () => (await onScreen(page, 0.71, 0.2)).x - (await onScreen(page, 0.7, 0.2)).x).toBeGreaterThan(4);
  const still = await onScreen(page, 0.5, 0.2);
  expect(Math.hypot(still.x - held.x, still.y - held.y)).toBeLessThan(1);
  await drag({ x: 0.5, y: 0.25 }, { x: 0.48, y: 0.3 });
  const moved = await onScreen(page, 0.5, 0.2);
  expect(Math.hypot(moved.x - held.x, moved.y - held.y)).toBeGreaterThan(5);
  await page.keyboard.press("0");
  expect((await marksOf(page)).length).toBe(2);
  await expectSound(therapist);
  await therapist.context.close();
});

test("on a phone a finger draws, two zoom, and one still scrolls the page", async ({ browser }) => {
  const therapist = await openBoard(browser, PHONE);
  const { page } = therapist;
  const client = await page.context().newCDPSession(page);
  const touch = (type: "touchStart" | "touchMove" | "touchEnd", points: readonly At[]) =>
    client.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(({ x, y }, id) => ({ x, y, id })) });
  const swipe = async (...fingers: readonly (readonly [At, At])[]) => {
    await touch("touchStart", fingers.map(([from]) => from));
    for (const share of [0.25, 0.5, 0.75, 1]) {
      await touch("touchMove", fingers.map(([from, to]) => ({ x: from.x + (to.x - from.x) * share, y: from.y + (to.y - from.y) * share })));
    }
    await touch("touchEnd", []);
  };
  const scrolled = () => page.evaluate(() => window.scrollY);
  const tools = page.getByRole("toolbar", { name: "Tools for the photo" });
  for (const box of await Promise.all((await tools.getByRole("button").all()).map((button) => button.boundingBox()))) {
    expect(Math.min(box?.width ?? 0, box?.height ?? 0)).toBeGreaterThanOrEqual(44);
  }

  await tools.getByRole("button", { name: "Ring" }).tap();
  await page.locator("[data-canvas]").evaluate((canvas) => canvas.scrollIntoView({ block: "center" }));
  const start = await scrolled();
  await swipe([await onScreen(page, 0.3, 0.3), await onScreen(page, 0.5, 0.6)]);
  expect(await marksOf(page)).toMatchObject([{ kind: "ring", center: near({ x: 0.4, y: 0.45 }) }]);
  // The ring just drawn is chosen, and a finger moves it.
  await swipe([await onScreen(page, 0.4, 0.45), await onScreen(page, 0.6, 0.5)]);
  expect((await marksOf(page))[0]).toMatchObject({ center: near({ x: 0.6, y: 0.5 }) });
  await swipe(
    [await onScreen(page, 0.45, 0.45), await onScreen(page, 0.3, 0.3)],
    [await onScreen(page, 0.55, 0.55), await onScreen(page, 0.7, 0.7)],
  );
  await expect(page.locator("[data-canvas]")).toHaveAttribute("data-zoomed", "");
  expect(await page.evaluate(() => window.visualViewport?.scale)).toBe(1);
  expect(await scrolled()).toBe(start);

  await tools.getByRole("button", { name: "Whole photo" }).tap();
  await page.locator("[data-canvas]").evaluate((canvas) => canvas.scrollIntoView({ block: "center" }));
  const before = await scrolled();
  const beside = await onScreen(page, 0.2, 0.9);
  await swipe([beside, { x: beside.x, y: beside.y - 200 }]);
  await expect.poll(async () => Math.abs((await scrolled()) - before)).toBeGreaterThan(50);
  expect((await marksOf(page))[0]).toMatchObject({ center: near({ x: 0.6, y: 0.5 }) });
  await expectSound(therapist);
  await therapist.context.close();
});

test("the sheet of keys stands in the middle of the screen, and its words clear of its edge", async ({ browser }) => {
  const therapist = await openBoard(browser, LAPTOP);
  const { page } = therapist;
  await page.keyboard.press("?");
  const sheet = page.locator("[popover]:popover-open");
  await expect(sheet.getByRole("heading", { name: "Keys on this page" })).toBeVisible();
  const { left, right, inside } = await sheet.evaluate((element) => {
    const [box, words] = [element.getBoundingClientRect(), element.querySelector("h2")?.getBoundingClientRect()];
    return { left: box.left, right: document.documentElement.clientWidth - box.right, inside: (words?.left ?? 0) - box.left };
  });
  expect(Math.abs(left - right)).toBeLessThanOrEqual(1);
  expect(inside).toBeGreaterThanOrEqual(8);
  await expectSound(therapist);
  await page.keyboard.press("Escape");
  await expect(sheet).toHaveCount(0);
  await therapist.context.close();
});
