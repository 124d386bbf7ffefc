/** Of an answer's stops: none, not yet read back by anybody who cares for the child, or read back, lifted or replaced. */
export type StopRead = "none" | "unread" | "settled";

/** A photo set that counts, of the child and exercise a photo was asked for. Instants UTC ms. */
export type SentSet = {
  readonly photoSetId: string;
  readonly sentAt: number;
  /** In force and readable by the family; null while it waits. */
  readonly answer: { readonly answeredAt: number; readonly asksForAnother: boolean; readonly stop: StopRead } | null;
};

export type AskedFacts = {
  readonly askedAt: number;
  /** The end of the due day. */
  readonly dueAt: number;
  /** In any order; one sent before the photo was asked for does not count. */
  readonly sets: readonly SentSet[];
  /** When the child was last judged in a visit or call; null for never. */
  readonly seenLiveAt: number | null;
};

export const ASK_STATES = ["asked", "late", "sent", "answered", "another", "stop-unread", "seen-live"] as const;
export type AskState = (typeof ASK_STATES)[number];

export type AskedPhoto = {
  readonly state: AskState;
  /** The newest set since it was asked for, with its own instants; null when none came. */
  readonly photoSetId: string | null;
  readonly sentAt: number | null;
  readonly answeredAt: number | null;
  readonly stop: StopRead;
  /** The first one came after the due day, or none came and it is over. */
  readonly isLate: boolean;
};

/**
 * What became of a photo that was asked for. A stop that nobody read back outranks whatever came later, a newer
 * photo outranks an older answer, and a child seen live since owes no photo.
 */
export function askedPhoto({ askedAt, dueAt, sets, seenLiveAt }: AskedFacts, now: number): AskedPhoto {
  const since = sets.filter((set) => set.sentAt >= askedAt).toSorted((a, b) => a.sentAt - b.sentAt || a.photoSetId.localeCompare(b.photoSetId));
  const [first, newest] = [since[0], since.at(-1)];
  if (!first || !newest) {
    const isSeen = seenLiveAt !== null && seenLiveAt >= askedAt;
    const isLate = !isSeen && now >= dueAt;
    return { state: isSeen ? "seen-live" : isLate ? "late" : "asked", photoSetId: null, sentAt: null, answeredAt: null, stop: "none", isLate };
  }
  const unread = since.findLast((set) => set.answer?.stop === "unread");
  const shown = unread ?? newest;
  const { answer } = shown;
  return {
    state: unread ? "stop-unread" : answer === null ? "sent" : answer.asksForAnother && !isSeenSince(answer.answeredAt, seenLiveAt) ? "another" : "answered",
    photoSetId: shown.photoSetId, sentAt: shown.sentAt, answeredAt: answer?.answeredAt ?? null, stop: answer?.stop ?? "none", isLate: first.sentAt >= dueAt,
  };
}

const isSeenSince = (answeredAt: number, seenLiveAt: number | null): boolean => seenLiveAt !== null && seenLiveAt > answeredAt;

/** Nothing has come, and nothing else has taken its place: whoever is asked may be reminded. */
export const isOwed = (state: AskState): boolean => state === "asked" || state === "late";

/** What needs a therapist first comes first; null: not asked yet. */
const BY_NEED: readonly (AskState | null)[] = ["stop-unread", "late", "another", "sent", "asked", null, "seen-live", "answered"];
export const byNeed = (one: AskState | null, other: AskState | null): number => BY_NEED.indexOf(one) - BY_NEED.indexOf(other);

/** Of all that were asked: how many have sent since, and how many were answered. */
export function counted(states: readonly (AskState | null)[]): { readonly asked: number; readonly sent: number; readonly answered: number } {
  const asked = states.filter((state) => state !== null);
  const sent = asked.filter((state) => !isOwed(state) && state !== "seen-live");
  return { asked: asked.length, sent: sent.length, answered: sent.filter((state) => state !== "sent").length };
}
