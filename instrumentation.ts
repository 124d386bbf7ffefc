import type { Instrumentation } from "next";
import { tally } from "@/lib/jobs/tally.mjs";

const SHOWN_FRAMES = 6;

/** What runs beside the requests, in the serving process alone. */
export async function register(): Promise<void> {
  if (process.env.NEXT_RUNTIME === "nodejs") {
    const { warnOfHostZones } = await import("@/lib/jobs/host-zones");
    warnOfHostZones();
    const { startDatabaseWatch } = await import("@/lib/jobs/database-watch");
    startDatabaseWatch();
    const { startDiskWatch } = await import("@/lib/jobs/disk-watch");
    startDiskWatch();
    const { startOutbox } = await import("@/lib/notices/outbox");
    startOutbox();
    const { startReminding } = await import("@/lib/records/reminders");
    startReminding();
    const { startSettling } = await import("@/lib/records/settled-times");
    startSettling();
    const { startBackups } = await import("@/lib/jobs/backups");
    startBackups();
    const { startDailyCheck } = await import("@/lib/jobs/daily-check");
    startDailyCheck();
    const { startForgettingDrafts } = await import("@/lib/records/sent-drafts");
    startForgettingDrafts();
    const { startErasing } = await import("@/lib/records/erasing-job");
    startErasing();
    const { startExports } = await import("@/lib/records/export-making");
    startExports();
    const { startAlarms } = await import("@/lib/records/alarms");
    startAlarms();
  }
}

/**
 * Logs a failed request once: when, which route, where in the code, and the reference the person was
 * shown. Never the message or the address, which can hold names, tokens or health data.
 */
export const onRequestError: Instrumentation.onRequestError = (error, _request, context) => {
  if (process.env.NEXT_RUNTIME === "nodejs") {
    tally("failed");
    const isObject = typeof error === "object" && error !== null;
    const line = {
      at: new Date().toISOString(),
      event: "request-failed",
      route: context.routePath,
      type: context.routeType,
      kind: error instanceof Error ? error.name : typeof error,
      code: isObject && "code" in error && typeof error.code === "string" ? error.code : undefined,
      where: error instanceof Error ? framesOf(error) : [],
      reference: isObject && "digest" in error ? String(error.digest) : undefined,
    };
    process.stderr.write(`${JSON.stringify(line)}\n`);
  }
};

/** The stack without its first lines, which repeat the message. */
function framesOf(error: Error): string[] {
  return (error.stack ?? "").split("\n").filter((line) => /^\s+at /.test(line)).slice(0, SHOWN_FRAMES).map((line) => line.trim());
}
