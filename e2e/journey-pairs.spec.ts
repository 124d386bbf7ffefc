import { join } from "node:path";
import { expect, test, type Locator, type Page } from "@playwright/test";
import Database from "better-sqlite3";
import { expectSound, LAPTOP, personAt, PHONE, someone, signIn } from "@/e2e/journey/person";

const PATH = `/desk/children/${childNamed("Mira")}/then-and-now`;

function childNamed(name: string): string {
  const db = new Database(join(process.env["E2E_DATA_DIR"] ?? "", "trueside.db"), { readonly: true });
  const id: unknown = db.prepare("select id from children where given_name = ?").pluck().get(name);
  db.close();
  return String(id);
}

const panes = (page: Page): Locator => page.getByRole("figure").getByRole("application");
/** What of each photo is looked at: left, top, width and height in its own pixels. */
const looked = async (page: Page): Promise<readonly (readonly number[])[]> =>
  panes(page).locator("svg").evaluateAll((all) => all.map((svg) => (svg.getAttribute("viewBox") ?? "").split(" ").map(Number)));

/** Both photos show the same part; gives it. The demo's photos are of one size. */
async function together(page: Page): Promise<readonly number[]> {
  const [one = [], other = []] = await looked(page);
  expect(one).toHaveLength(4);
  one.forEach((part, at) => expect(other[at]).toBeCloseTo(part, 6));
  return one;
}
const widthOf = (box: readonly number[]): number => box[2] ?? 0;

for (const [name, device] of [["laptop", LAPTOP], ["phone", PHONE]] as const) {
  test(`two photos are looked at together by keys, wheel, finger and buttons on a ${name}`, async ({ browser }) => {
    test.slow();
    const therapist = await personAt(browser, "Ines Calloway", device);
    const { page } = therapist;
    await page.goto(PATH);
    await expect(panes(page)).toHaveCount(2);
    await expectSound(therapist);
    const whole = await together(page);
    const [first, second] = [panes(page).first(), panes(page).last()];
    const boxes = await Promise.all([first.boundingBox(), second.boundingBox()]);
    // Beside each other on a laptop, one above the other on a phone.
    expect((boxes[1]?.y ?? 0) > (boxes[0]?.y ?? 0)).toBe(device === PHONE);

    await first.focus();
    await page.keyboard.press("+");
    await page.keyboard.press("+");
    const near = await together(page);
    expect(widthOf(near)).toBeLessThan(widthOf(whole));
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowDown");
    const moved = await together(page);
    expect(moved[0]).toBeGreaterThan(near[0] ?? 0);
    expect(moved[1]).toBeGreaterThan(near[1] ?? 0);
    await page.keyboard.press("Tab");
    await expect(second).toBeFocused();
    await page.keyboard.press("0");
    expect(await together(page)).toEqual(whole);

    await page.getByRole("button", { name: "Move both together" }).click();
    await second.focus();
    await page.keyboard.press("+");
    const [still, apart] = await looked(page);
    expect(still).toEqual(whole);
    expect(widthOf(apart ?? [])).toBeLessThan(widthOf(whole));
    await expect(page.getByText("The buttons move the second photo.")).toBeVisible();
    await page.getByRole("button", { name: "Whole photo" }).click();
    await page.getByRole("button", { name: "Move both together" }).click();
    expect(await together(page)).toEqual(whole);

    await page.getByRole("button", { name: "Zoom in" }).click();
    const middle = await together(page);
    await page.getByRole("button", { name: "Look left" }).click();
    expect((await together(page))[0]).toBeLessThan(middle[0] ?? 0);
    await page.getByRole("button", { name: "Whole photo" }).click();
    await first.scrollIntoViewIfNeeded();
    await (device === PHONE ? byFingers(page, first) : byMouse(page, first));
    await expect.poll(async () => widthOf(await together(page))).toBeLessThan(widthOf(whole) * 0.9);
    await expectSound(therapist);
    await therapist.context.close();
  });
}

/** Two turns of the wheel over a photo, then a drag. */
async function byMouse(page: Page, pane: Locator): Promise<void> {
  await pane.hover();
  await page.mouse.wheel(0, -200);
  await expect.poll(async () => (await together(page))[0]).toBeGreaterThan(0);
  const before = await together(page);
  await page.mouse.down();
  const box = await pane.boundingBox();
  await page.mouse.move((box?.x ?? 0) + (box?.width ?? 0) / 2 + 40, (box?.y ?? 0) + (box?.height ?? 0) / 2 + 20, { steps: 4 });
  await page.mouse.up();
  const after = await together(page);
  expect(after[0]).toBeLessThan(before[0] ?? 0);
  expect(after[1]).toBeLessThan(before[1] ?? 0);
}

/** Two fingers that part on a photo. */
async function byFingers(page: Page, pane: Locator): Promise<void> {
  const box = await pane.boundingBox();
  const [x, y] = [(box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + (box?.height ?? 0) / 2];
  const client = await page.context().newCDPSession(page);
  const fingers = (apart: number) => [{ x: x - apart, y, id: 1 }, { x: x + apart, y, id: 2 }];
  await client.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: fingers(30) });
  for (const apart of [45, 60, 75, 90]) await client.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: fingers(apart) });
  await client.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
}

test("two photos stand beside each other without scripts, and others are chosen from the lists", async ({ browser }) => {
  const therapist = await someone(browser, LAPTOP, { javaScriptEnabled: false });
  await signIn(therapist, "Ines Calloway");
  const { page } = therapist;
  await page.goto(PATH);
  const shown = () => page.locator("svg image").evaluateAll((all) => all.map((image) => image.getAttribute("href")));
  const before = await shown();
  expect(new Set(before).size).toBe(2);
  const list = page.getByLabel("First photo");
  await list.selectOption({ index: 2 });
  await page.getByRole("button", { name: "Show these two" }).click();
  await page.waitForURL(/first=/);
  const after = await shown();
  expect([after[0] === before[0], after[1]]).toEqual([false, before[1]]);
  await therapist.context.close();
});

test("a pair is attached to an answer, kept in its draft, and taken out again", async ({ browser }) => {
  test.slow();
  const therapist = await personAt(browser, "Ines Calloway", LAPTOP);
  const { page } = therapist;
  await page.goto(`/desk/children/${childNamed("Lena")}`);
  await page.getByRole("listitem").filter({ hasText: "Waiting for an answer" }).getByRole("link").click();
  await page.waitForURL(/\/sets\//);
  await page.getByText("Then and now", { exact: true }).click();
  await expect(panes(page)).toHaveCount(2);
  await page.getByRole("button", { name: "Attach this pair to the answer" }).click();
  await expect(page.getByText("This pair goes with the answer")).toBeVisible();
  const kept = page.locator("input[name='pair.1']");
  await expect(kept).toHaveValue(/^[\w-]{36}:[\w-]{36}$/);
  await expect(page.getByText("Draft kept")).toBeVisible();
  await expectSound(therapist);
  await page.reload();
  await expect(kept).toHaveValue(/^[\w-]{36}:[\w-]{36}$/);
  await page.getByRole("button", { name: /^Take out: / }).click();
  await expect(kept).toHaveCount(0);
  await expect(page.getByText("Draft kept")).toBeVisible();
  await page.reload();
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await expect(kept).toHaveCount(0);
  await therapist.context.close();
});

test("a family reads the pair with its answer, the earlier photo first", async ({ browser }) => {
  const parent = await personAt(browser, "Adaeze Okonjo-Lund", PHONE);
  const { page } = parent;
  await page.goto("/family/history");
  const pair = page.getByRole("region", { name: "Then and now" });
  const captions = pair.locator("figcaption");
  await expect(captions).toHaveText([/^Then, \w{3} \d+ \w{3} \d{4}$/, /^Now, \w{3} \d+ \w{3} \d{4}$/]);
  const pictures = pair.getByRole("img", { name: /^Photo of .*from behind/ });
  await expect(pictures).toHaveCount(2);
  await pair.scrollIntoViewIfNeeded();
  await expect.poll(() => pictures.evaluateAll((all) => all.every((image) => image instanceof HTMLImageElement && image.naturalWidth > 0))).toBe(true);
  await expectSound(parent);
  await parent.context.close();
});
