import type { Told } from "@/lib/domain/installed/shell";
import { isLocale } from "@/lib/domain/words/reader";

const HOUR_MS = 3_600_000;
/** A new worker that does not answer in this time is not waited for. */
const TAKE_OVER_MS = 4_000;

/**
 * Has the browser install the worker, asks now and then whether there is a new one, and tells of one
 * that waits. Returns how to stop. Where there are no workers the app is as it is without.
 */
export function linkWorker(onWaiting: (waiting: ServiceWorker) => void): () => void {
  if (!("serviceWorker" in navigator)) return () => {};
  let registration: ServiceWorkerRegistration | null = null;
  let askedAt = Date.now();
  const look = () => {
    // Without a controller the first one is only just arriving.
    if (registration?.waiting && navigator.serviceWorker.controller) onWaiting(registration.waiting);
  };
  const watch = () => registration?.installing?.addEventListener("statechange", look);
  const onSeen = () => {
    if (document.visibilityState !== "visible" || Date.now() - askedAt < HOUR_MS) return;
    askedAt = Date.now();
    registration?.update().catch(() => {}); // offline: the next look asks again
  };
  navigator.serviceWorker.register("/worker.js", { scope: "/", updateViaCache: "none" }).then((found) => {
    registration = found;
    look();
    watch();
    found.addEventListener("updatefound", watch);
    const language = document.documentElement.lang;
    void navigator.serviceWorker.ready.then(({ active }) => active && isLocale(language) && tell(active, { language }));
  }, () => {}); // refused by the browser or offline: no worker this time
  document.addEventListener("visibilitychange", onSeen);
  return () => {
    document.removeEventListener("visibilitychange", onSeen);
    registration?.removeEventListener("updatefound", watch);
  };
}

const tell = (worker: ServiceWorker, told: Told): void => worker.postMessage(told, []);

/** Lets the waiting worker take over, then loads this page anew: only here, where somebody pressed for it. */
export function renew(waiting: ServiceWorker): void {
  const reload = () => window.location.reload();
  navigator.serviceWorker.addEventListener("controllerchange", reload, { once: true });
  setTimeout(reload, TAKE_OVER_MS);
  tell(waiting, { renew: true });
}
