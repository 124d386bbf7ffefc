/** One word for pages and worker: who holds the lock sends, who hears the channel reads anew, and so the database is called. */
export const NAME = "trueside-sending";

/** A page that a phone put to sleep may hold the lock for ever. */
const LOCK_MS = 5 * 60_000;

/** Not beside another tab or the worker, where the browser can tell; the steps' keys hold everywhere. */
export async function alone<T>(work: () => Promise<T>): Promise<T> {
  if (!("locks" in navigator)) return work();
  try {
    return await navigator.locks.request(NAME, { signal: AbortSignal.timeout(LOCK_MS) }, work) as T; // the lock gives what its work gives
  } catch (error) {
    if (error instanceof DOMException && error.name === "TimeoutError") return work();
    throw error;
  }
}
