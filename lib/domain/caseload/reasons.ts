import { addDays } from "@/lib/domain/time/local";
import type { LocalDate } from "@/lib/domain/time/working-week";

/** What a therapist can look for, the most urgent first. */
export const LOOKED_FOR = ["unread-stop", "record", "stuck", "not-sent"] as const;
export type LookedFor = (typeof LOOKED_FOR)[number];

/** Photo sets in a row in which one item needed changing, from which on it is time to look (common practice, no source). */
export const STUCK_AFTER = 3;
/** A reassessment is worth planning this many days before its date (common practice, no source). */
export const DUE_SOON_DAYS = 28;
/** Weeks without a photo set that are asked for unless the practice's own photo interval is shorter (common practice, no source). */
export const SILENT_WEEKS = 3;
export const MOST_WEEKS = 52;

const WEEK_MS = 7 * 86_400_000;

/** An item that stands at fix, and in how many photo sets in a row. */
export type AtFix = { readonly exerciseKey: string; readonly itemKey: string; readonly photos: number };

/** What is known of one child. Instants are UTC milliseconds, days are the practice's own. */
export type CaseFacts = {
  /** Since when the oldest open stop that nobody who practises has read back could be read; null without one. */
  readonly unreadSince: number | null;
  /** The current curve record; `reassessBy` null where no date was set. */
  readonly record: { readonly reassessBy: LocalDate | null } | null;
  readonly atFix: readonly AtFix[];
  readonly photoConsent: "given" | "withdrawn" | "never";
  /** When a set-up was first confirmed: from then on a photo can be expected. Null without one. */
  readonly setUpAt: number | null;
  /** When the last photo set was sent for this child, answered or not. */
  readonly lastSentAt: number | null;
};

/** Why it is time to look at one child. It judges nobody: no reason says that anything became worse. */
export type Reason =
  | { readonly kind: "unread-stop"; readonly since: number }
  | { readonly kind: "record"; readonly due: "over" | "soon"; readonly day: LocalDate }
  | { readonly kind: "record"; readonly due: "missing"; readonly day: null }
  | ({ readonly kind: "stuck" } & AtFix)
  | { readonly kind: "not-sent"; readonly since: number; readonly hasSent: boolean; readonly hasConsent: boolean; readonly weeks: number };

export type Asked = { readonly now: number; readonly today: LocalDate; readonly weeks: number };

/** The weeks to ask for when nobody chose any: a family is better found before its last verdict is too old to go by. */
export const weeksUnlessChosen = (photoWeeks: number): number => Math.min(SILENT_WEEKS, photoWeeks);

/** Every reason to look at this child, the most urgent first; none when it needs no look. */
export function reasonsToLook(facts: CaseFacts, asked: Asked): readonly Reason[] {
  const reasons = [unreadReason(facts), recordReason(facts, asked), ...stuckReasons(facts), notSentReason(facts, asked)];
  return reasons.flatMap((each) => each ?? []).toSorted((a, b) => rank(a) - rank(b));
}

const unreadReason = ({ unreadSince }: CaseFacts): Reason | null => (unreadSince === null ? null : { kind: "unread-stop", since: unreadSince });

/** The reassessment day itself still counts, as it does for the go-ahead. */
function recordReason({ record }: CaseFacts, { today }: Asked): Reason | null {
  if (record === null) return { kind: "record", due: "missing", day: null };
  const day = record.reassessBy;
  if (day === null || day > addDays(today, DUE_SOON_DAYS)) return null;
  return { kind: "record", due: day < today ? "over" : "soon", day };
}

/** The longest run first; the exercise's own order where they are as long. */
const stuckReasons = ({ atFix }: CaseFacts): readonly Reason[] =>
  atFix.filter((each) => each.photos >= STUCK_AFTER).toSorted((a, b) => b.photos - a.photos).map((each) => ({ kind: "stuck", ...each }));

/** A family that switched photo checks off is not asked for any; one whose consent was never given is among those who have not sent. */
function notSentReason({ lastSentAt, setUpAt, photoConsent }: CaseFacts, { now, weeks }: Asked): Reason | null {
  const since = lastSentAt ?? setUpAt;
  if (since === null || photoConsent === "withdrawn" || now - since < weeks * WEEK_MS) return null;
  return { kind: "not-sent", since, hasSent: lastSentAt !== null, hasConsent: photoConsent === "given", weeks: Math.floor((now - since) / WEEK_MS) };
}

/** An overdue record stops the child's practice, a missing one keeps it from beginning; one that is due soon can wait longest. */
function rank(reason: Reason): number {
  switch (reason.kind) {
    case "unread-stop": return 0;
    case "record": return { over: 1, missing: 2, soon: 5 }[reason.due];
    case "stuck": return 3;
    case "not-sent": return 4;
  }
}

/**
 * The strongest reason decides, then who has waited longest for it, then the other reasons; what is alike stays in the
 * order given. Nothing rests on how many items a child has at fix, so that no child's photos are set against another's.
 */
export const byUrgency = (a: readonly Reason[], b: readonly Reason[]): number => moreUrgent(urgencyOf(a), urgencyOf(b));

/** What `byUrgency` compares, worked out once for a long list. */
export type Urgency = { readonly first: readonly number[]; readonly since: number; readonly ranks: readonly number[] };

export function urgencyOf(reasons: readonly Reason[]): Urgency {
  const ranks = ranksOf(reasons);
  return { first: ranks.slice(0, 1), since: waitingSince(reasons), ranks };
}

export const moreUrgent = (a: Urgency, b: Urgency): number => compareRanks(a.first, b.first) || a.since - b.since || compareRanks(a.ranks, b.ranks);

const ranksOf = (reasons: readonly Reason[]): readonly number[] => [...new Set(reasons.map(rank))];

/** Item by item; where one list ends, the longer one comes first. */
function compareRanks(a: readonly number[], b: readonly number[]): number {
  const at = a.findIndex((each, index) => each !== b[index]);
  if (at === -1) return b.length - a.length;
  return (a[at] ?? 0) - (b[at] ?? Infinity);
}

/** When the strongest reason began, where it has a beginning. */
function waitingSince([first]: readonly Reason[]): number {
  if (!first) return 0;
  if (first.kind === "record") return first.day === null ? 0 : Date.parse(first.day);
  return first.kind === "stuck" ? 0 : first.since;
}

/** What may be shown: one thing that was looked for, whoever needs a look, or every child. */
export const SHOWN = ["any", ...LOOKED_FOR, "everyone"] as const;
export type Shown = (typeof SHOWN)[number];

/** Whether a child with these reasons is among what is shown. A child with several reasons is found by each. */
export const isShown = (reasons: readonly Reason[], shown: Shown): boolean =>
  shown === "everyone" || (shown === "any" ? reasons.length > 0 : reasons.some((each) => each.kind === shown));
