import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { z } from "zod";
import { database, type Transaction } from "@/db/client";
import { exerciseDrafts, exercisesRetired, exerciseVersions } from "@/db/schema/teaching";
import type { PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { blankFields, copyFields, draftOf, fieldsOf, unusedKey, type Fields } from "@/lib/domain/setup/exercise-fields";
import { checkExercise } from "@/lib/domain/setup/write-exercise";
import { act } from "@/lib/records/act";
import { exerciseWords, writtenWords } from "@/lib/records/exercise-names";
import { exerciseKeys, exerciseOf, isBuiltIn, isExerciseKey } from "@/lib/records/exercises";

const StoredFields = z.record(z.string().max(200), z.string().max(4000));

export type DraftInHand = {
  readonly fields: Fields;
  /** The version it goes on from; 0 for a new exercise. */
  readonly basedOn: number;
  /** Of the draft itself, so that two windows never overwrite each other; 0 before it is kept once. */
  readonly draftVersion: number;
  readonly savedAt: number | null;
  /** The newest saved version; 0 for none. */
  readonly newest: number;
};

/** The writer's own draft, or the newest version to go on from; null where there is nothing of this practice to write. */
export async function exerciseInHand(grant: PracticeGrant<"exercise.write">, key: string): Promise<DraftInHand | null> {
  return database().transaction((tx) => readInHand(tx, grant, key));
}

function readInHand(tx: Transaction, grant: PracticeGrant<"exercise.write">, key: string): DraftInHand | null {
  if (isBuiltIn(key)) return null;
  const newest = newestOf(grant, key);
  const row = tx.select().from(exerciseDrafts).where(ownDraft(grant, key)).get();
  if (row) {
    return { fields: StoredFields.parse(JSON.parse(row.body)), basedOn: row.basedOn, draftVersion: row.version, savedAt: row.savedAt, newest };
  }
  if (newest === 0) return null;
  const exercise = exerciseOf(grant.practiceId, key);
  return { fields: fieldsOf(exercise, writtenWords(grant.practiceId, exercise)), basedOn: newest, draftVersion: 0, savedAt: null, newest };
}

const newestOf = (grant: PracticeGrant<"exercise.write">, key: string): number => (isExerciseKey(grant.practiceId, key) ? exerciseOf(grant.practiceId, key).version : 0);

const ownDraft = (grant: PracticeGrant<"exercise.write">, key: string) => and(
  eq(exerciseDrafts.practiceId, grant.practiceId), eq(exerciseDrafts.exerciseKey, key), eq(exerciseDrafts.personId, grant.actor.personId),
);

/** Begins an exercise, blank or as a copy of one the practice has. Nothing is taught until a version is saved. */
export async function startExercise(grant: PracticeGrant<"exercise.write">, input: { readonly title: string; readonly from: string | null }, now: number): Promise<Result<{ readonly key: string }>> {
  return act(grant, "exercise.started", now, (tx) => {
    if (input.from !== null && !isExerciseKey(grant.practiceId, input.from)) return refuse("form-invalid", { field: "from" });
    const drafts = tx.select({ key: exerciseDrafts.exerciseKey }).from(exerciseDrafts).where(eq(exerciseDrafts.practiceId, grant.practiceId)).all();
    const key = unusedKey(input.title, [...exerciseKeys(grant.practiceId), ...drafts.map((row) => row.key)]);
    const copied = input.from === null ? null : exerciseOf(grant.practiceId, input.from);
    const fields = copied
      ? copyFields(copied, writtenWords(grant.practiceId, copied), input.title)
      // The one item that every exercise has is called as in the shipped one.
      : blankFields(input.title, exerciseWords(grant.practiceId, "side-lying", null).itemTitle("side-down"));
    insertDraft(tx, grant, key, { fields, basedOn: 0 }, now);
    return ok({ objectId: key, value: { key } });
  });
}

function insertDraft(tx: Transaction, grant: PracticeGrant<"exercise.write">, key: string, draft: { readonly fields: Fields; readonly basedOn: number }, now: number): void {
  tx.insert(exerciseDrafts).values({
    id: crypto.randomUUID(), practiceId: grant.practiceId, exerciseKey: key, personId: grant.actor.personId, basedOn: draft.basedOn,
    body: JSON.stringify(draft.fields), version: 1, savedAt: now,
  }).run();
}

/** Keeps what stands in the form. Refused with `stale-version` when another window of the writer's kept something since. */
export async function keepExercise(
  grant: PracticeGrant<"exercise.write">,
  key: string,
  draft: { readonly fields: Fields; readonly basedOn: number; readonly draftVersion: number },
  now: number,
): Promise<Result<{ readonly draftVersion: number }>> {
  return database().transaction((tx) => {
    const there = readInHand(tx, grant, key);
    if (!there) return refuse("form-invalid", { field: "exerciseKey" });
    if (there.draftVersion !== draft.draftVersion) return refuse("stale-version");
    if (draft.draftVersion === 0) insertDraft(tx, grant, key, draft, now);
    else {
      tx.update(exerciseDrafts).set({ body: JSON.stringify(draft.fields), basedOn: draft.basedOn, version: draft.draftVersion + 1, savedAt: now })
        .where(ownDraft(grant, key)).run();
    }
    return ok({ draftVersion: draft.draftVersion + 1 });
  }, { behavior: "immediate" });
}

/**
 * Saves the writer's draft as the next version. What was confirmed or answered keeps its own. Refused:
 * `exercise-version-taken` when somebody saved one meanwhile, `exercise-incomplete` while the check finds a
 * problem; the draft stays in hand either way.
 */
export async function saveExercise(grant: PracticeGrant<"exercise.write">, key: string, draftVersion: number, now: number): Promise<Result<{ readonly version: number }>> {
  return act(grant, "exercise.version-written", now, (tx) => {
    const draft = readInHand(tx, grant, key);
    if (!draft || draft.draftVersion === 0) return refuse("form-invalid", { field: "exerciseKey" });
    if (draft.draftVersion !== draftVersion) return refuse("stale-version");
    if (draft.basedOn !== draft.newest) return refuse("exercise-version-taken");
    const version = draft.newest + 1;
    const { problems, written } = checkExercise(draftOf(draft.fields), key, version);
    if (!written || problems.length > 0) return refuse("exercise-incomplete");
    const id = crypto.randomUUID();
    tx.insert(exerciseVersions).values({
      id, practiceId: grant.practiceId, exerciseKey: key, version, body: JSON.stringify(written.exercise), words: JSON.stringify(written.words),
      writtenBy: grant.actor.personId, writtenAt: now,
    }).run();
    tx.delete(exerciseDrafts).where(ownDraft(grant, key)).run();
    return ok({ objectId: id, value: { version } });
  });
}

/** Throws the writer's own draft away. Saved versions stay. */
export async function dropExercise(grant: PracticeGrant<"exercise.write">, key: string, now: number): Promise<Result<null>> {
  return act(grant, "exercise.draft-dropped", now, (tx) => {
    tx.delete(exerciseDrafts).where(ownDraft(grant, key)).run();
    return ok({ objectId: key, value: null });
  });
}

/** Not taught to another child any more; children who have it keep it. */
export async function retireExercise(grant: PracticeGrant<"exercise.write">, key: string, now: number): Promise<Result<null>> {
  const id = crypto.randomUUID();
  return act(grant, "exercise.retired", now, (tx) => {
    if (!isExerciseKey(grant.practiceId, key)) return refuse("form-invalid", { field: "exerciseKey" });
    const added = tx.insert(exercisesRetired)
      .values({ id, practiceId: grant.practiceId, exerciseKey: key, retiredBy: grant.actor.personId, retiredAt: now }).onConflictDoNothing().run();
    return added.changes === 0 ? refuse("stale-version") : ok({ objectId: id, value: null });
  });
}

export async function bringBackExercise(grant: PracticeGrant<"exercise.write">, key: string, now: number): Promise<Result<null>> {
  return act(grant, "exercise.brought-back", now, (tx) => {
    const changed = tx.update(exercisesRetired).set({ returnedAt: now })
      .where(and(eq(exercisesRetired.practiceId, grant.practiceId), eq(exercisesRetired.exerciseKey, key), isNull(exercisesRetired.returnedAt))).run();
    return changed.changes === 0 ? refuse("stale-version") : ok({ objectId: key, value: null });
  });
}
