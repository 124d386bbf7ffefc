import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { photo24Mp } from "@/tests/photos/sources";
import { isTaken, newId, Practice } from "@/tests/proofs/practice";
import { familyOf } from "@/tests/proofs/processes";
import { pause } from "@/tests/proofs/random";
import { spread, type Line, type Section } from "@/tests/bench/section";

const AT_ONCE = 20;
const LOOK_EVERY_MS = 20;

/**
 * Twenty photos of 24 megapixels sent at the same moment: the most that the server and its decoders hold together above
 * what they held before, and how late the server's event loop came meanwhile. Resident memory, shared pages counted in each process.
 */
export async function together(runs: number): Promise<Section> {
  if (!existsSync("/proc/self/status")) return { name: "together", how: "not measured: there is no /proc on this system", lines: [] };
  const folder = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  const file = join(folder, "loop.json");
  const preload = `--import=${new URL("loop-delay.mjs", import.meta.url).href}`;
  const practice = await Practice.open(undefined, { NODE_OPTIONS: preload, BENCH_LOOP_FILE: file });
  try {
    const senders = await practice.senders();
    const photo = photo24Mp();
    const send = async (at: number): Promise<void> => {
      const sender = senders[at % senders.length];
      if (!sender) throw new Error("nobody may send");
      // Turned away with a time to come again, a phone comes again.
      for (const key = newId(); ; await pause(300)) {
        const answer = await practice.upload({ sender, setId: newId(), ordinal: 1, key }, photo);
        if (isTaken(answer)) return;
        if (![429, 503].includes(answer.status)) throw new Error(`refused: ${answer.status}`);
      }
    };
    const idle = heldBy(practice.pid);
    await Promise.all([send(0), send(1)]); // so that no first time is measured
    const [above, late, took]: [number[], { p99: number; most: number }[], number[]] = [[], [], []];
    for (let run = 0; run < Math.min(runs, 5); run += 1) {
      practice.letADayPass();
      await loopOf(practice.pid, file);
      let most = 0;
      const look = setInterval(() => (most = Math.max(most, heldBy(practice.pid))), LOOK_EVERY_MS);
      const began = performance.now();
      await Promise.all(Array.from({ length: AT_ONCE }, (_, at) => send(at)));
      took.push(performance.now() - began);
      clearInterval(look);
      above.push((most - idle) / 1e6);
      late.push(await loopOf(practice.pid, file));
    }
    return { name: "together", how: `${AT_ONCE} photos of 24 megapixels at once; every process of the server, looked at each ${LOOK_EVERY_MS} ms`, lines: [
      line("peak memory above idle, MB", above), line("event loop late by, 99 of 100, ms", late.map(({ p99 }) => p99)),
      line("event loop late by, most, ms", late.map(({ most }) => most)), line("all taken after, ms", took),
    ] };
  } finally {
    await practice.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

function line(what: string, values: readonly number[]): Line {
  const { median, least, most } = spread(values);
  return { what, runs: values.length, median, "least to most": `${least} to ${most}` };
}

/** Bytes that a process and all it started hold in memory. */
const heldBy = (pid: number): number => [pid, ...familyOf(pid)].reduce((sum, each) => sum + residentOf(each), 0);

function residentOf(pid: number): number {
  try {
    return Number(/^VmRSS:\s+(\d+) kB/m.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1] ?? 0) * 1024;
  } catch {
    return 0; // gone meanwhile
  }
}

async function loopOf(pid: number, file: string): Promise<{ readonly p99: number; readonly most: number }> {
  rmSync(file, { force: true });
  process.kill(pid, "SIGUSR2");
  for (let look = 0; look < 100; look += 1) {
    await pause(50);
    const text = existsSync(file) ? readFileSync(file, "utf8") : "";
    if (text.endsWith("}")) return JSON.parse(text) as { p99: number; most: number }; // loop-delay.mjs writes it
  }
  throw new Error("the server does not say how late its loop came");
}
