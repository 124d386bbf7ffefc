import "server-only";
import { and, asc, eq, sql } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { readBacks } from "@/db/schema/answers";
import type { ChildGrant } from "@/lib/access/grant";
import {
  askedReadBacks, openReadBacks as open, READ_BACK_CHOICES, type OpenReadBack, type ReadBackFacts, type ReadBackQuestion, type ReadBackTry,
} from "@/lib/domain/answering/read-back";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { own, readFacts, type ChildRef } from "@/lib/records/child-facts";
import { childExercises } from "@/lib/records/child-exercises";
import { tellStaff } from "@/lib/records/tell-staff";

/** The questions this person has not yet answered rightly, one for each open stop and what it is about; `isReadBack` where there were some and none is left. */
export async function openReadBacks(grant: ChildGrant<"read-back.answer">, now: number): Promise<{ readonly asked: readonly OpenReadBack[]; readonly isReadBack: boolean }> {
  const facts = readAsked(grant.practiceId, grant, now);
  const asked = stillOpen(facts, readTries(grant, grant.actor.personId));
  return { asked, isReadBack: asked.length === 0 && askedReadBacks(facts).length > 0 };
}

/** For lib/records alone: the caller has the grant. */
export function readOpenReadBacks(practiceId: string, ref: ChildRef, personId: string, now: number): readonly OpenReadBack[] {
  return stillOpen(readAsked(practiceId, ref, now), readTries(ref, personId));
}

/** Without what would be right. */
const stillOpen = (facts: readonly ReadBackFacts[], tried: readonly ReadBackTry[]): readonly OpenReadBack[] => open(facts, tried).map(({ right: _right, ...asked }) => asked);

/** Whether any of these people has such a question left. For lib/records alone. */
export function isUnreadByAny(practiceId: string, ref: ChildRef, personIds: readonly string[], now: number): boolean {
  const asked = readAsked(practiceId, ref, now);
  return personIds.some((personId) => open(asked, readTries(ref, personId)).length > 0);
}

/** What this person answered to this child's questions so far, oldest first. */
export async function readBackTries(grant: ChildGrant<"read-back.answer">): Promise<readonly ReadBackTry[]> {
  return readTries(grant, grant.actor.personId);
}

const tries = prepared((db) => db.select({ stopId: readBacks.stopId, question: readBacks.question, isRight: readBacks.isRight }).from(readBacks)
  .where(and(own(readBacks, OF_CHILD), eq(readBacks.personId, sql.placeholder("personId")))).orderBy(asc(readBacks.answeredAt)).prepare());
const readTries = ({ childId, familyId }: ChildRef, personId: string): readonly ReadBackTry[] => tries().all({ childId, familyId, personId });

/**
 * One try. A wrong one is kept, tells the staff, and leaves the question open. Refused with
 * `stale-version` when that stop is no longer open or no longer asks this.
 */
export async function answerReadBack(
  grant: ChildGrant<"read-back.answer">,
  input: { readonly stopId: string; readonly exerciseKey: string; readonly question: ReadBackQuestion; readonly choice: string },
  now: number,
): Promise<Result<{ readonly isRight: boolean }>> {
  if (!(READ_BACK_CHOICES[input.question] as readonly string[]).includes(input.choice)) {
    return refuse("form-invalid", { field: "choice" });
  }
  const id = crypto.randomUUID();
  return act(grant, "read-back.answered", now, (tx) => {
    const asked = askedReadBacks(readAsked(grant.practiceId, grant, now)).find((each) =>
      each.stopId === input.stopId && each.question === input.question && each.exerciseKey === input.exerciseKey);
    if (!asked) return refuse("stale-version");
    const isRight = asked.right === input.choice;
    tx.insert(readBacks).values({
      id, childId: grant.childId, familyId: grant.familyId, stopKind: asked.stopKind, stopId: asked.stopId,
      personId: grant.actor.personId, question: asked.question, choice: input.choice, isRight, answeredAt: now,
    }).run();
    if (!isRight) tellStaff(tx, grant.practiceId, "read-back-wrong", id, now);
    return ok({ objectId: id, value: { isRight } });
  });
}

const readAsked = (practiceId: string, ref: ChildRef, now: number): readonly ReadBackFacts[] =>
  childExercises(practiceId, ref).map((exerciseKey) => {
    const { facts, judged, setup } = readFacts(practiceId, ref, exerciseKey, now);
    return { facts, judged, sides: setup?.resolution.setup ?? null };
  });
