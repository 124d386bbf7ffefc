import { worker } from "@/app/worker/scope";
import { pushedOf, type Pushed } from "@/lib/domain/notices/push";
import { product } from "@/lib/messages/en/common.json";
import { subject as inEnglish } from "@/lib/messages/en/notices.json";
import { subject as inSpanish } from "@/lib/messages/es/notices.json";

/** There is one at a time: a newer one takes its place, and sounds again. */
const TAG = "trueside";

/** Said where a push cannot be read: a browser wants something shown for each. */
const unread = (): Pushed =>
  (/^es\b/.test(worker.navigator.language) ? { says: inSpanish, lang: "es", to: "/family" } : { says: inEnglish, lang: "en", to: "/family" });

/** `renotify` is not in the types: an alarm that is repeated must be heard again. */
type Options = NotificationOptions & { readonly renotify: boolean };

async function show(text: string): Promise<void> {
  const { says, lang, to } = pushedOf(text) ?? unread();
  const options: Options = { body: says, lang, tag: TAG, renotify: true, icon: "/icons/192.png", data: to };
  await worker.registration.showNotification(product, options);
}

/** An open window of that side comes to the front, and its first page is asked for anew; what is typed elsewhere stays. */
async function open(to: string): Promise<void> {
  const windows = await worker.clients.matchAll({ type: "window", includeUncontrolled: true });
  const pathOf = ({ url }: WindowClient): string => new URL(url).pathname;
  const first = windows.find((each) => pathOf(each) === to);
  const any = first ?? windows.find((each) => pathOf(each).startsWith(`${to}/`));
  if (!any) await worker.clients.openWindow(to);
  else {
    await any.focus();
    // A page that is not the worker's own stays as it is.
    await first?.navigate(to).catch(() => null);
  }
}

/** The browser gave itself another address. Taken only where the same person is still signed in. */
async function renew(old: PushSubscription | null, fresh: PushSubscription | null): Promise<void> {
  const subscription = fresh ?? (old && await worker.registration.pushManager.subscribe(old.options));
  if (!subscription) return;
  await fetch("/api/push", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ ...subscription.toJSON(), isRenewal: true }) });
}

type Change = ExtendableEvent & { readonly oldSubscription?: PushSubscription | null; readonly newSubscription?: PushSubscription | null };

worker.addEventListener("push", (event) => event.waitUntil(show(event.data?.text() ?? "")));
worker.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(open(event.notification.data === "/desk" ? "/desk" : "/family"));
});
worker.addEventListener("pushsubscriptionchange", (event) => {
  const { oldSubscription = null, newSubscription = null } = event as Change; // of this name there is no other event
  event.waitUntil(renew(oldSubscription, newSubscription));
});
