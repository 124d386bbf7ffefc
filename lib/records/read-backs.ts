import "server-only";
import { and, asc, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { readBacks, verdicts } from "@/db/schema/answers";
import type { ChildGrant } from "@/lib/access/grant";
import { groupByItem, standing } from "@/lib/domain/ledger/standing";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { own, readFacts, type ChildFacts, type ChildRef } from "@/lib/records/child-facts";
import { exerciseKeys, isExerciseKey } from "@/lib/records/exercises";
import { tellStaff } from "@/lib/records/tell-staff";

/** `practise` asks whether the child may do the exercise now: always no while the stop is open. */
export const READ_BACK_QUESTIONS = ["side", "prop", "practise"] as const;
export type ReadBackQuestion = (typeof READ_BACK_QUESTIONS)[number];

export const READ_BACK_CHOICES = {
  side: ["left", "right"],
  prop: ["low-back", "ribs", "hip"],
  practise: ["no", "yes"],
} as const satisfies Record<ReadBackQuestion, readonly string[]>;

export type OpenReadBack = {
  readonly stopKind: "answer" | "staff-stop" | "symptom";
  readonly stopId: string;
  readonly exerciseKey: string;
  readonly question: ReadBackQuestion;
  /** This person's last try was wrong. */
  readonly wasWrong: boolean;
};

type Asked = Omit<OpenReadBack, "wasWrong"> & { readonly right: string };

/** The questions this person has not yet answered rightly, one for each open stop and what it is about. */
export async function openReadBacks(grant: ChildGrant<"read-back.answer">): Promise<readonly OpenReadBack[]> {
  return readOpenReadBacks(grant.practiceId, grant, grant.actor.personId);
}

/** For lib/records alone: the caller has the grant. */
export function readOpenReadBacks(practiceId: string, ref: ChildRef, personId: string): readonly OpenReadBack[] {
  const tries = database().select().from(readBacks)
    .where(and(own(readBacks, ref), eq(readBacks.personId, personId))).orderBy(asc(readBacks.answeredAt)).all();
  return askedOf(practiceId, ref).flatMap(({ right: _right, ...asked }) => {
    const last = tries.filter((row) => row.stopId === asked.stopId && row.question === asked.question).at(-1);
    return last?.isRight ? [] : [{ ...asked, wasWrong: last !== undefined }];
  });
}

/**
 * One try. A wrong one is kept, tells the staff, and leaves the question open. Refused with
 * `stale-version` when that stop is no longer open or no longer asks this.
 */
export async function answerReadBack(
  grant: ChildGrant<"read-back.answer">,
  input: { readonly stopId: string; readonly exerciseKey: string; readonly question: ReadBackQuestion; readonly choice: string },
  now: number,
): Promise<Result<{ readonly isRight: boolean }>> {
  if (!isExerciseKey(input.exerciseKey) || !(READ_BACK_CHOICES[input.question] as readonly string[]).includes(input.choice)) {
    return refuse("form-invalid", { field: "choice" });
  }
  const id = crypto.randomUUID();
  return act(grant, "read-back.answered", now, (tx) => {
    const asked = askedOf(grant.practiceId, grant).find((each) =>
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

function askedOf(practiceId: string, ref: ChildRef): readonly Asked[] {
  const asked = exerciseKeys().flatMap((key) => askedFor(practiceId, ref, key));
  // A symptom or a stop of everything is one stop, whatever it stops.
  return asked.filter((each, at) => asked.findIndex((other) => other.stopId === each.stopId && other.question === each.question) === at);
}

function askedFor(practiceId: string, ref: ChildRef, exerciseKey: string): readonly Asked[] {
  const read = readFacts(practiceId, ref, exerciseKey);
  const plain = (stopKind: Asked["stopKind"], stopId: string): Asked => ({ stopKind, stopId, exerciseKey, question: "practise", right: "no" });
  const { facts, judged } = read;
  const items = [...groupByItem(judged)].flatMap(([itemKey, each]) => {
    const stop = standing(each, { isStop: false, sideDependent: true }, facts.setup?.sides ?? null).openStop;
    const answerId = stop && answerOf(ref, stop.sequence);
    return answerId ? [{ ...plain("answer", answerId), ...questionOf(itemKey, read) }] : [];
  });
  return [
    ...facts.symptomStops.filter((stop) => stop.clearedAt === null).map((stop) => plain("symptom", stop.id)),
    ...facts.staffStops
      .filter((stop) => stop.liftedAt === null && (stop.exerciseKey === null || stop.exerciseKey === exerciseKey))
      .map((stop) => plain("staff-stop", stop.id)),
    ...items,
  ];
}

/** A side is asked only where a set-up in force says it; a set-up whose record changed says nothing. */
function questionOf(itemKey: string, { record, setup }: ChildFacts): Pick<Asked, "question" | "right"> {
  const sides = setup && setup.curveRecordId === record?.id ? setup.resolution.setup : null;
  if (sides && itemKey === "side-down") return { question: "side", right: sides.lieOn };
  if (sides?.prop && itemKey.startsWith("prop-")) return { question: "prop", right: sides.prop.place };
  return { question: "practise", right: "no" };
}

function answerOf(ref: ChildRef, sequence: number): string | null {
  return database().select({ id: verdicts.answerId }).from(verdicts)
    .where(and(own(verdicts, ref), eq(verdicts.sequence, sequence))).get()?.id ?? null;
}
