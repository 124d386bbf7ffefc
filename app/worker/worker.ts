// What the worker does, one file each. All listen at once, as browsers ask, and import `worker` from scope.ts.
import "@/app/worker/pushing";
import "@/app/worker/routes";
import "@/app/worker/sending";
import "@/app/worker/sharing";
import { worker } from "@/app/worker/scope";
import { keepShellIn } from "@/app/worker/shell";
import type { Told } from "@/lib/domain/installed/shell";

/** A new worker waits until somebody presses "Reload", or every page is closed. */
worker.addEventListener("message", (event) => {
  const told = event.data as Told; // only our own pages can reach it
  if ("renew" in told) void worker.skipWaiting();
  if ("language" in told) event.waitUntil(keepShellIn(told.language));
});
