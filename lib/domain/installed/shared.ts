/** Where the phone's share sheet sends pictures; the worker answers it. */
export const SHARE_PATH = "/family/send/shared";
export const SHARE_FIELD = "photo";
/** As many as one photo set holds. */
export const MOST_SHARED = 4;
/** What nobody came back to is gone after that. */
export const SHARED_LIFE_MS = 24 * 3_600_000;
/** The largest photo that the server takes. */
export const MOST_BYTES = 25_000_000;

/** What became of one share: all kept, some, none, or nobody is signed in here. */
export type Shared = "kept" | "some" | "none" | "nobody";
export const isShared = (text: unknown): text is Exclude<Shared, "nobody"> => text === "kept" || text === "some" || text === "none";

/** Where the phone goes after a share. */
export const afterShare = (shared: Shared): string => (shared === "nobody" ? "/shared" : `/family/send?shared=${shared}`);

export type SharedPhoto = { readonly key: string; readonly personId: string; readonly at: number };

/** Which of the kept ones go: those of another person, those whose day is over, and the oldest beyond the most. */
export function toForget(all: readonly SharedPhoto[], personId: string, now: number): readonly SharedPhoto[] {
  const mine = all.filter((each) => each.personId === personId && Math.abs(now - each.at) < SHARED_LIFE_MS);
  const stay = new Set(mine.toSorted((one, other) => other.at - one.at).slice(0, MOST_SHARED));
  return all.filter((each) => !stay.has(each));
}
