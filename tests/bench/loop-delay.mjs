/**
 * Preloaded into a server that is measured: on SIGUSR2 it writes how late the event loop came since the last time (ms,
 * at the 99th of 100 and at most) into the file named by BENCH_LOOP_FILE, and begins anew.
 */
import { writeFileSync } from "node:fs";
import { monitorEventLoopDelay } from "node:perf_hooks";

const file = process.env.BENCH_LOOP_FILE;
// The tick itself is one millisecond and counts in what is read.
const delays = monitorEventLoopDelay({ resolution: 1 });
delays.enable();
process.on("SIGUSR2", () => {
  writeFileSync(file, JSON.stringify({ p99: delays.percentile(99) / 1e6, most: delays.max / 1e6 }));
  delays.reset();
});
