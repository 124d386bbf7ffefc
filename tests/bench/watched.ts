import { database } from "@/db/client";

/** One statement as it ran: how often, and the processor's time of the longest, in ms. */
export type Ran = { times: number; mostMs: number; allMs: number };
export type Watched = { readonly ms: number; readonly cpuMs: number; readonly statements: ReadonlyMap<string, Ran> };

const WAYS = ["all", "get", "run"] as const;
type Statement = { readonly source: string } & Record<(typeof WAYS)[number], (this: Statement, ...values: unknown[]) => unknown>;

/** Does some work and looks at every statement of the one connection meanwhile, by its text. */
export async function watched(work: () => Promise<unknown>): Promise<Watched> {
  // Every statement is one of a class that the driver does not name.
  const each = Object.getPrototypeOf(database().$client.prepare("select 1")) as Statement;
  const statements = new Map<string, Ran>();
  const before = WAYS.map((way) => [way, each[way]] as const);
  for (const [way, run] of before) {
    each[way] = function timed(...values) {
      const began = process.cpuUsage();
      const found = run.apply(this, values);
      const { user, system } = process.cpuUsage(began);
      const ms = (user + system) / 1000;
      const known = statements.get(this.source) ?? { times: 0, mostMs: 0, allMs: 0 };
      statements.set(this.source, { times: known.times + 1, mostMs: Math.max(known.mostMs, ms), allMs: known.allMs + ms });
      return found;
    };
  }
  const [began, cpu] = [performance.now(), process.cpuUsage()];
  try {
    await work();
    const { user, system } = process.cpuUsage(cpu);
    return { ms: performance.now() - began, cpuMs: (user + system) / 1000, statements };
  } finally {
    for (const [way, run] of before) each[way] = run;
  }
}
