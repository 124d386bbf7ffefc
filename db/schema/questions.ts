import { foreignKey, index, integer, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { answers } from "@/db/schema/answers";
import { children, ofChild } from "@/db/schema/care";
import { people } from "@/db/schema/practice";

/** What a family asked about an answer. It has a clock of its own, which the reply stops. */
export const questions = sqliteTable(
  "questions",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    answerId: text("answer_id").notNull(),
    words: text("words").notNull(),
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    unique("questions_of_child").on(t.id, t.childId, t.familyId),
    index("questions_answer").on(t.answerId),
    index("questions_asked").on(t.askedAt),
  ],
);

/** Never edited; one a question. */
export const replies = sqliteTable(
  "replies",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    questionId: text("question_id").notNull(),
    words: text("words").notNull(),
    /** Why its sides differ from the set-up, in the therapist's words; empty when they do not. */
    sideReason: text("side_reason").notNull().default(""),
    repliedBy: text("replied_by").notNull().references(() => people.id),
    repliedAt: integer("replied_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.questionId, t.childId, t.familyId],
      foreignColumns: [questions.id, questions.childId, questions.familyId],
    }),
    uniqueIndex("replies_once").on(t.questionId),
  ],
);
