import "server-only";
import { and, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { ledger, type LedgerRow } from "@/lib/domain/ledger/ledger";
import { goAhead, type GoAhead } from "@/lib/domain/setup/go-ahead";
import { strongest } from "@/lib/domain/setup/go-ahead-reasons";
import { PHASES, type GoAheadState, type Phase } from "@/lib/domain/setup/vocabulary";
import { readFacts, type ChildRef, type CurrentRecord, type CurrentSetup } from "@/lib/records/child-facts";
import { exerciseKeys } from "@/lib/records/exercises";

export type PhaseStanding = { readonly phase: Phase; readonly isOpen: boolean; readonly goAhead: GoAhead };

/** One child and one exercise, now: everything a card, a desk or a page says about it. */
export type Standing = {
  readonly childId: string;
  readonly familyId: string;
  readonly childName: string;
  readonly exerciseKey: string;
  readonly record: CurrentRecord | null;
  readonly setup: CurrentSetup | null;
  readonly isNotCovered: boolean;
  readonly phases: readonly PhaseStanding[];
  /** The newest opened phase, or the first: the one a family practises. */
  readonly current: PhaseStanding;
  /** The strongest go-ahead of the opened phases. */
  readonly overall: GoAheadState;
  readonly ledger: readonly LedgerRow[];
  readonly photoConsent: "given" | "withdrawn" | "never";
};

export async function standingOf(grant: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<Standing> {
  return standingFor(grant.practiceId, grant, exerciseKey, now);
}

/** All exercises of one child. */
export async function standingsOf(grant: ChildGrant<"child.read">, now: number): Promise<readonly Standing[]> {
  return exerciseKeys().map((key) => standingFor(grant.practiceId, grant, key, now));
}

/** Every child of the practice with every exercise, by family. */
export async function standings(grant: PracticeGrant<"families.read">, now: number): Promise<readonly Standing[]> {
  const refs = database().select({ childId: children.id, familyId: children.familyId }).from(children)
    .innerJoin(families, eq(families.id, children.familyId))
    .where(eq(families.practiceId, grant.practiceId)).orderBy(families.name, children.givenName).all();
  return refs.flatMap((ref) => exerciseKeys().map((key) => standingFor(grant.practiceId, ref, key, now)));
}

/** For lib/records alone: the caller has the grant. */
export function standingFor(practiceId: string, ref: ChildRef, exerciseKey: string, now: number): Standing {
  const { facts, record, setup, judged } = readFacts(practiceId, ref, exerciseKey);
  const phasesThere = setup?.resolution.phases ?? PHASES.slice(0, 1);
  const phases = phasesThere.map((phase) => ({
    phase,
    isOpen: facts.phasesOpened.some((opening) => opening.phase === phase),
    goAhead: goAhead(facts, phase, now),
  }));
  const [first] = phases;
  if (!first) throw new Error("an exercise has at least one phase");
  const opened = phases.filter((each) => each.isOpen);
  return {
    childId: ref.childId, familyId: ref.familyId, childName: childName(ref), exerciseKey, record, setup,
    isNotCovered: facts.notCovered, phases, current: opened.at(-1) ?? first,
    overall: strongest((opened.length > 0 ? opened : [first]).map((each) => each.goAhead.state)),
    ledger: ledger(facts.setup?.items ?? [], judged, setup?.sides ?? null),
    photoConsent: facts.photoConsent,
  };
}

export function childName(ref: ChildRef): string {
  const row = database().select({ name: children.givenName }).from(children)
    .where(and(eq(children.id, ref.childId), eq(children.familyId, ref.familyId))).get();
  return row?.name ?? "";
}

/** Names of staff and guardians for "who decided", by id; only of this practice. */
export function personName(practiceId: string, personId: string | null): string | null {
  if (personId === null) return null;
  return database().select({ name: people.name }).from(people)
    .where(and(eq(people.id, personId), eq(people.practiceId, practiceId))).get()?.name ?? null;
}
