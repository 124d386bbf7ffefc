/** How it stands with pushes in this browser. `install`: a phone that can only once the app is on its home screen. */
export type Standing = "unsupported" | "install" | "blocked" | "off" | "on";

/** `isKnown`: whether the server pushes to this browser for whoever is signed in. */
export async function standingHere(isKnown: boolean): Promise<Standing> {
  if (!("serviceWorker" in navigator && "PushManager" in window && "Notification" in window)) return canOnceInstalled() ? "install" : "unsupported";
  if (Notification.permission === "denied") return "blocked";
  if (!isKnown || Notification.permission !== "granted") return "off";
  return (await subscriptionHere()) ? "on" : "off";
}

/** An iPhone or iPad in a page of its browser; an iPad may pass for a Mac, which has no touch screen. */
function canOnceInstalled(): boolean {
  const isTouched = /\b(?:iPhone|iPad)\b/.test(navigator.userAgent) || (/\bMacintosh\b/.test(navigator.userAgent) && navigator.maxTouchPoints > 1);
  return isTouched && !window.matchMedia("(display-mode: standalone)").matches;
}

const subscriptionHere = async (): Promise<PushSubscription | null> =>
  (await (await navigator.serviceWorker.getRegistration("/"))?.pushManager.getSubscription()) ?? null;

/** A worker that does not stand by then will not. */
const PATIENCE_MS = 20_000;

export type Outcome = Standing | "failed" | "push-too-many" | "push-unknown";

/** Asks the browser, then tells the server; only ever upon a press. Whatever fails leaves nothing behind. */
export async function turnOn(personId: string, publicKey: string): Promise<Outcome> {
  // First, while the press still counts as one.
  const permission = await Notification.requestPermission();
  if (permission !== "granted") return permission === "denied" ? "blocked" : "off";
  let made: PushSubscription | null = null;
  try {
    await navigator.serviceWorker.register("/worker.js", { scope: "/", updateViaCache: "none" });
    const { pushManager } = await inTime(navigator.serviceWorker.ready);
    // One made under another key, or for who was here before, is never taken over.
    await (await pushManager.getSubscription())?.unsubscribe();
    made = await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytesOf(publicKey) });
    const answer = await tell(personId, "POST", JSON.stringify(made));
    if (answer.ok) return "on";
    await made.unsubscribe();
    const said: unknown = await answer.json().catch(() => null);
    const text = JSON.stringify(said);
    return text.includes('"push-too-many"') ? "push-too-many" : text.includes('"push-unknown"') ? "push-unknown" : "failed";
  } catch {
    await made?.unsubscribe().catch(() => false);
    return "failed";
  }
}

/** Ends it in the browser alone: what is pushed to the address from then on comes back as gone. */
export const endHere = async (): Promise<boolean> => (await subscriptionHere())?.unsubscribe() ?? false;

/** Either alone ends it: the server has no address then, or the address leads nowhere. */
export async function turnOff(personId: string): Promise<Outcome> {
  const ended = await Promise.allSettled([endHere(), tell(personId, "DELETE").then(({ ok }) => ok)]);
  return ended.some((each) => each.status === "fulfilled" && each.value) ? "off" : "failed";
}

const tell = (personId: string, method: string, body?: string): Promise<Response> =>
  fetch("/api/push", { method, headers: { "Content-Type": "application/json", "X-Person": personId, "Idempotency-Key": crypto.randomUUID() }, signal: AbortSignal.timeout(PATIENCE_MS), ...(body === undefined ? {} : { body }) });

const inTime = <T>(wait: Promise<T>): Promise<T> => Promise.race([wait, new Promise<never>((_resolve, reject) => { setTimeout(() => reject(new Error("late")), PATIENCE_MS); })]);

const bytesOf = (base64url: string): Uint8Array<ArrayBuffer> =>
  Uint8Array.from(atob(base64url.replaceAll("-", "+").replaceAll("_", "/")), (character) => character.charCodeAt(0));
