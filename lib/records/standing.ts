import "server-only";
import { and, eq, inArray, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { children, families } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { ledger, type LedgerRow } from "@/lib/domain/ledger/ledger";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { overallOf, todayOf, type Today } from "@/lib/domain/setup/today";
import type { Locale } from "@/lib/domain/words/reader";
import { readFacts, type ChildFacts, type ChildRef, type CurrentRecord, type CurrentSetup } from "@/lib/records/child-facts";
import { childExercises, knownExercises } from "@/lib/records/child-exercises";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";

/** One child and one exercise, now: everything a card, a desk or a page says about it. */
export type Standing = Today & {
  readonly childId: string;
  readonly familyId: string;
  readonly childName: string;
  readonly exerciseKey: string;
  /** By the version of the set-up in force, else the newest. */
  readonly names: ExerciseNames;
  readonly record: CurrentRecord | null;
  readonly setup: CurrentSetup | null;
  readonly isNotCovered: boolean;
  /** What all of this was computed from; with the same clock it comes out the same anywhere. */
  readonly facts: GoAheadFacts;
  readonly judged: readonly Omit<ChildFacts["judged"][number], "cueId" | "seenLiveId">[];
  readonly ledger: readonly LedgerRow[];
  readonly photoConsent: "given" | "withdrawn" | "never";
};

export async function standingOf(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<Standing> {
  return standingFor(grant.practiceId, grant, exerciseKey, now, grant.actor.reader.locale);
}

/** Every exercise of one child. */
export async function standingsOf(grant: ChildGrant<"child.read">, now: number): Promise<readonly Standing[]> {
  return childExercises(grant.practiceId, grant).map((key) => standingFor(grant.practiceId, grant, key, now, grant.actor.reader.locale));
}

/** What a line of a list says of one child and one exercise. */
export type StandingLine = Pick<Standing, "childId" | "familyId" | "childName" | "exerciseKey" | "names" | "record" | "setup" | "overall">;

/** Children judged in one turn, before whoever else waits for the server gets one. */
const IN_ONE_TURN = 10;

/** Every child of these families of the practice with each of its exercises, in order. */
export async function standings({ practiceId }: PracticeGrant<"families.read">, familyIds: readonly string[], now: number): Promise<readonly StandingLine[]> {
  const refs = database().select({ childId: children.id, familyId: children.familyId, childName: children.givenName }).from(children)
    .innerJoin(families, eq(families.id, children.familyId))
    .where(and(eq(families.practiceId, practiceId), inArray(children.familyId, [...familyIds]))).orderBy(families.name, children.givenName).all();
  const [known, lines]: [ReturnType<typeof knownExercises>, StandingLine[]] = [knownExercises(practiceId), []];
  for (const [at, ref] of refs.entries()) {
    if (at > 0 && at % IN_ONE_TURN === 0) await new Promise(setImmediate);
    for (const exerciseKey of childExercises(practiceId, ref, known)) {
      const { facts, record, setup } = readFacts(practiceId, ref, exerciseKey, now);
      lines.push({ ...ref, exerciseKey, record, setup, names: exerciseWords(practiceId, exerciseKey, setup?.exerciseVersion ?? null), overall: overallOf(facts, now) });
    }
  }
  return lines;
}

/** For lib/records alone: the caller has the grant. */
export function standingFor(practiceId: string, ref: ChildRef, exerciseKey: string, now: number, locale: Locale = "en"): Standing {
  const { facts, record, setup, judged: all } = readFacts(practiceId, ref, exerciseKey, now);
  const names = exerciseWords(practiceId, exerciseKey, setup?.exerciseVersion ?? null, locale);
  const judged = all.map(({ cueId, seenLiveId: _seenLiveId, ...each }) => ({ ...each, cue: names.cue({ ...each, cueId }) }));
  return {
    childId: ref.childId, familyId: ref.familyId, childName: childName(ref), exerciseKey, record, setup, facts, judged, names,
    isNotCovered: facts.notCovered, ...todayOf(facts, now),
    ledger: ledger(facts.setup?.items ?? [], judged, setup?.sides ?? null),
    photoConsent: facts.photoConsent,
  };
}

const nameOfChild = prepared((db) => db.select({ name: children.givenName }).from(children)
  .where(and(eq(children.id, OF_CHILD.childId), eq(children.familyId, OF_CHILD.familyId))).prepare());

export const childName = ({ childId, familyId }: ChildRef): string => nameOfChild().get({ childId, familyId })?.name ?? "";

const nameOfPerson = prepared((db) => db.select({ name: people.name }).from(people)
  .where(and(eq(people.id, sql.placeholder("personId")), eq(people.practiceId, sql.placeholder("practiceId")))).prepare());

/** Names of staff and guardians for "who decided", by id; only of this practice. */
export const personName = (practiceId: string, personId: string | null): string | null =>
  personId === null ? null : nameOfPerson().get({ personId, practiceId })?.name ?? null;
