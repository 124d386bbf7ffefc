import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import { NAME } from "@/app/family/queue/alone";
import { holdsPictures, type Entry } from "@/lib/domain/sending/entry";

export type Pictures = ReadonlyMap<number, ArrayBuffer>;

/** Where waiting sets are. `isLasting`: they survive the page. */
export type Store = {
  readonly isLasting: boolean;
  /** Resolves only when the whole set is kept. Rejects, keeping nothing, when there is no room. */
  add(entry: Entry, pictures: Pictures): Promise<void>;
  all(): Promise<readonly Entry[]>;
  picture(id: string, ordinal: number): Promise<ArrayBuffer | null>;
  /** Changes the entry as it stands now; null takes it away. Pictures that are of no more use go with it. */
  change(id: string, to: (entry: Entry) => Entry | null): Promise<Entry | null>;
};

interface Sending extends DBSchema {
  sets: { key: string; value: Entry };
  pictures: { key: [string, number]; value: ArrayBuffer };
}
/** `anyHere` asks the browser by this name whether there is one. */
export const DATABASE = NAME;
/** The forms that are read here. */
const FORMS: readonly number[] = [1, 2];
const BOTH = ["sets", "pictures"] as const;
const picturesOf = (id: string) => IDBKeyRange.bound([id, 0], [id, 99]);

/** The phone's own database. Rejects where there is none, as in some private windows. */
export async function lastingStore(): Promise<Store> {
  let opened: IDBPDatabase<Sending> | null = null;
  /** A phone may close it behind our back, to make room or for a newer page: then it is opened again. */
  const db = async (): Promise<IDBPDatabase<Sending>> => {
    opened ??= await openDB<Sending>(DATABASE, 1, {
      upgrade(fresh) {
        fresh.createObjectStore("sets", { keyPath: "id" });
        fresh.createObjectStore("pictures");
      },
      blocking: (_from, _to, event) => (event.target as IDBDatabase).close(), // the event comes from the database
      terminated: () => {
        opened = null;
      },
    });
    return opened;
  };
  await db();
  return {
    isLasting: true,
    async add(entry, pictures) {
      // Strict: the parent is told "kept" only when a flat battery could not undo it.
      const tx = (await db()).transaction(BOTH, "readwrite", { durability: "strict" });
      await Promise.all([
        tx.objectStore("sets").add(entry),
        ...[...pictures].map(([ordinal, bytes]) => tx.objectStore("pictures").put(bytes, [entry.id, ordinal])),
        tx.done,
      ]);
    },
    async all() {
      return (await (await db()).getAll("sets")).filter(({ form }) => FORMS.includes(form));
    },
    async picture(id, ordinal) {
      return (await (await db()).get("pictures", [id, ordinal])) ?? null;
    },
    async change(id, to) {
      const tx = (await db()).transaction(BOTH, "readwrite", { durability: "strict" });
      const sets = tx.objectStore("sets");
      const there = await sets.get(id);
      const next = there ? to(there) : null;
      if (there && next !== there) {
        if (next) await sets.put(next);
        else await sets.delete(id);
        if (!next || !holdsPictures(next)) await tx.objectStore("pictures").delete(picturesOf(id));
      }
      await tx.done;
      return next;
    },
  };
}

/** For a phone that keeps nothing: only as long as the page is open. */
export function fleetingStore(): Store {
  const sets = new Map<string, Entry>();
  const pictures = new Map<string, Pictures>();
  return {
    isLasting: false,
    async add(entry, made) {
      sets.set(entry.id, entry);
      pictures.set(entry.id, made);
    },
    all: async () => [...sets.values()],
    picture: async (id, ordinal) => pictures.get(id)?.get(ordinal) ?? null,
    async change(id, to) {
      const there = sets.get(id);
      const next = there ? to(there) : null;
      if (next) sets.set(id, next);
      else sets.delete(id);
      if (!next || !holdsPictures(next)) pictures.delete(id);
      return next;
    },
  };
}
