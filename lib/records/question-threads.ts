import "server-only";
import { and, asc, eq } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import { database } from "@/db/client";
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

/** Every question about one child, oldest first. For lib/records alone. */
export function questionsOf(ref: ChildRef): readonly Question[] {
  return database().select({ question: questions, askedBy: asker.name, reply: replies, repliedBy: replier.name }).from(questions)
    .innerJoin(asker, eq(asker.id, questions.askedBy))
    .leftJoin(replies, and(eq(replies.questionId, questions.id), eq(replies.childId, questions.childId)))
    .leftJoin(replier, eq(replier.id, replies.repliedBy))
    .where(own(questions, ref)).orderBy(asc(questions.askedAt), asc(questions.id)).all()
    .map(({ question, askedBy, reply, repliedBy }) => ({
      questionId: question.id, answerId: question.answerId, words: question.words, askedBy, askedAt: question.askedAt,
      reply: reply && { words: reply.words, repliedBy: repliedBy ?? "", repliedAt: reply.repliedAt },
    }));
}
