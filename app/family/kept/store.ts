import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import { noteWaiting } from "@/app/family/kept/here";
import { KEPT_VERSION, type Kept, type KeptExercise, type OfflineReport } from "@/lib/domain/kept/kept";
import type { ReadBackTry } from "@/lib/domain/answering/read-back";

/** What was said on this phone: `sentAt` null until the server has taken it. */
type Said = { readonly key: string; readonly personId: string; readonly childId: string; readonly sentAt: number | null };
export type KeptReport = Said & OfflineReport;
export type KeptTry = Said & ReadBackTry & { readonly exerciseKey: string; readonly choice: string; readonly writtenAt: number };
export type Media = { readonly personId: string; readonly address: string; readonly type: string; readonly bytes: ArrayBuffer };

/** `kept` is of whatever version it was: the reader looks first. */
type KeptRow = { readonly personId: string; readonly kept: Kept; readonly keptAt: number; readonly seenAt: number };

interface KeptDatabase extends DBSchema {
  kept: { key: string; value: KeptRow };
  media: { key: [string, string]; value: Media };
  reports: { key: string; value: KeptReport };
  tries: { key: string; value: KeptTry };
}
const STORES = ["kept", "media", "reports", "tries"] as const;
const ofPerson = (personId: string) => IDBKeyRange.bound([personId, ""], [personId, "\uffff"]);

/** Opened for one piece of work and closed after it, so that a sign-out never waits for a page to let go. */
async function within<T>(work: (db: IDBPDatabase<KeptDatabase>) => Promise<T>): Promise<T> {
  const db = await openDB<KeptDatabase>("trueside-kept", 1, {
    upgrade(fresh) {
      fresh.createObjectStore("kept", { keyPath: "personId" });
      fresh.createObjectStore("media", { keyPath: ["personId", "address"] });
      fresh.createObjectStore("reports", { keyPath: "key" });
      fresh.createObjectStore("tries", { keyPath: "key" });
    },
  });
  try {
    return await work(db);
  } finally {
    db.close();
  }
}

export type Contents = {
  readonly row: KeptRow | null;
  readonly media: readonly Media[];
  /** As they were said, oldest first. */
  readonly reports: readonly KeptReport[];
  readonly tries: readonly KeptTry[];
};

/** All of one person's, and of nobody else's. */
export const contentsOf = (personId: string): Promise<Contents> => within(async (db) => {
  const [row, media, reports, tries] = await Promise.all([db.get("kept", personId), db.getAll("media", ofPerson(personId)), db.getAll("reports"), db.getAll("tries")]);
  return {
    row: row ?? null, media,
    reports: inOrder(reports, personId), tries: inOrder(tries, personId),
  };
});

const inOrder = <S extends Said & { readonly writtenAt: number }>(said: readonly S[], personId: string): readonly S[] =>
  said.filter((each) => each.personId === personId).toSorted((a, b) => a.writtenAt - b.writtenAt);

/**
 * Takes the place of what was kept for this person; an answer that was overtaken on its way changes nothing.
 * Pictures and notes it does not name go, and with them what was said here and had arrived (`over`, by key)
 * before the server was asked: from now on its own answer speaks of it.
 */
export const keep = (kept: Kept, askedAt: number, fetched: readonly Media[], over: readonly string[]): Promise<void> => within(async (db) => {
  const { personId } = kept;
  const tx = db.transaction(STORES, "readwrite");
  const [rows, media] = [tx.objectStore("kept"), tx.objectStore("media")];
  const there = await rows.get(personId);
  if (there && there.kept.checkedAt > kept.checkedAt) return tx.done;
  await rows.put({ personId, kept, keptAt: askedAt, seenAt: askedAt });
  const named = [...addressesIn(kept), ...clipsIn(kept)];
  for (const key of await media.getAllKeys(ofPerson(personId))) if (!named.includes(key[1])) await media.delete(key);
  for (const each of fetched) await media.put(each);
  for (const key of over) await Promise.all([tx.objectStore("reports").delete(key), tx.objectStore("tries").delete(key)]);
  return tx.done;
});

/** A clip that came after the rest; nothing where what is kept by now does not name it. */
export const keepClip = (clip: Media): Promise<void> => within(async (db) => {
  const tx = db.transaction(["kept", "media"], "readwrite");
  const there = await tx.objectStore("kept").get(clip.personId);
  if (there && clipsIn(there.kept).includes(clip.address)) await tx.objectStore("media").put(clip);
  await tx.done;
});

/** None of a version that this app does not know. */
const exercisesIn = (kept: Kept): readonly KeptExercise[] => (kept.version === KEPT_VERSION ? kept.children : []).flatMap(({ exercises }) => exercises);

/** Of pictures and notes. */
export const addressesIn = (kept: Kept): readonly string[] => exercisesIn(kept).flatMap(({ picture, note }) => [picture, note].flatMap((each) => (each ? [each.address] : [])));
export const clipsIn = (kept: Kept): readonly string[] => exercisesIn(kept).flatMap(({ clip }) => clip?.address ?? []);

/** Resolves only when it is written down for good. */
export async function writeDown(name: "reports", said: KeptReport): Promise<void>;
export async function writeDown(name: "tries", said: KeptTry): Promise<void>;
export async function writeDown(name: "reports" | "tries", said: KeptReport | KeptTry): Promise<void> {
  await within(async (db) => {
    const tx = db.transaction(name, "readwrite", { durability: "strict" });
    await tx.store.put(said as KeptReport & KeptTry); // the overloads pair each name with its kind
    await tx.done;
  });
  await noteWhatWaits(said.personId);
}

/** The server has taken it. It stays until the server's own answer takes its place, or goes at once where nothing is kept. */
export async function arrived(name: "reports" | "tries", key: string, personId: string, now: number): Promise<void> {
  await within(async (db) => {
    const tx = db.transaction(["kept", name], "readwrite");
    const said = tx.objectStore(name);
    const there = await said.get(key);
    if (there && (await tx.objectStore("kept").get(personId))) await said.put({ ...there, sentAt: now } as KeptReport & KeptTry); // as it was read
    else await said.delete(key);
    await tx.done;
  });
}

/** Said to the pages of the family, which look at no database before they must. */
export async function noteWhatWaits(personId: string): Promise<void> {
  const { reports, tries } = await contentsOf(personId);
  const isWaiting = (each: Said) => each.sentAt === null;
  noteWaiting(personId, reports.some(isWaiting) ? "symptom" : tries.some(isWaiting) ? "read-back" : null);
}

/** The latest the phone's clock has shown beside what is kept. */
export const noteSeen = (personId: string, now: number): Promise<void> => within(async (db) => {
  const tx = db.transaction("kept", "readwrite");
  const row = await tx.store.get(personId);
  if (row && now > row.seenAt) await tx.store.put({ ...row, seenAt: now });
  await tx.done;
});

/** Takes what is kept off the phone: of everybody but this person, or of this person. What they said and has not arrived stays, to be sent. */
export const forget = (whose: "others" | "own", personId: string): Promise<void> => within(async (db) => {
  const tx = db.transaction(["kept", "media"], "readwrite");
  const isMeant = (key: string) => (key === personId) === (whose === "own");
  for (const key of await tx.objectStore("kept").getAllKeys()) if (isMeant(key)) await tx.objectStore("kept").delete(key);
  for (const key of await tx.objectStore("media").getAllKeys()) if (isMeant(key[0])) await tx.objectStore("media").delete(key);
  await tx.done;
});
