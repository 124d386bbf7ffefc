import { monitorEventLoopDelay } from "node:perf_hooks";
import { setTimeout } from "node:timers/promises";
import { settleWeeks } from "@/lib/records/settled-times";
import { growPractice, type Size } from "@/tests/bench/big-practice";
import { pagesOf, wholePractice } from "@/tests/bench/pages";
import { spread, type Line, type Section } from "@/tests/bench/section";
import { watched, type Watched } from "@/tests/bench/watched";
import { makeWorld } from "@/tests/records/world";

const SMALL: Size = { families: 100, sets: 2000, waiting: 40 };
const LARGE: Size = { families: 10_000, sets: 200_000, waiting: 40 };
const NOW = Date.UTC(2026, 10, 25, 12);
const WARM_UPS = 3;

/**
 * The same pages over a small practice and one grown for five years, both written in this run; what waits and is open
 * at one time is the same in both. Processor time, for a machine that does other things too.
 */
export async function scale(runs: number): Promise<Section> {
  // Once for nothing: what is measured first in a process is measured with code that nothing has run yet.
  await measured(SMALL, runs);
  const [{ all: small }, { all: large, loop }] = [await measured(SMALL, runs), await measured(LARGE, runs)];
  const lines = [...large].map(([what, many]): Line => {
    const few = small.get(what) ?? [];
    const [ofSmall, ofLarge] = [few, many].map((each) => spread(each.map(({ cpuMs }) => cpuMs), 1)) as [Spread, Spread]; // one for each
    const slowest = slowestOf(many);
    return {
      what, runs: many.length, "small ms": ofSmall.least, "large ms": ofLarge.least, "large, median and most": `${ofLarge.median} and ${ofLarge.most}`, ratio: Number((ofLarge.least / ofSmall.least).toFixed(2)),
      statements: `${timesOf(few)} and ${timesOf(many)}`, "slowest statement ms": slowest.ms, "of it": slowest.text, "loop late, most ms": loop.get(what)?.most ?? "", "longest turn ms": loop.get(what)?.turnMs ?? "",
    };
  });
  const sizeOf = ({ families, sets, waiting }: Size): string => `${families} families, ${sets} photo sets, ${waiting} waiting`;
  return { name: "scale", how: `CPU of what each page reads, warm, the least of the runs, which other work on the machine lengthens least; small: ${sizeOf(SMALL)}; large: ${sizeOf(LARGE)}; slowest: the statement whose median over the runs is largest; loop: how late it came on the large one and its longest turn by processor time, all in turn ${loop.get(IN_TURN)?.p99} ms at the 99th of 100, ${loop.get(IN_TURN)?.most} at most`, lines };
}

/** How late the event loop came, ms; and the longest of its turns by processor time, which a machine that does other things too leaves as it is. */
type Late = { readonly p99: number; readonly most: number; readonly turnMs: number };
const IN_TURN = "all in turn";
const ROUNDS = 20;
/** Between two pages, as requests come. */
const PAUSE_MS = 5;

async function measured(size: Size, runs: number): Promise<{ readonly all: ReadonlyMap<string, readonly Watched[]>; readonly loop: ReadonlyMap<string, Late> }> {
  const world = makeWorld();
  try {
    const grown = growPractice(size, NOW);
    await settleWeeks(NOW);
    const all = new Map<string, readonly Watched[]>();
    for (const [what, work] of Object.entries({ ...pagesOf(grown, NOW), ...wholePractice(grown, NOW) })) {
      const each: Watched[] = [];
      for (let run = -WARM_UPS; run < runs; run += 1) {
        const seen = await watched(work);
        if (run >= 0) each.push(seen);
      }
      all.set(what, each);
    }
    return { all, loop: await latenessOf({ ...pagesOf(grown, NOW), ...wholePractice(grown, NOW) }) };
  } finally {
    world.close();
  }
}

/** Each by itself, then the pages one after the other: what somebody else's request would have waited. */
async function latenessOf(works: Readonly<Record<string, () => Promise<unknown>>>): Promise<ReadonlyMap<string, Late>> {
  const late = new Map<string, Late>();
  // The tick itself is one millisecond and counts in what is read.
  const delays = monitorEventLoopDelay({ resolution: 1 });
  const round = async (named: readonly (readonly [string, () => Promise<unknown>])[], times: number, label: (what: string) => string): Promise<void> => {
    for (let nth = 0; nth < times; nth += 1) {
      for (const [what, work] of named) {
        const turnMs = await longestTurn(work);
        await setTimeout(PAUSE_MS);
        late.set(label(what), { p99: Number((delays.percentile(99) / 1e6).toFixed(1)), most: Number((delays.max / 1e6).toFixed(1)), turnMs: Math.max(late.get(label(what))?.turnMs ?? 0, turnMs) });
      }
    }
  };
  delays.enable();
  for (const one of Object.entries(works)) {
    delays.reset();
    await round([one], 3, (what) => what);
  }
  delays.reset();
  await round(Object.entries(works), ROUNDS, () => IN_TURN);
  delays.disable();
  return late;
}

/** Looks at the processor's time once a turn while something is done. */
async function longestTurn(work: () => Promise<unknown>): Promise<number> {
  let [most, began, isDone] = [0, process.cpuUsage(), false];
  const look = (): void => {
    const { user, system } = process.cpuUsage(began);
    most = Math.max(most, (user + system) / 1000);
    began = process.cpuUsage();
    if (!isDone) setImmediate(look);
  };
  setImmediate(look);
  await work();
  isDone = true;
  await new Promise(setImmediate);
  return Number(most.toFixed(1));
}

type Spread = ReturnType<typeof spread>;

const timesOf = (all: readonly Watched[]): number => [...(all.at(-1)?.statements.values() ?? [])].reduce((sum, ran) => sum + ran.times, 0);

function slowestOf(all: readonly Watched[]): { readonly ms: number; readonly text: string } {
  const texts = new Set(all.flatMap(({ statements }) => [...statements.keys()]));
  const [slowest] = [...texts].map((text) => ({ text: shortened(text), ms: spread(all.map(({ statements }) => statements.get(text)?.mostMs ?? 0), 1).median })).toSorted((a, b) => b.ms - a.ms);
  return slowest ?? { ms: 0, text: "" };
}

const shortened = (text: string): string => text.replaceAll('"', "").replaceAll(/\s+/g, " ").trim().replace(/^select .*? from/, "select … from").slice(0, 60);
