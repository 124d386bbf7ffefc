import { alone, NAME } from "@/app/family/queue/alone";
import { BROWSER } from "@/app/family/queue/line";
import { pass } from "@/app/family/queue/pass";
import { lastingStore } from "@/app/family/queue/store";
import { worker } from "@/app/worker/scope";
import { woken } from "@/lib/domain/sending/queue";

const pages = { channel: typeof BroadcastChannel === "function" ? new BroadcastChannel(NAME) : null };

/** Not in every browser, nor in the types. */
type SyncEvent = ExtendableEvent & { readonly tag: string };

/**
 * The line is back while no page is open. The worker cannot know who is signed in: every request names
 * the person whose set it is, and the server takes it in that person's session alone.
 */
async function sendWaiting(): Promise<void> {
  const store = await lastingStore();
  for (const { id } of await store.all()) await store.change(id, (entry) => woken(entry, "online", Date.now()));
  const next = await alone(() => pass(store, BROWSER, null, () => undefined));
  pages.channel?.postMessage(null);
  // The browser comes again, in its own time.
  if (next !== null) throw new Error("not all is sent");
}

worker.addEventListener("sync", (event) => {
  const { tag } = event as SyncEvent; // of this name there is no other event
  if (tag === NAME) (event as SyncEvent).waitUntil(sendWaiting());
});
