import type { Browser, Page } from "@playwright/test";
import { PHONE } from "@/e2e/journey/person";
import { withDemo } from "@/tests/bench/demo";
import { braked, CHILD, choosePhoto, PAGES, PHOTOS, sendIt, signedIn, toLastLook, toSending } from "@/tests/bench/phone-steps";
import { spread, type Line, type Section } from "@/tests/bench/section";

/**
 * What a parent waits for, in Chromium with its own brakes on: the largest paint of "Before you start" from
 * the server, from the phone while online and without a line; a photo from the choice to the first look, and
 * from the last tap to the server's word that it is stored; each page's script as it comes over the line.
 * The brakes hold the page back and not its workers, so a real phone is slower at making a photo ready.
 */
export async function phone(runs: number): Promise<Section> {
  return withDemo(async (browser, origin) => {
    return {
      name: "phone", how: "1.6 Mbit/s, 150 ms, four times slower processor; largest paint and waits in ms, script in bytes as sent",
      lines: [...await paints(browser, origin, runs), ...await sendings(browser, origin, runs), ...await scripts(browser, origin)],
    };
  });
}

async function paints(browser: Browser, origin: string, runs: number): Promise<readonly Line[]> {
  const found: Record<"from the server, nothing cached" | "kept on the phone, online" | "kept on the phone, no line", number[]> = {
    "from the server, nothing cached": [], "kept on the phone, online": [], "kept on the phone, no line": [],
  };
  for (let run = 0; run < runs; run += 1) {
    const known = await signedIn(browser, origin);
    const state = await known.context.storageState();
    const fresh = await browser.newContext({ ...PHONE, baseURL: origin, storageState: state });
    const cold = await braked(await fresh.newPage());
    await cold.goto("/family");
    found["from the server, nothing cached"].push(await largestPaint(cold));
    await fresh.close();

    await known.page.getByRole("button", { name: "Yes, keep it" }).click();
    await known.page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await known.page.goto("/kept");
    await known.page.getByText(CHILD).first().waitFor();
    const later = await braked(await known.context.newPage());
    await later.goto("/kept");
    found["kept on the phone, online"].push(await largestPaint(later));
    await known.context.setOffline(true);
    await later.goto("/family");
    await later.getByText(CHILD).first().waitFor();
    found["kept on the phone, no line"].push(await largestPaint(later));
    await known.context.close();
  }
  return Object.entries(found).map(([what, ms]) => line(`Before you start: ${what}`, ms));
}

async function sendings(browser: Browser, origin: string, runs: number): Promise<readonly Line[]> {
  const lines: Line[] = [];
  for (const [what, path] of PHOTOS) {
    const [readied, stored, sent]: [number[], number[], number[]] = [[], [], []];
    for (let run = 0; run < Math.min(runs, 5); run += 1) {
      const { context, page } = await signedIn(browser, origin);
      await toSending(page);
      await braked(page);
      page.on("request", (request) => {
        if (/\/api\/photos\//.test(request.url())) sent.push(request.postDataBuffer()?.length ?? 0);
      });
      const chosen = performance.now();
      await choosePhoto(page, path);
      readied.push(performance.now() - chosen);
      await page.getByRole("button", { name: "Use this photo" }).click();
      await toLastLook(page);
      const pressed = performance.now();
      await sendIt(page);
      stored.push(performance.now() - pressed);
      await context.close();
    }
    lines.push(line(`${what}: chosen to ready to look at`, readied), line(`${what}: last tap to stored`, stored), line(`${what}: bytes sent`, sent));
  }
  return lines;
}

/** Compressed script of each page with nothing cached, what a page loads later on its own included. */
async function scripts(browser: Browser, origin: string): Promise<readonly Line[]> {
  const known = await signedIn(browser, origin);
  const state = await known.context.storageState();
  await known.context.close();
  const lines: Line[] = [];
  for (const path of PAGES) {
    const context = await browser.newContext({ ...PHONE, baseURL: origin, storageState: state, serviceWorkers: "block" });
    const page = await context.newPage();
    await page.goto(path, { waitUntil: "networkidle" });
    const bytes = await page.evaluate(() => performance.getEntriesByType("resource")
      .reduce((sum, entry) => sum + (entry instanceof PerformanceResourceTiming && new URL(entry.name).pathname.endsWith(".js") ? entry.encodedBodySize : 0), 0));
    lines.push(line(`script of ${path}`, [bytes]));
    await context.close();
  }
  return lines;
}

/** Largest Contentful Paint (W3C) once nothing larger has come for a second, ms since the navigation began. */
const largestPaint = (page: Page): Promise<number> => page.evaluate(async () => {
  const seen: number[] = [];
  new PerformanceObserver((list) => seen.push(...list.getEntries().map(({ startTime }) => startTime))).observe({ type: "largest-contentful-paint", buffered: true });
  for (let before = -1; before !== seen.length;) {
    before = seen.length;
    await new Promise((resolve) => window.setTimeout(resolve, 1000));
  }
  return seen.at(-1) ?? Number.NaN;
});

function line(what: string, values: readonly number[]): Line {
  const { median, least, most } = spread(values);
  return { what, runs: values.length, median, "least to most": `${least} to ${most}` };
}
