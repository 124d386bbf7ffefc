import type { ClipShowing } from "@/lib/domain/clip/moment";
import type { ReadBackTry } from "@/lib/domain/answering/read-back";
import type { JudgedItemWithCue } from "@/lib/domain/ledger/judged";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import type { Locale } from "@/lib/domain/words/reader";

/**
 * Raised whenever what is kept, or what it means, changes: an app that meets another number shows nothing
 * of it. A go-ahead must never be computed from what was kept for other rules.
 */
export const KEPT_VERSION = 4;

/** A phone keeps so many clips of one person, each no larger than this: more would fill it, and cost a poor line its day. */
export const KEPT_CLIPS = { most: 3, maxBytes: 8_000_000 } as const;

/** A verdict with the answer it came with, null when seen live, and the cue the family read. */
export type KeptVerdict = JudgedItemWithCue & { readonly answerId: string | null };

/** The set-up in force in words. Left and right are filled in already. */
export type KeptSetup = {
  /** Side first, then prop and spot. */
  readonly sideAndProp: readonly string[];
  readonly limbs: readonly string[];
  readonly doing: readonly { readonly phase: Phase; readonly text: string }[];
  readonly cautions: readonly string[];
  /** Said of a set-up made for one child alone; else null. */
  readonly individual: string | null;
  readonly label: Readonly<Record<"title" | "desc" | "down" | "up", string>> & { readonly breathe?: string };
};

export type KeptExercise = {
  readonly title: string;
  readonly facts: Omit<GoAheadFacts, "verdicts"> & { readonly verdicts: readonly KeptVerdict[] };
  /** Of the newest set-up, confirmed or not in force any more. */
  readonly sides: SetupSides | null;
  /** Null when nothing of the exercise may be shown; then `instead` says why. */
  readonly setup: KeptSetup | null;
  readonly instead: string | null;
  readonly itemTitles: Readonly<Record<string, string>>;
  /** Which of its texts stand in another language than the reader's, and in which. */
  readonly languages: Readonly<Record<string, Locale>>;
  readonly picture: { readonly address: string; readonly width: number; readonly height: number; readonly alt: string } | null;
  readonly note: { readonly address: string; readonly title: string; readonly summary: string } | null;
  /** Of the photo set whose answer is the newest, and was given under this set-up. */
  readonly clip: KeptClip | null;
};

export type KeptClip = ClipShowing & {
  /** Null where it is too large to be kept, or one too many. */
  readonly address: string | null;
  readonly title: string;
  readonly about: string;
  readonly instead: string;
};

export type KeptChild = {
  readonly childId: string;
  readonly name: string;
  readonly stopFor: string;
  readonly questions: Readonly<Record<"side" | "prop" | "practise", string>>;
  /** This person's, oldest first. */
  readonly tries: readonly ReadBackTry[];
  readonly exercises: readonly KeptExercise[];
};

/** "Before you start" of one person, kept on their phone. Instants are the server's, UTC milliseconds. */
export type Kept = {
  readonly version: typeof KEPT_VERSION;
  readonly personId: string;
  readonly checkedAt: number;
  /** What it is said in, whatever the page around it is in by then. */
  readonly language: Locale;
  /** Every instant that may have to be said, as the reader's zone and language say it. */
  readonly dates: Readonly<Record<string, string>>;
  /** The start of each local day until it is too old to be used, for what happens without signal. */
  readonly days: readonly { readonly from: number; readonly said: string }[];
  /** Who decided, by id. */
  readonly names: Readonly<Record<string, string>>;
  /** Sentences by their key in the catalogue; `{date}` and the like stay to be filled. */
  readonly words: Readonly<Record<string, string>>;
  readonly children: readonly KeptChild[];
};

/** What a phone adds: its own clock when it kept this, and the latest it has shown since. */
export type OnPhone = { readonly kept: Kept; readonly keptAt: number; readonly seenAt: number };

/** Something that hurts, said without signal. `key` makes it arrive once. */
export type OfflineReport = {
  readonly key: string;
  readonly childId: string;
  readonly noticed: readonly string[];
  readonly tier: "urgent" | "today";
  readonly note: string;
  /** The photo set it was said with; then the two count once together. */
  readonly photoSetId: string | null;
  readonly writtenAt: number;
};
