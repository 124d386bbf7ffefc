import type { Browser, BrowserContextOptions } from "@playwright/test";
import { PHONE } from "@/e2e/journey/person";
import { withDemo } from "@/tests/bench/demo";
import { withEmptyPage } from "@/tests/bench/empty-page";
import type { Line, Section } from "@/tests/bench/section";

/** The parent of the demo who sends a first photo, her child, and who answers. */
const [PARENT, CHILD, THERAPIST] = ["Maeve Sorrel", "Nia", "Tom Ferrant"];
/** What a page may weigh over the empty one, in bytes. The figures are ours. */
const [FAMILY_MOST, DESK_MOST] = [25_000, 70_000];

type Weight = { readonly script: number; readonly style: number };
type Weighed = { readonly what: string; readonly path: string; readonly most: number | null };

/**
 * What comes over the line with a page's first look, nothing cached and no worker: script and style as
 * sent, until the line is quiet. Beside it the least that any page of the same framework weighs, built
 * and served the same way, and how much more each is.
 */
export async function weight(): Promise<Section> {
  return withDemo(async (browser, origin) => {
    const empty = await withEmptyPage((at) => weigh(browser, at, {}, "/"));
    const lines = [line({ what: "an empty page", path: "/", most: null }, empty, empty)];
    for (const [who, pages] of await pagesOf(browser, origin)) {
      for (const page of pages) lines.push(line(page, await weigh(browser, origin, who, page.path), empty));
    }
    return { name: "weight", how: "bytes as sent, nothing cached, no worker, until the line is quiet; over: more than the empty page of this run", lines };
  });
}

async function pagesOf(browser: Browser, origin: string): Promise<readonly (readonly [BrowserContextOptions, readonly Weighed[]])[]> {
  const parent = await signedIn(browser, origin, PARENT, "/family/send");
  const sending = parent.links.find((link) => link.text.startsWith(`${CHILD}:`))?.to ?? "";
  const childId = new URL(sending, origin).searchParams.get("child") ?? "";
  const staff = await signedIn(browser, origin, THERAPIST, "/desk");
  const answering = staff.links.find(({ to }) => /\/sets\/[^/]+$/.test(to))?.to ?? "";
  if (!childId || !answering) throw new Error("the demo has nobody to send or nothing to answer");
  const family = (what: string, path: string): Weighed => ({ what, path, most: FAMILY_MOST });
  return [
    [parent.state, [
      family("before you start", "/family"), family("sending a photo", sending), family("choosing the child", "/family/send"), family("history", "/family/history"),
      family("something hurts", "/family/symptom"), family("settings", "/family/account"), family("side card", `/family/card/${childId}`),
      family("consent", `/family/consent/${childId}`), family("taking a record", `/family/export/${childId}`), family("without signal", "/kept"),
    ]],
    [{}, [family("signing in", "/sign-in")]],
    [staff.state, [{ what: "to answer", path: "/desk", most: null }, { what: "answering", path: answering, most: DESK_MOST }]],
  ];
}

type SignedIn = { readonly state: BrowserContextOptions; readonly links: readonly { readonly text: string; readonly to: string }[] };

/** Somebody of the demo, and where one of their pages leads. */
async function signedIn(browser: Browser, origin: string, name: string, path: string): Promise<SignedIn> {
  const context = await browser.newContext({ ...PHONE, baseURL: origin });
  const page = await context.newPage();
  await page.goto("/sign-in");
  await page.getByRole("button", { name: new RegExp(name) }).first().click();
  await page.waitForURL(/\/(?:family|desk)/);
  await page.goto(path);
  const links = await page.getByRole("main").getByRole("link").evaluateAll((all) => all.map((each) => ({ text: (each.textContent ?? "").trim(), to: each.getAttribute("href") ?? "" })));
  const state = { storageState: await context.storageState() };
  await context.close();
  return { state, links };
}

async function weigh(browser: Browser, origin: string, who: BrowserContextOptions, path: string): Promise<Weight> {
  const context = await browser.newContext({ ...PHONE, ...who, baseURL: origin, serviceWorkers: "block" });
  const page = await context.newPage();
  await page.goto(path, { waitUntil: "networkidle" });
  const sent = await page.evaluate(() => performance.getEntriesByType("resource")
    .map((entry) => ({ path: new URL(entry.name).pathname, bytes: entry instanceof PerformanceResourceTiming ? entry.encodedBodySize : 0 })));
  await context.close();
  const sum = (ending: string) => sent.filter((each) => each.path.endsWith(ending)).reduce((all, each) => all + each.bytes, 0);
  return { script: sum(".js"), style: sum(".css") };
}

const line = ({ what, most }: Weighed, { script, style }: Weight, empty: Weight): Line =>
  ({ what, script, "script over": script - empty.script, "at most": most ?? "", style, "style over": style - empty.style });
