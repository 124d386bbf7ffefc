import { DATABASE, lastingStore } from "@/app/family/queue/store";
import { holdsPictures } from "@/lib/domain/sending/entry";

/** How many unsent sets lie on this phone, of this person and of others. */
export async function unsentHere(personId: string): Promise<{ readonly own: number; readonly others: number }> {
  const store = await lastingStore().catch(() => null);
  const unsent = (await store?.all() ?? []).filter(holdsPictures);
  const own = unsent.filter((entry) => entry.personId === personId).length;
  return { own, others: unsent.length - own };
}

/** Everything of one person, sent or not. */
export async function eraseOf(personId: string): Promise<void> {
  const store = await lastingStore();
  for (const entry of await store.all()) if (entry.personId === personId) await store.change(entry.id, () => null);
}

/** What a sign-out clears by a header, when unsent sets must stay: that header knows no exception. */
export async function clearAllButQueue(): Promise<void> {
  localStorage.clear();
  sessionStorage.clear();
  // With its cache gone the worker would stand without its page: it is installed anew at the next sign-in.
  for (const each of (await navigator.serviceWorker?.getRegistrations()) ?? []) await each.unregister();
  if ("caches" in globalThis) for (const name of await caches.keys()) await caches.delete(name);
  for (const { name } of (await indexedDB.databases?.()) ?? []) if (name && name !== DATABASE) indexedDB.deleteDatabase(name);
}
