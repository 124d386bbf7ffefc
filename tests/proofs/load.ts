import { existsSync, readFileSync } from "node:fs";
import sharp from "sharp";
import type { Answer } from "@/e2e/walk/request";
import { photo24Mp } from "@/tests/photos/sources";
import { answerAct, isShed, photoAct, setAct, type Act } from "@/tests/proofs/acts";
import { brokenIn, missingFrom, nothingYet, type Acknowledged } from "@/tests/proofs/kept";
import { newId, refusedAs, storedIn, type Practice, type Sender } from "@/tests/proofs/practice";
import { doorOf } from "@/tests/proofs/processes";
import { chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const READS_A_SECOND = 20;
const SETS_A_SECOND = 1;
/** A camera's 24 megapixels, written so that they make about 4 MB. */
const PHOTO = { bytes: 4_000_000, quality: 93 } as const;
const CONNECTIONS = 500;
const MOST_BURST_SECONDS = 60;

type Seen = { readonly ms: number[]; shed: number; readonly shedMs: number[]; readonly errors: string[] };

/**
 * Reads at a fixed rate whether answered or not, an evening's uploads at one a second, both together, then 500 clients
 * that ask again at once whatever they are told. An answer is what was asked for or "busy, try again in n s";
 * anything else is an error, and nothing acknowledged may be missing afterwards. Times are printed and not judged: they
 * are this machine's, which also plays the clients.
 */
export async function load(practice: Practice, { seconds, seed }: { readonly seconds: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const photo = await sharp(photo24Mp()).jpeg({ quality: PHOTO.quality }).toBuffer();
  const [senders, therapist] = [await practice.senders(), await practice.signIn("Tom Ferrant")];
  const acknowledged = nothingYet();
  const pages = (): readonly [path: string, cookie: string] => {
    const [share, { cookie }] = [random(), oneOf(random, senders)];
    return share < 0.4 ? ["/family", cookie] : share < 0.6 ? ["/family/history", cookie] : share < 0.9 ? ["/desk", therapist] : ["/api/health", ""];
  };
  const reading = (seen: Seen): Promise<void> => steadily(READS_A_SECOND, seconds, async () => {
    await timed(seen, ({ status }) => status === 200, () => practice.ask(...pages()));
  });
  const sending = (seen: Seen): Promise<void> => steadily(SETS_A_SECOND, seconds, async (at) => {
    // A family may send 30 photos a day; seven are here.
    if (at % 60 === 0) practice.letADayPass();
    const [sender, setId] = [senders[at % senders.length] ?? oneOf(random, senders), newId()];
    const taken = await until(seen, photoAct(practice, sender, setId, photo), acknowledged);
    const done = taken && (await until(nobody(), setAct(practice, sender, setId, storedIn(taken).photoId), acknowledged));
    if (done && at % 5 === 0) await until(nobody(), answerAct(practice, therapist, sender, setId), acknowledged);
  });
  const calmMs = await slowestOf(5, () => practice.ask("/family", senders[0]?.cookie ?? ""));
  const [reads, uploads, readsToo, uploadsToo, burst] = [nobody(), nobody(), nobody(), nobody(), nobody()];
  const phases: Readonly<Record<string, Seen>> = { reads, uploads, "reads meanwhile": readsToo, "uploads meanwhile": uploadsToo, [`${CONNECTIONS} clients`]: burst };
  await reading(reads);
  await sending(uploads);
  await Promise.all([reading(readsToo), sending(uploadsToo)]);
  const health = await rushed(practice, senders, burst, Math.min(seconds, MOST_BURST_SECONDS));
  const recovered = await backToNormal(calmMs, () => practice.ask("/family", senders[0]?.cookie ?? ""));
  const lost = [...(await missingFrom(practice, acknowledged)), ...brokenIn(practice)];
  return {
    figures: {
      seed, "seconds a phase": seconds, "photo MB": Number((photo.length / 1e6).toFixed(1)),
      ...Object.fromEntries(Object.entries(phases).map(([name, seen]) => [`${name}: n / p50 / p95 / p99 ms`, spreadOf(seen.ms)])),
      ...Object.fromEntries(Object.entries(phases).map(([name, seen]) => [`${name}: shed, errors`, `${seen.shed}, ${seen.errors.length}`])),
      [`${CONNECTIONS} clients: shed, n / p50 / p95 / p99 ms`]: spreadOf(burst.shedMs), "health meanwhile: n / p50 / p95 / p99 ms": spreadOf(health), "after it, back to normal in s": recovered,
      "most resident MB: app, door": `${mostMb(practice.pid)}, ${mostMb(doorOf(practice.pid))}`,
      photos: acknowledged.photos.length, sets: acknowledged.sets.length, answers: acknowledged.answers.length, lost: lost.length,
    },
    losses: [...Object.entries(phases).flatMap(([name, { errors }]) => errors.map((error) => `${name}: ${error}`)), ...lost],
  };
}

const nobody = (): Seen => ({ ms: [], shed: 0, shedMs: [], errors: [] });

/** Begins one after the other at an even rate for so long, and waits for the last. */
async function steadily(perSecond: number, seconds: number, one: (at: number) => Promise<void>): Promise<void> {
  const began = performance.now();
  const all: Promise<void>[] = [];
  for (let at = 0; at < perSecond * seconds; at += 1) {
    await pause(Math.max(0, began + (at * 1000) / perSecond - performance.now()));
    all.push(one(at));
  }
  await Promise.all(all);
}

/** One request; null when turned away with a time to come again, or on an error. */
async function timed(seen: Seen, isYes: (answer: Answer) => boolean, ask: () => Promise<Answer>): Promise<Answer | null> {
  const began = performance.now();
  try {
    const answer = await ask();
    const took = performance.now() - began;
    if (isYes(answer)) {
      seen.ms.push(took);
      return answer;
    }
    if (isShed(answer)) {
      seen.shed += 1;
      seen.shedMs.push(took);
    } else seen.errors.push(`${answer.status} ${refusedAs(answer) ?? ""}`);
  } catch (error) {
    seen.errors.push(error instanceof Error && "code" in error ? String(error.code) : "line lost");
  }
  return null;
}

/** Comes again under the same key as long as it is turned away; the time is that of the try that was taken. */
async function until(seen: Seen, act: Act, acknowledged: Acknowledged): Promise<Answer | null> {
  for (;;) {
    const before = seen.errors.length;
    const answer = await timed(seen, act.isYes, () => act.ask());
    if (answer) act.note(answer, acknowledged);
    if (answer || seen.errors.length > before) return answer;
    await pause(500);
  }
}

/** Hundreds of clients at once, none of which waits; gives how long the health check took beside them, ms. */
async function rushed(practice: Practice, senders: readonly Sender[], seen: Seen, seconds: number): Promise<readonly number[]> {
  const end = Date.now() + seconds * 1000;
  const health = nobody();
  const client = async (at: number): Promise<void> => {
    while (Date.now() < end) await timed(seen, ({ status }) => status === 200, () => practice.ask("/family", senders[at % senders.length]?.cookie ?? ""));
  };
  const watch = async (): Promise<void> => {
    while (Date.now() < end) {
      await timed(health, ({ status }) => status === 200, () => practice.ask("/api/health", ""));
      await pause(250);
    }
  };
  await Promise.all([...Array.from({ length: CONNECTIONS }, (_, at) => client(at)), watch()]);
  if (health.ms.length === 0) seen.errors.push("the health check was never answered");
  seen.errors.push(...health.errors.map((error) => `health: ${error}`));
  return health.ms;
}

/** How long a page takes when nobody else asks, ms. */
async function slowestOf(times: number, ask: () => Promise<Answer>): Promise<number> {
  let most = 0;
  for (let at = 0; at < times; at += 1) {
    const began = performance.now();
    await ask();
    most = Math.max(most, performance.now() - began);
  }
  return most;
}

/** Until a page comes as quickly as twice what it took before, or a minute has passed. */
async function backToNormal(calmMs: number, ask: () => Promise<Answer>): Promise<string> {
  const began = performance.now();
  const seconds = (): number => (performance.now() - began) / 1000;
  while (seconds() < 60) {
    const asked = performance.now();
    const { status } = await ask();
    if (status === 200 && performance.now() - asked < 2 * calmMs) return seconds().toFixed(1);
  }
  return "over 60";
}

const mostMb = (pid: number): number | string => {
  const status = `/proc/${pid}/status`;
  return existsSync(status) ? Math.round(Number(/^VmHWM:\s+(\d+) kB/m.exec(readFileSync(status, "utf8"))?.[1]) / 1000) : "not measured";
};

function spreadOf(ms: readonly number[]): string {
  const sorted = [...ms].sort((a, b) => a - b);
  const at = (share: number): number => Math.round(sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0);
  return `${sorted.length} / ${at(0.5)} / ${at(0.95)} / ${at(0.99)}`;
}
