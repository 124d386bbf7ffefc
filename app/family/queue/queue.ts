import { alone, NAME } from "@/app/family/queue/alone";
import { BROWSER } from "@/app/family/queue/line";
import { pass } from "@/app/family/queue/pass";
import { NOTHING_SHOWN, type Shown } from "@/app/family/queue/shown";
import { fleetingStore, lastingStore, type Pictures, type Store } from "@/app/family/queue/store";
import { holdsPictures, type Entry } from "@/lib/domain/sending/entry";
import { LONGEST_WAIT_MS, takenOut, takenSaid, withoutClip, woken, type Wake } from "@/lib/domain/sending/queue";

const AGAIN_MS = 30_000;
/** Some browsers neither open nor refuse a database. */
const DATABASE_MS = 5000;

/** One person's waiting sets in this page: kept, sent by themselves, and shown. One for each load of a page. */
export class Queue {
  #shown = NOTHING_SHOWN;
  #stores: Promise<readonly [Store, ...Store[]]>;
  #listeners = new Set<() => void>();
  #clock = 0;
  #isPassing = false;
  #isAskedAgain = false;
  #over = new AbortController();
  #channel = typeof BroadcastChannel === "function" ? new BroadcastChannel(NAME) : null;

  constructor(readonly personId: string) {
    const late = new Promise<never>((_, reject) => setTimeout(() => reject(new Error("no database")), DATABASE_MS));
    this.#stores = Promise.race([lastingStore(), late]).then((lasting) => [lasting, fleetingStore()] as const, () => [fleetingStore()] as const);
    const { signal } = this.#over;
    this.#channel?.addEventListener("message", () => void this.#read(), { signal });
    window.addEventListener("online", () => void this.wake("online"), { signal });
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.wake("seen");
    }, { signal });
    window.addEventListener("beforeunload", (event) => {
      // What is only in this page would be gone with it.
      if (this.isFleeting) event.preventDefault();
    }, { signal });
  }

  /** Another person is in the page now. */
  close(): void {
    this.#over.abort();
    clearTimeout(this.#clock);
  }

  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  shown = (): Shown => this.#shown;

  /** Something waits that only this page holds. */
  isFleeting = false;

  /** Keeps a whole set and begins to send it. "page": the phone keeps nothing, and the page must stay open. */
  async add(entry: Entry, pictures: Pictures): Promise<"phone" | "page"> {
    const stores = await this.#stores;
    for (const store of stores) {
      try {
        await store.add(entry, pictures);
        await this.#read();
        void this.#go();
        void askForWorker();
        return store.isLasting ? "phone" : "page";
      } catch {
        // No room, or closed by the browser: the next one, which is this page.
      }
    }
    throw new Error("nowhere to keep it");
  }

  /** Hope for all of this person's sets. */
  async wake(wake: Wake): Promise<void> {
    for (const store of await this.#stores) {
      for (const { id } of await this.#own(store)) await store.change(id, (entry) => woken(entry, wake, Date.now()));
    }
    await this.#go();
  }

  async press(id: string): Promise<void> {
    await this.#change(id, (entry) => woken(entry, "pressed", Date.now()));
    await this.#go();
  }

  async sayTaken(id: string, taken: Exclude<Entry["taken"], null>): Promise<void> {
    await this.#change(id, (entry) => takenSaid(entry, taken, Date.now()));
    await this.#go();
  }

  async dropClip(id: string): Promise<void> {
    await this.#change(id, (entry) => withoutClip(entry, Date.now()));
    await this.#go();
  }

  /** Gone from the phone, pictures and words, and from the server as soon as it can be asked. */
  async takeOut(id: string): Promise<void> {
    await this.#change(id, (entry) => takenOut(entry, Date.now()));
    // Nobody waits for that: should the page go first, the next one asks.
    void this.#go();
  }

  async #change(id: string, to: (entry: Entry) => Entry | null): Promise<void> {
    for (const store of await this.#stores) await store.change(id, to);
    await this.#read();
    this.#channel?.postMessage(null);
  }

  async #own(store: Store): Promise<readonly Entry[]> {
    return (await store.all()).filter(({ personId }) => personId === this.personId);
  }

  async #read(): Promise<void> {
    const each = await Promise.all((await this.#stores).map(async (store) => ({ store, entries: await this.#own(store) })));
    this.isFleeting = each.some(({ store, entries }) => !store.isLasting && entries.some(holdsPictures));
    this.#show({ ...this.#shown, entries: each.flatMap(({ entries }) => entries).filter(({ state }) => state.at !== "taken-out").toSorted((a, b) => a.madeAt - b.madeAt) });
  }

  #show(shown: Shown): void {
    this.#shown = shown;
    for (const listener of this.#listeners) listener();
  }

  /** A pass over all that is due, and a clock for what is not. Asked for in the middle of one, once more after it. */
  async #go(): Promise<void> {
    await this.#read();
    if (this.#isPassing) {
      this.#isAskedAgain = true;
      return;
    }
    this.#isPassing = true;
    try {
      do {
        this.#isAskedAgain = false;
        const due: number[] = [];
        for (const store of await this.#stores) {
          const next = await alone(() => pass(store, BROWSER, this.personId, ({ id }, share) => {
            const isNew = this.#shown.live?.id !== id || share === 0;
            this.#show({ ...this.#shown, live: { id, share } });
            if (isNew) void this.#read();
          }));
          if (next !== null) due.push(next);
        }
        this.#show({ ...this.#shown, live: null });
        await this.#read();
        this.#channel?.postMessage(null);
        clearTimeout(this.#clock);
        if (due.length > 0) this.#clock = window.setTimeout(() => void this.#go(), Math.min(LONGEST_WAIT_MS, Math.max(0, Math.min(...due) - Date.now())));
      } while (this.#isAskedAgain);
    } catch {
      // The browser took the database away in the middle: it is opened again, and every step holds when repeated.
      this.#clock = window.setTimeout(() => void this.#go(), AGAIN_MS);
    } finally {
      this.#isPassing = false;
    }
  }
}

let only: Queue | null = null;
/** This page's queue. Another person's, after a soft change of who is signed in, is another queue. */
export function queueOf(personId: string): Queue {
  if (only?.personId === personId) return only;
  only?.close();
  only = new Queue(personId);
  return only;
}

export const shownOf = (personId: string): Shown => (only?.personId === personId ? only.shown() : NOTHING_SHOWN);

/** Where there is a worker that can be called when the line is back, it is. */
async function askForWorker(): Promise<void> {
  if (!("serviceWorker" in navigator)) return;
  const { sync } = await navigator.serviceWorker.ready as ServiceWorkerRegistration & { readonly sync?: { register(tag: string): Promise<void> } }; // not in every browser, nor in the types
  await sync?.register(NAME).catch(() => undefined);
}
