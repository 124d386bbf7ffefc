import "server-only";
import { and, asc, eq } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import { OF_CHILD, prepared } from "@/db/prepared";
import { people } from "@/db/schema/practice";
import { questions, replies } from "@/db/schema/questions";
import { own, type ChildRef } from "@/lib/records/child-facts";

export type Reply = { readonly words: string; readonly repliedBy: string; readonly repliedAt: number };
export type Question = {
  readonly questionId: string;
  readonly answerId: string;
  readonly words: string;
  readonly askedBy: string;
  readonly askedAt: number;
  /** Null while it waits. */
  readonly reply: Reply | null;
};

const asker = alias(people, "asker");
const replier = alias(people, "replier");

const questionsOfChild = prepared((db) => db.select({ question: questions, askedBy: asker.name, reply: replies, repliedBy: replier.name }).from(questions)
  .innerJoin(asker, eq(asker.id, questions.askedBy))
  .leftJoin(replies, and(eq(replies.questionId, questions.id), eq(replies.childId, questions.childId)))
  .leftJoin(replier, eq(replier.id, replies.repliedBy))
  .where(own(questions, OF_CHILD)).orderBy(asc(questions.askedAt), asc(questions.id)).prepare());

/** Every question about one child, oldest first. For lib/records alone. */
export const questionsOf = ({ childId, familyId }: ChildRef): readonly Question[] =>
  questionsOfChild().all({ childId, familyId }).map(({ question, askedBy, reply, repliedBy }) => ({
    questionId: question.id, answerId: question.answerId, words: question.words, askedBy, askedAt: question.askedAt,
    reply: reply && { words: reply.words, repliedBy: repliedBy ?? "", repliedAt: reply.repliedAt },
  }));
