import type { Browser, BrowserContext, Page } from "@playwright/test";
import { judge } from "@/e2e/journey/answering";
import { LAPTOP, PHONE } from "@/e2e/journey/person";
import { withDemo } from "@/tests/bench/demo";
import { withEmptyPage } from "@/tests/bench/empty-page";
import { longestTasks, type Longest } from "@/tests/bench/main-thread";
import { braked, CHILD, choosePhoto, DESK_PAGES, PAGES, PHOTOS, sendIt, signedIn, SLOWER, THERAPIST, toLastLook, toSending } from "@/tests/bench/phone-steps";
import { spread, type Line, type Section } from "@/tests/bench/section";

const WORDS = " It looks good. Keep the elbow high and the shoulders stacked like books.";

/** A way through the app, in parts; each ends where something is to be seen. */
type Way = {
  readonly what: string;
  readonly open: () => Promise<BrowserContext>;
  /** What comes before, unmeasured. */
  readonly before?: (page: Page) => Promise<void>;
  readonly go: (page: Page, ended: (part: string) => Promise<void>) => Promise<void>;
};

/**
 * The longest task of the main thread on a processor four times slower, and how far things move by themselves:
 * each page, nothing cached; an answer as it is written; a family's pages with all that is kept on the phone; a photo
 * from the choice to the page after it was stored. The task is the thread's own processor time, four times, without the browser's
 * brake: that one counts what other programs took of this machine, and more than once. What moves is seen with both brakes.
 */
export async function tasks(runs: number): Promise<Section> {
  return withDemo(async (browser, origin) => {
    const lines: Line[] = [];
    for (const way of await waysOf(browser, origin)) lines.push(...await measured(browser, way, Math.min(runs, 5)));
    lines.push(...await withEmptyPage((baseURL) => measured(browser, visit("an empty page", () => browser.newContext({ ...PHONE, baseURL }), "/"), Math.min(runs, 5))));
    return {
      name: "tasks", how: "longest task of the main thread: ms of its own processor time, four times; layout shift after CLS, on a slow line and processor; doing: one run traced in full",
      lines,
    };
  });
}

/** Still for a second, with nothing under way. */
async function settled(page: Page): Promise<void> {
  await page.waitForLoadState("networkidle");
  await page.waitForTimeout(1000);
}

const visit = (what: string, open: Way["open"], path: string, more: Pick<Way, "before"> = {}): Way => ({
  what, open, ...more,
  go: async (page, ended) => {
    await page.goto(path);
    await settled(page);
    await ended("");
  },
});

async function waysOf(browser: Browser, origin: string): Promise<readonly Way[]> {
  const [family, desk] = [await signedIn(browser, origin), await signedIn(browser, origin, THERAPIST)];
  const answering = await desk.page.locator('main a[href*="/sets/"]').first().getAttribute("href");
  if (!answering) throw new Error("the demo has nothing to answer");
  await family.page.goto("/family/send");
  const sending = await family.page.getByRole("main").getByRole("link", { name: new RegExp(`^${CHILD}:`) }).getAttribute("href");
  if (!sending) throw new Error("the demo has nobody to send");
  const [ofFamily, ofDesk] = [await family.context.storageState(), await desk.context.storageState()];
  await family.context.close();
  await desk.context.close();

  const fresh = () => browser.newContext({ ...PHONE, baseURL: origin, storageState: ofFamily, serviceWorkers: "block" });
  const laptop = () => browser.newContext({ ...LAPTOP, baseURL: origin, storageState: ofDesk, serviceWorkers: "block" });
  const phone = () => browser.newContext({ ...PHONE, baseURL: origin, storageState: ofFamily });
  const kept = { before: keepAll };
  return [
    ...PAGES.filter((path) => path !== "/sign-in").map((path) => visit(path, fresh, path)),
    visit("/sign-in", () => browser.newContext({ ...PHONE, baseURL: origin, serviceWorkers: "block" }), "/sign-in"),
    visit("sending, before a photo is chosen", fresh, sending),
    ...DESK_PAGES.map((path) => visit(path, laptop, path)),
    visit("the answering desk", laptop, answering),
    {
      what: "the answering desk", open: laptop,
      before: async (page) => {
        await page.goto(answering);
        await settled(page);
      },
      go: async (page, ended) => {
        await judge(page, { "prop-low-back": "fix" });
        await settled(page);
        await ended("every item judged");
        await page.locator('textarea[name="summary"]').focus();
        await page.keyboard.type(WORDS, { delay: 20 });
        await settled(page);
        await ended("words typed");
        await drawRing(page);
        await settled(page);
        await ended("a ring drawn");
      },
    },
    visit("/family, kept on the phone", phone, "/family", kept),
    visit("/kept, kept on the phone, online", phone, "/kept", kept),
    {
      what: "/family, kept on the phone, no line", open: phone, ...kept,
      go: async (page, ended) => {
        await page.context().setOffline(true);
        await page.goto("/family");
        await settled(page);
        await ended("");
      },
    },
    ...PHOTOS.map(([what, path]): Way => ({
      what, open: phone, before: toSending,
      go: async (page, ended) => {
        await choosePhoto(page, path);
        await settled(page);
        await ended("chosen to ready to look at");
        await page.getByRole("button", { name: "Use this photo" }).click();
        await toLastLook(page);
        await settled(page);
        await ended("from there to the last look");
        await sendIt(page);
        await settled(page);
        await ended("last tap to stored, and the page after it");
      },
    })),
  ];
}

async function drawRing(page: Page): Promise<void> {
  const canvas = page.locator("[data-canvas]");
  const box = await canvas.boundingBox();
  if (!box) throw new Error("there is no board");
  await canvas.focus();
  await page.keyboard.press("o");
  await page.mouse.move(box.x + box.width / 3, box.y + box.height / 3);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2, { steps: 20 });
  await page.mouse.up();
}

async function keepAll(page: Page): Promise<void> {
  await page.goto("/family");
  await page.getByRole("button", { name: "Yes, keep it" }).click();
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  await page.goto("/kept");
  await page.getByText(CHILD).first().waitFor();
}

async function measured(browser: Browser, { what, open, before, go }: Way, runs: number): Promise<readonly Line[]> {
  const longest = new Map<string, number[]>();
  const moved: number[] = [];
  const inOne = async <T>(work: (page: Page) => Promise<T>): Promise<T> => {
    const context = await open();
    try {
      const page = await context.newPage();
      await before?.(page);
      return await work(page);
    } finally {
      await context.close();
    }
  };
  const trace = (isFull: boolean) => inOne((page) => longestTasks(browser, page, (ended) => go(page, ended), isFull));
  const full = await trace(true);
  for (let run = 0; run < runs; run += 1) {
    for (const [part, { ms }] of await trace(false)) longest.set(part, [...longest.get(part) ?? [], ms * SLOWER]);
  }
  await inOne(async (page) => {
    await page.addInitScript(watchShifts);
    await go(await braked(page), async () => {});
    moved.push(await page.evaluate(() => Number(window.sessionStorage.getItem("shift"))));
  });
  return [...longest].map(([part, values], at) => {
    const { median, least, most } = spread(values);
    return { what: part ? `${what}: ${part}` : what, runs: values.length, "longest task, ms": median, "least to most": `${least} to ${most}`, doing: said(full.get(part)), "layout shift": at === longest.size - 1 ? spread(moved, 3).median : "" };
  });
}

/** The three that took most, in percent of the task. */
function said(longest: Longest | undefined): string {
  if (!longest) return "";
  const all = longest.doing.reduce((sum, [, ms]) => sum + ms, 0);
  return longest.doing.slice(0, 3).map(([kind, ms]) => `${kind} ${Math.round((ms / all) * 100)} %`).join(", ");
}

/** Layout Instability (WICG), in the page and summed over the pages of a way; what follows a touch within half a second is no shift. */
function watchShifts(): void {
  const key = "shift";
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) {
      const { value, hadRecentInput } = entry as unknown as { value: number; hadRecentInput: boolean }; // not in the types
      if (!hadRecentInput) sessionStorage.setItem(key, String(Number(sessionStorage.getItem(key)) + value));
    }
  }).observe({ type: "layout-shift", buffered: true });
}
