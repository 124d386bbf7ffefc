import "server-only";
import { dataDir } from "@/db/client";
import { readCheckState } from "@/lib/backup/state";
import { runCommand } from "@/lib/jobs/run-command";
import { runEvery } from "@/lib/jobs/run-every";

const LOOK_MS = 3_600_000;
const DAY_MS = 86_400_000;

/** Has the whole data folder looked through once a day: a byte that turned over is found while a backup still has it right. */
export function startDailyCheck(): void {
  runEvery("daily-check", LOOK_MS, checkLook(() => runCommand("verify-step.ts", ["--kept"])));
}

/** The first look of a process only begins the hour: a server that was just started has other things to do. */
export function checkLook(check: () => Promise<number>): (now: number) => Promise<void> {
  let isFirst = true;
  return async (now) => {
    const before = readCheckState(dataDir());
    const isDue = !isFirst && (before === null || now - before.at >= DAY_MS || before.at > now);
    isFirst = false;
    if (!isDue) return;
    await check();
    const after = readCheckState(dataDir());
    // Not even begun, or broken off: said, and tried again at the next look.
    const isDone = after !== null && after.at !== before?.at;
    if (isDone && after.findings === 0) return;
    process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: isDone ? "check-found" : "check-failed", findings: isDone ? after.findings : undefined })}\n`);
  };
}
