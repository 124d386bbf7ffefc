import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium, type Browser, type BrowserContext, type Page } from "@playwright/test";
import { startOwn } from "@/e2e/own-server";
import { LAPTOP, PHONE } from "@/e2e/journey/person";
import { freePort } from "@/e2e/walk/port";
import { findBrowser } from "@/lib/cli/browser.mjs";
import { spread, type Line, type Section } from "@/tests/bench/section";

const PACKAGES = join(fileURLToPath(new URL("../..", import.meta.url)), "node_modules");
const PHOTOS = [
  ["phone, 8 MP, 0.7 MB", "jpeg-exif/test/IMG_0001.JPG"],
  ["camera, 24 MP, 6.6 MB", "exif/test/sony-alpha-6000.jpg"],
] as const;

/** A poor connection and a cheap phone: 1.6 Mbit/s each way, 150 ms, a processor four times slower than this one. */
const SLOW_LINE = { offline: false, latency: 150, downloadThroughput: 200_000, uploadThroughput: 200_000 };
const SLOWER = 4;
/** The child of the demo who sends a first photo. */
const [PARENT, CHILD] = ["Maeve Sorrel", "Nia"];
const THERAPIST = "Tom Ferrant";
const DESK_PAGES = ["/desk", "/desk/caseload"];
const PAGES = ["/family", "/family/history", "/family/symptom", "/family/account", "/family/send", "/kept", "/sign-in"];

/**
 * What a parent waits for, in Chromium with its own brakes on: the largest paint of "Before you start" from
 * the server, from the phone while online and without a line; a photo from the choice to the first look, and
 * from the last tap to the server's word that it is stored; each page's script as it comes over the line, its longest
 * task and what moves on it by itself.
 * The brakes hold the page back and not its workers, so a real phone is slower at making a photo ready.
 */
export async function phone(runs: number): Promise<Section> {
  const dataDir = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  const port = String(await freePort());
  const server = startOwn({ PORT: port, DATA_DIR: dataDir, DEMO: "1" });
  const browser = await chromium.launch({ executablePath: await findBrowser(process.env, () => {}), args: process.getuid?.() === 0 ? ["--no-sandbox"] : [] });
  try {
    if (!(await server.ready)) throw new Error(`not serving: ${(await server.ended).err}`);
    const origin = `http://localhost:${port}`;
    return {
      name: "phone", how: "1.6 Mbit/s, 150 ms, four times slower processor; largest paint and waits in ms, script in bytes as sent",
      lines: [...await paints(browser, origin, runs), ...await sendings(browser, origin, runs), ...await scripts(browser, origin), ...await calm(browser, origin, runs)],
    };
  } finally {
    await browser.close();
    server.process.kill("SIGTERM");
    await server.ended;
    rmSync(dataDir, { recursive: true, force: true });
  }
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
      await page.goto("/family/send");
      await page.getByRole("main").getByRole("link", { name: new RegExp(`^${CHILD}:`) }).click();
      await page.getByLabel("Choose a photo").waitFor({ state: "attached" });
      await braked(page);
      page.on("request", (request) => {
        if (/\/api\/photos\//.test(request.url())) sent.push(request.postDataBuffer()?.length ?? 0);
      });
      const chosen = performance.now();
      await page.getByLabel("Choose a photo").setInputFiles(join(PACKAGES, path));
      const use = page.getByRole("button", { name: "Use this photo" });
      await use.waitFor({ timeout: 120_000 });
      readied.push(performance.now() - chosen);
      await use.click();
      await toLastLook(page);
      const finished = page.waitForResponse((answer) => /\/api\/photo-sets\//.test(answer.url()) && answer.ok(), { timeout: 120_000 });
      const pressed = performance.now();
      await page.getByRole("button", { name: "Yes, send it" }).click();
      await finished;
      stored.push(performance.now() - pressed);
      await context.close();
    }
    lines.push(line(`${what}: chosen to ready to look at`, readied), line(`${what}: last tap to stored`, stored), line(`${what}: bytes sent`, sent));
  }
  return lines;
}

async function toLastLook(page: Page): Promise<void> {
  const photo = page.getByRole("region", { name: "Photo 1" });
  await photo.getByRole("button", { name: "The floor is at the bottom" }).click({ timeout: 60_000 });
  await photo.getByRole("button", { name: "The head is on the left of the picture" }).click();
  await photo.getByRole("button", { name: `The back of ${CHILD}` }).click();
  await page.getByRole("button", { name: "Next" }).click();
  for (const none of await page.getByLabel("None of these").all()) await none.check();
  await page.getByRole("button", { name: "Next" }).click();
  await page.getByRole("button", { name: "Yes, send it" }).waitFor();
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

/** The longest task and how far things moved by themselves, until a page has been still for a second: nothing cached, the processor's brake alone. */
async function calm(browser: Browser, origin: string, runs: number): Promise<readonly Line[]> {
  const lines: Line[] = [];
  for (const [who, paths] of [[PARENT, PAGES], [THERAPIST, DESK_PAGES]] as const) {
    const known = await signedIn(browser, origin, who);
    const state = await known.context.storageState();
    const waiting = who === THERAPIST ? await known.page.locator('main a[href*="/sets/"]').first().getAttribute("href") : null;
    await known.context.close();
    for (const path of [...paths, ...(waiting ? [waiting] : [])]) {
      const [longest, moved]: [number[], number[]] = [[], []];
      for (let run = 0; run < Math.min(runs, 5); run += 1) {
        const context = await browser.newContext({ ...(who === PARENT ? PHONE : LAPTOP), baseURL: origin, storageState: state, serviceWorkers: "block" });
        const page = await context.newPage();
        await (await page.context().newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
        await page.addInitScript(watchTasksAndShifts);
        await page.goto(path, { waitUntil: "networkidle" });
        await page.waitForTimeout(1000);
        const seen = await page.evaluate(() => (window as unknown as { seen: Seen }).seen); // watchTasksAndShifts puts it there
        longest.push(Math.max(0, ...seen.tasks));
        moved.push(seen.shifts.reduce((sum, each) => sum + each, 0));
        await context.close();
      }
      const named = path === waiting ? "the answering desk" : path;
      lines.push(line(`longest task of ${named}, ms`, longest), line(`layout shift of ${named}`, moved, 3));
    }
  }
  return lines;
}

type Seen = { readonly tasks: number[]; readonly shifts: number[] };

/** Long Tasks and Layout Instability (W3C, WICG), in the page. Tasks under 50 ms are not reported to it. */
function watchTasksAndShifts(): void {
  const seen: Seen = { tasks: [], shifts: [] };
  (window as unknown as { seen: Seen }).seen = seen; // read again by `calm`
  new PerformanceObserver((list) => seen.tasks.push(...list.getEntries().map(({ duration }) => duration))).observe({ type: "longtask", buffered: true });
  new PerformanceObserver((list) => seen.shifts.push(...list.getEntries().map((entry) => (entry as unknown as { value: number }).value))).observe({ type: "layout-shift", buffered: true });
}

async function signedIn(browser: Browser, origin: string, who = PARENT): Promise<{ readonly context: BrowserContext; readonly page: Page }> {
  const context = await browser.newContext({ ...PHONE, baseURL: origin });
  const page = await context.newPage();
  await page.goto("/sign-in");
  await page.getByRole("button", { name: new RegExp(who) }).click();
  await page.waitForURL(/\/(?:family|desk)/);
  return { context, page };
}

async function braked(page: Page): Promise<Page> {
  const session = await page.context().newCDPSession(page);
  await session.send("Network.emulateNetworkConditions", SLOW_LINE);
  await session.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  return page;
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

function line(what: string, values: readonly number[], digits = 0): Line {
  const { median, least, most } = spread(values, digits);
  return { what, runs: values.length, median, "least to most": `${least} to ${most}` };
}
