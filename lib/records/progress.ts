import "server-only";
import { and, asc, eq, inArray } from "drizzle-orm";
import { database } from "@/db/client";
import { answers, seenLive } from "@/db/schema/answers";
import { phaseOpenings } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import type { LedgerRow } from "@/lib/domain/ledger/ledger";
import type { Phase, Verdict } from "@/lib/domain/setup/vocabulary";
import { childExercises } from "@/lib/records/child-exercises";
import { own, readFacts, type ChildRef } from "@/lib/records/child-facts";
import type { Judged } from "@/lib/records/judged";
import { standingFor, type Standing } from "@/lib/records/standing";

/** What was judged together: a photo set, by its first sending, or a visit or call. */
export type Look =
  | { readonly kind: "photo-set"; readonly id: string; readonly at: number }
  | { readonly kind: "visit" | "call"; readonly id: string; readonly at: number };

/** `counts` is false for a verdict that says nothing about now. */
export type LookCell = { readonly verdict: Verdict; readonly counts: boolean };
export type ProgressRow = LedgerRow & { readonly cells: readonly (LookCell | null)[] };

export type PhaseOpening = { readonly phase: Phase; readonly openedAt: number; readonly openedBy: string; readonly closedAt: number | null };

export type ExerciseProgress = {
  readonly standing: Standing;
  /** In the order in which they count. */
  readonly looks: readonly Look[];
  /** One an item of the set-up, its cells by `looks`. */
  readonly rows: readonly ProgressRow[];
  /** Every opening there was, oldest first. */
  readonly openings: readonly PhaseOpening[];
};

/** How each exercise of one child went so far. */
export async function progressOf(grant: ChildGrant<"progress.read">, now: number): Promise<readonly ExerciseProgress[]> {
  return childExercises(grant.practiceId, grant).map((exerciseKey) => {
    const standing = standingFor(grant.practiceId, grant, exerciseKey, now);
    const { judged } = readFacts(grant.practiceId, grant, exerciseKey, now);
    const looks = looksOf(grant, judged);
    return { standing, looks: looks.map(({ judged: _judged, ...look }) => look), rows: standing.ledger.map((row) => rowOf(row, judged, looks)), openings: openingsOf(grant, exerciseKey) };
  });
}

type LookIn = Look & { readonly judged: ReadonlySet<Judged> };

function looksOf(ref: ChildRef, judged: readonly Judged[]): readonly LookIn[] {
  const setOf = new Map(database().select({ answerId: answers.id, id: photoSets.id, at: photoSets.sentAt }).from(answers)
    .innerJoin(photoSets, eq(photoSets.id, answers.photoSetId))
    .where(and(own(answers, ref), inArray(answers.id, keysOf(judged, "answerId")))).all().map(({ answerId, ...set }) => [answerId, set]));
  const liveOf = new Map(database().select({ id: seenLive.id, how: seenLive.how, at: seenLive.seenAt }).from(seenLive)
    .where(and(own(seenLive, ref), inArray(seenLive.id, keysOf(judged, "seenLiveId")))).all().map((live) => [live.id, live]));
  const looks = new Map<string, { readonly look: Look; readonly judged: Set<Judged> }>();
  for (const each of judged) {
    const set = setOf.get(each.answerId ?? "");
    const live = liveOf.get(each.seenLiveId ?? "");
    const look: Look | null = set ? { kind: "photo-set", id: set.id, at: set.at ?? each.judgedAt } : live ? { kind: live.how, id: live.id, at: live.at } : null;
    if (!look) throw new Error("a verdict has neither a photo set nor a visit");
    const known = looks.get(look.id) ?? { look, judged: new Set() };
    looks.set(look.id, known);
    known.judged.add(each);
  }
  return [...looks.values()].map(({ look, judged: of }) => ({ ...look, judged: of }));
}

const keysOf = (judged: readonly Judged[], key: "answerId" | "seenLiveId"): string[] => [...new Set(judged.flatMap((each) => each[key] ?? []))];

/** The ledger's entries are this item's verdicts in the same order. */
function rowOf(row: LedgerRow, judged: readonly Judged[], looks: readonly LookIn[]): ProgressRow {
  const ofItem = judged.filter((each) => each.itemKey === row.itemKey);
  const cells = looks.map((look) => {
    const at = ofItem.findIndex((each) => look.judged.has(each));
    const entry = row.entries[at];
    return entry ? { verdict: entry.verdict, counts: entry.counts } : null;
  });
  return { ...row, cells };
}

function openingsOf(ref: ChildRef, exerciseKey: string): readonly PhaseOpening[] {
  return database().select({ phase: phaseOpenings.phase, openedAt: phaseOpenings.openedAt, openedBy: people.name, closedAt: phaseOpenings.closedAt })
    .from(phaseOpenings).innerJoin(people, eq(people.id, phaseOpenings.openedBy))
    .where(and(own(phaseOpenings, ref), eq(phaseOpenings.exerciseKey, exerciseKey))).orderBy(asc(phaseOpenings.openedAt)).all();
}
