import "server-only";

const RUNNING = Symbol.for("trueside.jobs");
type Shared = { [RUNNING]?: Map<string, NodeJS.Timeout> };

/**
 * Does `work` now and then every `ms`, one at a time, once a process however often it is called: the framework
 * bundles modules several times into one process. A failure is one line without a name or a word of anybody's,
 * and the next time tries again; it never ends the process. Gives back what stops it.
 */
export function runEvery(job: string, ms: number, work: (now: number) => Promise<unknown> | void): () => void {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  const running = (shared[RUNNING] ??= new Map());
  const stop = (): void => {
    clearInterval(running.get(job));
    running.delete(job);
  };
  if (running.has(job)) return stop;
  let isBusy = false;
  const once = async (): Promise<void> => {
    if (isBusy) return;
    isBusy = true;
    try {
      await work(Date.now());
    } catch (error) {
      const code = typeof error === "object" && error !== null && "code" in error ? String(error.code) : "unknown";
      process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "job-failed", job, code })}\n`);
    } finally {
      isBusy = false;
    }
  };
  running.set(job, setInterval(() => void once(), ms).unref());
  void once();
  return stop;
}
