import "server-only";
import { and, asc, desc, eq, gt, isNotNull, isNull, or, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { prepared } from "@/db/prepared";
import { answers, verdicts } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { cues } from "@/db/schema/teaching";
import type { PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { checkCue } from "@/lib/domain/words/check-cue";
import { starterCues } from "@/lib/messages/starter-cues";
import { act } from "@/lib/records/act";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { exerciseKeys, exerciseOf, isExerciseKey } from "@/lib/records/exercises";
import { inForce } from "@/lib/records/in-force";

const YEAR_MS = 365 * 86_400_000;
/** So many of the newest uses say which cues are used most, and cost the same in the tenth year as in the first. */
const MOST_COUNTED = 1000;

export type LibraryCue = {
  /** What a verdict stores: a shipped cue's key, changed or not, or the id of one of the practice's own. */
  readonly id: string;
  readonly itemKey: string;
  /** Placeholders in braces. */
  readonly words: string;
  /** The words as shipped; null for one of the practice's own. */
  readonly shipped: string | null;
  /** 0 while it is as shipped. */
  readonly version: number;
  readonly isRetired: boolean;
  /** When its words were last changed; null while they are as shipped. */
  readonly changedAt: number | null;
  /** Who changed it last; null while it is as shipped. */
  readonly changedBy: string | null;
  /** Verdicts in force, of the whole practice, that chose it over the last year, among the newest `MOST_COUNTED`. */
  readonly timesUsed: number;
};

/** Every cue of one exercise, retired ones too: most used first within an item, then as shipped, then oldest first. */
export async function libraryOf(grant: PracticeGrant<"cues.read">, exerciseKey: string, now: number): Promise<readonly LibraryCue[]> {
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return [];
  const library = readLibrary(grant.practiceId, exerciseKey);
  const used = timesUsed(grant.practiceId, exerciseKey, now);
  return library.map((cue) => ({ ...cue, timesUsed: used.get(cue.id) ?? 0 })).sort((a, b) => b.timesUsed - a.timesUsed);
}

/** The library of one exercise, or of the first when the practice has none such, to look at and change. */
export async function openLibrary(grant: PracticeGrant<"cues.read">, wanted: string | undefined, now: number): Promise<{
  readonly exercise: Exercise;
  readonly names: ExerciseNames;
  /** Every exercise of the practice, in order. */
  readonly exercises: readonly { readonly key: string; readonly title: string }[];
  readonly cues: readonly LibraryCue[];
}> {
  const keys = exerciseKeys(grant.practiceId);
  const key = keys.find((each) => each === wanted) ?? keys[0];
  if (key === undefined) throw new Error("no exercise is taught");
  return {
    exercise: exerciseOf(grant.practiceId, key), names: exerciseWords(grant.practiceId, key, null),
    exercises: keys.map((each) => ({ key: each, title: exerciseWords(grant.practiceId, each, null).title })),
    cues: await libraryOf(grant, key, now),
  };
}

/** What is offered for these items, most used first. */
export async function cuesFor(grant: PracticeGrant<"cues.read">, exerciseKey: string, itemKeys: readonly string[], now: number): Promise<readonly LibraryCue[]> {
  return (await libraryOf(grant, exerciseKey, now)).filter((cue) => !cue.isRetired && itemKeys.includes(cue.itemKey));
}

export type CueInput = {
  readonly exerciseKey: string;
  readonly itemKey: string;
  /** Null for a new one. */
  readonly id: string | null;
  readonly words: string;
  /** The version it was read at. */
  readonly version: number;
};

/**
 * A new cue, or new words for one; what was said with the old ones stays as it was said. Refused: what
 * `checkCue` refuses, `cue-there-already`, `form-invalid`, and `cue-changed` when it is not at `version`
 * any more, with `theirs` and `version` as they are now.
 */
export async function saveCue(grant: PracticeGrant<"cues.write">, input: CueInput, now: number): Promise<Result<{ readonly id: string }>> {
  const { exerciseKey, itemKey } = input;
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  const exercise = exerciseOf(grant.practiceId, exerciseKey);
  if (!exercise.items.some((item) => item.key === itemKey)) return refuse("form-invalid", { field: "itemKey" });
  const words = checkCue(input.words, coveredSetups(exercise).map((each) => each.setup));
  if (!words.ok) return words;
  return act(grant, "cue.saved", now, (tx) => {
    const ofItem = readLibrary(grant.practiceId, exerciseKey).filter((cue) => cue.itemKey === itemKey);
    if (ofItem.some((cue) => cue.id !== input.id && !cue.isRetired && cue.words === words.value)) return refuse("cue-there-already", { field: "words" });
    const id = input.id ?? crypto.randomUUID();
    const there = input.id === null ? null : at(ofItem, id, input.version);
    if (there && !there.ok) return there;
    put(tx, grant, { exerciseKey, itemKey, id, there: there?.value ?? null }, { words: words.value, writtenAt: now });
    return ok({ objectId: id, value: { id } });
  });
}

type CueRef = { readonly exerciseKey: string; readonly id: string; readonly version: number };

/** No longer offered; what was said with it stays. Refused as `saveCue`. */
export const retireCue = (grant: PracticeGrant<"cues.write">, ref: CueRef, now: number): Promise<Result<null>> =>
  setRetired(grant, ref, now, true);

/** Offered again, in the words it had. Refused as `saveCue`. */
export const returnCue = (grant: PracticeGrant<"cues.write">, ref: CueRef, now: number): Promise<Result<null>> =>
  setRetired(grant, ref, now, false);

async function setRetired(grant: PracticeGrant<"cues.write">, { exerciseKey, id, version }: CueRef, now: number, isRetired: boolean): Promise<Result<null>> {
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  return act(grant, isRetired ? "cue.retired" : "cue.returned", now, (tx) => {
    const there = at(readLibrary(grant.practiceId, exerciseKey), id, version);
    if (!there.ok) return there;
    const { itemKey, words } = there.value;
    put(tx, grant, { exerciseKey, itemKey, id, there: there.value }, { words, retiredAt: isRetired ? now : null });
    return ok({ objectId: id, value: null });
  });
}

type Plain = Omit<LibraryCue, "timesUsed">;

/** The cue as the person read it, or what stands there now. */
function at(library: readonly Plain[], id: string, version: number): Result<Plain> {
  const cue = library.find((each) => each.id === id);
  if (!cue) return refuse("form-invalid", { field: "id" });
  return cue.version === version ? ok(cue) : refuse("cue-changed", { field: "words", values: { theirs: cue.words, version: cue.version } });
}

/** One row a cue; a shipped one gets its row with its first change. */
function put(
  tx: Transaction,
  grant: PracticeGrant<"cues.write">,
  cue: { readonly exerciseKey: string; readonly itemKey: string; readonly id: string; readonly there: Plain | null },
  change: { readonly words: string; readonly writtenAt?: number; readonly retiredAt?: number | null },
): void {
  const { there, id, exerciseKey, itemKey } = cue;
  const version = (there?.version ?? 0) + 1;
  const isShipped = there !== null && there.shipped !== null;
  if (there === null || there.version === 0) {
    tx.insert(cues).values({
      id: isShipped ? crypto.randomUUID() : id, practiceId: grant.practiceId, exerciseKey, itemKey, starterKey: isShipped ? id : null,
      version, writtenBy: grant.actor.personId, writtenAt: 0, ...change,
    }).run();
    return;
  }
  tx.update(cues).set({ ...change, version, writtenBy: grant.actor.personId })
    .where(and(eq(cues.practiceId, grant.practiceId), eq(cues.exerciseKey, exerciseKey), eq(isShipped ? cues.starterKey : cues.id, id))).run();
}

const [PRACTICE, EXERCISE] = [sql.placeholder("practiceId"), sql.placeholder("exerciseKey")];
const ownCues = prepared((db) => db.select({
  id: cues.id, itemKey: cues.itemKey, starterKey: cues.starterKey, words: cues.words, version: cues.version,
  retiredAt: cues.retiredAt, writtenAt: cues.writtenAt, by: people.name,
}).from(cues).innerJoin(people, eq(people.id, cues.writtenBy))
  .where(and(eq(cues.practiceId, PRACTICE), eq(cues.exerciseKey, EXERCISE))).orderBy(asc(cues.writtenAt)).prepare());
const newestUsed = prepared((db) => db.select({ cueId: verdicts.cueId }).from(verdicts)
  .innerJoin(families, and(eq(families.id, verdicts.familyId), eq(families.practiceId, PRACTICE)))
  .leftJoin(answers, eq(answers.id, verdicts.answerId))
  .where(and(
    eq(verdicts.exerciseKey, EXERCISE), isNotNull(verdicts.cueId), gt(verdicts.judgedAt, sql.placeholder("since")),
    // An amended answer counts once, one taken back not at all.
    or(isNull(verdicts.answerId), inForce(sql.placeholder("now"))),
  )).orderBy(desc(verdicts.sequence)).limit(MOST_COUNTED).prepare());

/** Shipped cues with the practice's changes laid over them, then its own; by item in checklist order. */
function readLibrary(practiceId: string, exerciseKey: string): readonly Plain[] {
  const rows = ownCues().all({ practiceId, exerciseKey });
  const laid = (row: (typeof rows)[number], id: string, shipped: string | null): Plain => ({
    id, itemKey: row.itemKey, words: row.words, shipped, version: row.version, isRetired: row.retiredAt !== null,
    // Zero: retired in the words it was shipped with.
    changedAt: row.writtenAt === 0 ? null : row.writtenAt, changedBy: row.by,
  });
  const items = exerciseOf(practiceId, exerciseKey).items.map((item) => item.key);
  // An item that the newest version has no more may still be judged in an older one.
  return [...new Set([...items, ...rows.map((row) => row.itemKey)])].flatMap((itemKey) => [
    ...starterCues(itemKey).map(({ key, words }): Plain => {
      const row = rows.find((each) => each.starterKey === key);
      return row ? laid(row, key, words) : { id: key, itemKey, words, shipped: words, version: 0, isRetired: false, changedAt: null, changedBy: null };
    }),
    ...rows.filter((row) => row.starterKey === null && row.itemKey === itemKey).map((row) => laid(row, row.id, null)),
  ]);
}

function timesUsed(practiceId: string, exerciseKey: string, now: number): ReadonlyMap<string, number> {
  const used = new Map<string, number>();
  for (const { cueId } of newestUsed().all({ practiceId, exerciseKey, since: now - YEAR_MS, now })) if (cueId !== null) used.set(cueId, (used.get(cueId) ?? 0) + 1);
  return used;
}
