import type { Browser, Page } from "@playwright/test";

/** What the main thread did longest in one go: thread time in ms, and which of it was what, most first. */
export type Longest = { readonly ms: number; readonly doing: readonly (readonly [Kind, number])[] };
type Kind = "compiling" | "running scripts" | "style and layout" | "painting" | "reading HTML" | "decoding pictures" | "WebAssembly" | "storage" | "clearing memory" | "the browser's own";

/** One complete event of Chromium's trace (the Trace Event Format): times in microseconds, `tdur` the thread's own. */
type Traced = { readonly name: string; readonly cat: string; readonly ph: string; readonly pid: number; readonly tid: number; readonly ts: number; readonly dur?: number; readonly tdur?: number; readonly args?: { readonly name?: string } };
type Timed = Traced & { readonly dur: number; readonly tdur: number };

/** Top-level tasks alone: what is traced besides would be counted too. */
const LEAN = ["toplevel", "blink.user_timing"];
const FULL = [...LEAN, "v8", "devtools.timeline", "disabled-by-default-v8.compile", "disabled-by-default-v8.gc", "v8.wasm", "IndexedDB"];
/** What an event's name says was done, asked in this order. */
const KINDS: readonly (readonly [RegExp, Kind])[] = [
  [/wasm/i, "WebAssembly"],
  [/^V8\.(?:Parse|PreParse|Compile|CollectSourcePositions|Optimize|Deoptimize|Maglev|Turbofan|Sparkplug|Stack)|^v8\.(?:compile|parse|produceCache)|^FlushInstructionCache/, "compiling"],
  [/GC/, "clearing memory"],
  [/Decode/, "decoding pictures"],
  [/IndexedDB|IDB/, "storage"],
  [/^v8\.|^V8\.|^(?:EvaluateScript|FunctionCall|EventDispatch|RunMicrotasks|TimerFire|FireAnimationFrame|FireIdleCallback|XHR)/, "running scripts"],
  [/^(?:UpdateLayoutTree|Layout|PrePaint|HitTest|ScheduleStyleRecalculation|ParseAuthorStyleSheet|IntersectionObserver)/, "style and layout"],
  [/^(?:Paint|Layerize|Commit|UpdateLayer|CompositeLayers)/, "painting"],
  [/^ParseHTML/, "reading HTML"],
];

/**
 * The longest task of a page's main thread in each part of `work`, by the thread's own processor time: what
 * other programs took of a shared machine meanwhile is not in it. The work says where each part ends.
 * `isFull`: also what it was doing, which costs the page some time of its own.
 */
export async function longestTasks(browser: Browser, page: Page, work: (ended: (part: string) => Promise<void>) => Promise<void>, isFull: boolean): Promise<ReadonlyMap<string, Longest>> {
  const parts: string[] = [];
  await browser.startTracing(page, { categories: isFull ? FULL : LEAN });
  await work(async (part) => {
    parts.push(part);
    await page.evaluate((name) => performance.mark(name), markOf(part));
  });
  const { traceEvents } = JSON.parse((await browser.stopTracing()).toString()) as { traceEvents: readonly Traced[] }; // Chromium's own
  return new Map(parts.map((part, at) => [part, longestIn(traceEvents, parts[at - 1], part)]));
}

const markOf = (part: string): string => `trueside ${part}`;
const threadOf = ({ pid, tid }: Traced): string => `${pid} ${tid}`;

/** Of every page's main thread, since a page may have come in another process than the one before. */
function longestIn(events: readonly Traced[], from: string | undefined, to: string): Longest {
  const at = (part: string): number => {
    const mark = events.find(({ name }) => name === markOf(part));
    if (!mark) throw new Error(`the trace has no end of ${part}`);
    return mark.ts;
  };
  const [begin, end] = [from === undefined ? 0 : at(from), at(to)];
  const mains = new Set(events.filter(({ name, args }) => name === "thread_name" && args?.name === "CrRendererMain").map(threadOf));
  const own = events.filter((each): each is Timed => each.ph === "X" && mains.has(threadOf(each)) && each.tdur !== undefined && each.dur !== undefined && each.ts >= begin && each.ts < end);
  const tasks = own.filter(({ name, cat }) => cat.includes("toplevel") && name.endsWith("RunTask"));
  if (tasks.length === 0) throw new Error(`the trace has no task before the end of ${to}`);
  const longest = tasks.reduce((most, each) => (each.tdur > most.tdur ? each : most));
  return { ms: longest.tdur / 1000, doing: doingIn(own.filter((each) => threadOf(each) === threadOf(longest)), longest) };
}

/** What was done within a task: each event's thread time without that of what lies inside it. */
function doingIn(events: readonly Timed[], task: Timed): Longest["doing"] {
  const inside = events.filter((each) => each.ts >= task.ts && each.ts + each.dur <= task.ts + task.dur).toSorted((one, other) => one.ts - other.ts || other.dur - one.dur);
  const spent = new Map<Kind, number>();
  const add = (kind: Kind, us: number) => spent.set(kind, (spent.get(kind) ?? 0) + us / 1000);
  const around: (readonly [Timed, Kind])[] = [];
  for (const each of inside) {
    for (let last = around.at(-1); last && last[0].ts + last[0].dur <= each.ts; last = around.at(-1)) around.pop();
    const outer = around.at(-1);
    // What has no name of its own here belongs to what it is part of.
    const kind = KINDS.find(([names]) => names.test(each.name))?.[1] ?? outer?.[1] ?? "the browser's own";
    add(kind, each.tdur);
    if (outer) add(outer[1], -each.tdur);
    around.push([each, kind]);
  }
  return [...spent].toSorted((one, other) => other[1] - one[1]);
}
