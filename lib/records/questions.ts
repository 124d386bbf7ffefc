import "server-only";
import { and, count, desc, eq, inArray, isNull, ne, or, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { children, families, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { questions, replies } from "@/db/schema/questions";
import type { ChildGrant } from "@/lib/access/grant";
import { checkTypedSides, type Confirmation } from "@/lib/domain/answering/check-answer";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { act } from "@/lib/records/act";
import { readSet, type SentSet } from "@/lib/records/answering";
import { versionsOf, type GivenAnswer } from "@/lib/records/given-answers";
import { tellCarers } from "@/lib/records/carers";
import { own, readSetup, type ChildRef } from "@/lib/records/child-facts";
import { inForce } from "@/lib/records/in-force";
import { questionsOf, type Question } from "@/lib/records/question-threads";
import { childName } from "@/lib/records/standing";
import { tellStaff } from "@/lib/records/tell-staff";

/** Characters of a question and of a reply, after trimming. */
export const QUESTION_LENGTH = { min: 3, max: 1000 } as const;

/** Questions about one child that may wait for a reply at once: more are no longer read as questions (common practice, no source). */
export const MOST_WAITING = 10;

/**
 * A family's question about the answer in force to one photo set; the staff are told. Refused:
 * `question-length`; `question-closed` when that answer was amended since, or its set is void; `questions-waiting`
 * while MOST_WAITING wait.
 */
export async function askQuestion(grant: ChildGrant<"question.ask">, input: { readonly answerId: string; readonly words: string }, now: number): Promise<Result<{ readonly questionId: string }>> {
  const words = measuredWords(input.words);
  if (!words.ok) return words;
  const id = crypto.randomUUID();
  return act(grant, "question.asked", now, (tx) => {
    const answer = tx.select({ id: answers.id }).from(answers)
      .innerJoin(photoSets, and(eq(photoSets.id, answers.photoSetId), eq(photoSets.childId, answers.childId)))
      .where(and(own(answers, grant), eq(answers.id, input.answerId), inForce(now), isNull(photoSets.voidedAt))).get();
    if (!answer) return refuse("question-closed");
    const waiting = tx.select({ n: count() }).from(questions).leftJoin(replies, eq(replies.questionId, questions.id))
      .where(and(own(questions, grant), isNull(replies.id))).get();
    if ((waiting?.n ?? 0) >= MOST_WAITING) return refuse("questions-waiting", { values: { max: MOST_WAITING } });
    tx.insert(questions).values({
      id, childId: grant.childId, familyId: grant.familyId, answerId: answer.id, words: words.value, askedBy: grant.actor.personId, askedAt: now,
    }).run();
    tellStaff(tx, grant.practiceId, "question-asked", id, now);
    return ok({ objectId: id, value: { questionId: id } });
  });
}

/**
 * The one reply to a question; the carers are told that there is news. Its sides are compared with the set-up
 * the photo was sent under and with the one in force now. Refused: `question-length`, `words-side-disagree`,
 * `set-voided` (sent for the wrong child), and `replied-already` for whoever was slower.
 */
export async function replyTo(
  grant: ChildGrant<"question.reply">, input: { readonly questionId: string; readonly words: string } & Confirmation, now: number,
): Promise<Result<null>> {
  const words = measuredWords(input.words);
  if (!words.ok) return words;
  const id = crypto.randomUUID();
  return act(grant, "question.replied", now, (tx) => {
    const about = aboutOf(tx, grant, input.questionId);
    if (!about) return refuse("form-invalid", { field: "questionId" });
    if (about.set.voidReason === "wrong-child") return refuse("set-voided");
    if (tx.select({ id: replies.id }).from(replies).where(eq(replies.questionId, input.questionId)).get()) return refuse("replied-already");
    for (const setup of setupsOf(grant, about.set)) {
      const sides = checkTypedSides([{ field: "words", text: words.value }], setup, input);
      if (!sides.ok) return sides;
    }
    tx.insert(replies).values({
      id, childId: grant.childId, familyId: grant.familyId, questionId: input.questionId, words: words.value,
      sideReason: input.sideReason.trim(), repliedBy: grant.actor.personId, repliedAt: now,
    }).run();
    tellCarers(tx, grant, "reply", id, now);
    return ok({ objectId: id, value: null });
  });
}

/** A question or a reply as it was typed, without the space around it. */
export function measuredWords(typed: string): Result<string> {
  const words = typed.trim();
  return words.length >= QUESTION_LENGTH.min && words.length <= QUESTION_LENGTH.max ? ok(words) : refuse("question-length", { field: "words" });
}

function aboutOf(tx: Transaction, ref: ChildRef, questionId: string): { readonly answerId: string; readonly set: SentSet } | null {
  const row = tx.select({ answerId: answers.id, photoSetId: answers.photoSetId }).from(questions)
    .innerJoin(answers, and(eq(answers.id, questions.answerId), eq(answers.childId, questions.childId)))
    .where(and(own(questions, ref), eq(questions.id, questionId))).get();
  const set = row ? readSet(ref, row.photoSetId) : null;
  return row && set ? { answerId: row.answerId, set } : null;
}

/** The set-up in force first, for that is what the family does next, and the one the answer was about where it differs. */
function setupsOf(ref: ChildRef, set: SentSet): readonly [SetupSides, ...SetupSides[]] {
  const current = readSetup(ref, set.exerciseKey);
  if (!current || current.sides.key === set.sidesKey) return [set.resolution.setup];
  return [current.resolution.setup, set.resolution.setup];
}

/** What a question is about, with the thread it stands in. */
export type QuestionDesk = {
  readonly childName: string;
  readonly question: Question;
  /** Every question about the same version of the answer, this one too. */
  readonly thread: readonly Question[];
  readonly set: SentSet;
  readonly answer: GivenAnswer;
  /** A newer version of the answer stands. */
  readonly isAmended: boolean;
  /** Sides to compare typed words with: those in force now. */
  readonly setup: SetupSides;
  readonly isSetupChanged: boolean;
};

export async function questionDesk(grant: ChildGrant<"question.reply">, answering: ChildGrant<"answer.write">, questionId: string, now: number): Promise<QuestionDesk | null> {
  const about = database().transaction((tx) => aboutOf(tx, grant, questionId));
  const all = questionsOf(grant);
  const question = all.find((each) => each.questionId === questionId);
  if (!about || !question) return null;
  const versions = await versionsOf(answering, about.set.photoSetId, now);
  const answer = versions.find((each) => each.answerId === about.answerId);
  if (!answer) return null;
  const [setup, ...before] = setupsOf(grant, about.set);
  return {
    childName: childName(grant), question, thread: all.filter((each) => each.answerId === about.answerId), set: about.set, answer,
    isAmended: versions[0]?.answerId !== about.answerId, setup, isSetupChanged: before.length > 0,
  };
}

/** Every question about this child, newest first, for the desk. */
export const childQuestions = async (grant: ChildGrant<"question.reply">): Promise<readonly Question[]> => questionsOf(grant).toReversed();

export type OpenQuestion = ChildRef & { readonly id: string; readonly childName: string; readonly words: string; readonly askedAt: number; readonly exerciseKey: string; readonly exerciseVersion: number };

/** What no reply was given to, oldest last; not where the set was sent for the wrong child. For lib/records alone. */
export function readOpenQuestions(practiceId: string): readonly OpenQuestion[] {
  // Found first, in the order of two indexes: most questions were replied to long ago.
  const unanswered = database().all<{ readonly id: string }>(sql`select id from ${questions} where not exists (select 1 from ${replies} where question_id = ${questions}.id)`).map(({ id }) => id);
  if (unanswered.length === 0) return [];
  return database().select({
    id: questions.id, childId: questions.childId, familyId: questions.familyId, childName: children.givenName, words: questions.words,
    askedAt: questions.askedAt, exerciseKey: photoSets.exerciseKey, exerciseVersion: setups.exerciseVersion,
  }).from(questions)
    .innerJoin(families, eq(families.id, questions.familyId))
    .innerJoin(children, and(eq(children.id, questions.childId), eq(children.familyId, questions.familyId)))
    .innerJoin(answers, and(eq(answers.id, questions.answerId), eq(answers.childId, questions.childId)))
    .innerJoin(photoSets, and(eq(photoSets.id, answers.photoSetId), eq(photoSets.childId, answers.childId)))
    .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
    .where(and(inArray(questions.id, unanswered), eq(families.practiceId, practiceId), or(isNull(photoSets.voidedAt), ne(photoSets.voidReason, "wrong-child"))))
    .orderBy(desc(questions.askedAt)).all();
}
