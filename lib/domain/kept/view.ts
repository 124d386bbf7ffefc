import type { AskedReadBack, OpenReadBack, ReadBackTry } from "@/lib/domain/answering/read-back";
import { ledger, openItems, type LedgerRow } from "@/lib/domain/ledger/ledger";
import { KEPT_VERSION, type Kept, type KeptChild, type KeptExercise, type OfflineReport, type OnPhone } from "@/lib/domain/kept/kept";
import { keptReadBacks, keptToday } from "@/lib/domain/kept/today";
import { filled, type KeptWord } from "@/lib/domain/kept/words";
import type { Reason, ReasonCode } from "@/lib/domain/setup/go-ahead-reasons";
import type { Today } from "@/lib/domain/setup/today";
import type { Locale } from "@/lib/domain/words/reader";

export type ExerciseView = {
  readonly exercise: KeptExercise;
  readonly today: Today;
  readonly open: readonly LedgerRow[];
  readonly settled: readonly LedgerRow[];
};

export type ChildView = {
  readonly child: KeptChild;
  readonly isStopped: boolean;
  readonly reasons: ReadonlySet<ReasonCode>;
  /** Said on this phone and not yet at the practice. */
  readonly isWaiting: boolean;
  readonly questions: readonly (OpenReadBack & AskedReadBack)[];
  readonly exercises: readonly ExerciseView[];
};

export type KeptView = { readonly is: "nothing" } | { readonly is: "unknown" } | { readonly is: "kept"; readonly kept: Kept; readonly children: readonly ChildView[] };

export type SaidHere = {
  readonly reports: readonly (OfflineReport & { readonly sentAt: number | null })[];
  readonly tries: readonly (ReadBackTry & { readonly childId: string })[];
};

/** What the page without signal shows. Whatever cannot be read in full, as this version reads it, shows nothing of itself. */
export function viewOf(onPhone: OnPhone | null, said: SaidHere, phoneNow: number): KeptView {
  if (!onPhone) return { is: "nothing" };
  if (onPhone.kept.version !== KEPT_VERSION) return { is: "unknown" };
  try {
    const { kept } = onPhone;
    return { is: "kept", kept, children: kept.children.map((child) => childView(child, onPhone, said, phoneNow)) };
  } catch {
    return { is: "unknown" };
  }
}

function childView(child: KeptChild, onPhone: OnPhone, { reports, tries }: SaidHere, phoneNow: number): ChildView {
  const exercises = child.exercises.map((exercise) => {
    const { setup, verdicts } = exercise.facts;
    const rows = ledger(setup?.items ?? [], verdicts, setup?.sides ?? null);
    return {
      exercise, today: keptToday(exercise, child.childId, onPhone, reports, phoneNow),
      open: openItems(rows), settled: rows.filter((row) => row.state === "settled"),
    };
  });
  const reasons = exercises.flatMap(({ today }) => today.phases).flatMap((each) => each.goAhead.reasons);
  return {
    child, exercises,
    isStopped: exercises.some(({ today }) => today.overall === "stop"),
    reasons: new Set(reasons.map(({ code }) => code)),
    isWaiting: reports.some((report) => report.childId === child.childId && report.sentAt === null),
    questions: keptReadBacks(child, tries.filter((each) => each.childId === child.childId)),
  };
}

/** A sentence that came with what is kept. */
export const worded = ({ words }: Kept, word: KeptWord, values: Readonly<Record<string, string>> = {}): string => filled(words[word] ?? "", values);

/** The part of a sentence that stands in another language than the rest, if any has one; the longest that is found. */
export function foreignIn(sentence: string, { languages }: KeptExercise): { readonly part: string; readonly lang: Locale } | null {
  const [found] = Object.entries(languages).filter(([part]) => sentence.includes(part)).toSorted(([one], [other]) => other.length - one.length);
  return found ? { part: found[0], lang: found[1] } : null;
}

/** A reason with its date and who decided, as the page with signal says it. */
export function reasonWorded(reason: Reason, { itemTitles }: KeptExercise, kept: Kept): { readonly text: string; readonly decided: string } {
  const item = "itemKey" in reason ? itemTitles[reason.itemKey] ?? "" : "";
  const who = kept.names[reason.by ?? ""] ?? worded(kept, "family.decidedBySystem");
  return {
    text: worded(kept, `family.reason.${reason.code}`, { item }),
    decided: reason.since === null ? worded(kept, "family.nobody") : worded(kept, "family.decided", { date: dateIn(kept, reason.since), who }),
  };
}

/** The day of an instant that the server named, or that has come since. */
export const dateIn = ({ dates, days, checkedAt }: Kept, at: number): string =>
  dates[String(at)] ?? days.findLast((day) => day.from <= at)?.said ?? dates[String(checkedAt)] ?? "";
