import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { answers } from "@/db/schema/answers";
import { children, ofChild } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
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
    unique("questions_of_child").on(t.childId, t.familyId, t.id),
    index("questions_answer").on(t.answerId),
    index("questions_asked").on(t.askedAt, t.familyId, t.answerId, t.id),
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

/**
 * What a therapist asked the family about a photo set before answering it; the set's clock stands still meanwhile.
 * Never edited: what ended it, the family's words, a new photo or a withdrawal, is written into it once.
 */
export const backQuestions = sqliteTable(
  "back_questions",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoSetId: text("photo_set_id").notNull(),
    words: text("words").notNull(),
    /** Why its sides differ from the set-up, in the therapist's words; empty when they do not. */
    sideReason: text("side_reason").notNull().default(""),
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
    /** The family's words; null while there are none. */
    reply: text("reply"),
    repliedBy: text("replied_by").references(() => people.id),
    repliedAt: integer("replied_at"),
    withdrawnBy: text("withdrawn_by").references(() => people.id),
    withdrawnAt: integer("withdrawn_at"),
    /** When a new photo set of the same exercise came in the place of words: that set's `sent_at`, by which it is found. */
    newPhotoAt: integer("new_photo_at"),
  },
  (t) => [
    foreignKey({
      columns: [t.photoSetId, t.childId, t.familyId],
      foreignColumns: [photoSets.id, photoSets.childId, photoSets.familyId],
    }),
    uniqueIndex("back_questions_open").on(t.photoSetId).where(sql`replied_at is null and withdrawn_at is null and new_photo_at is null`),
    index("back_questions_child").on(t.childId, t.photoSetId),
    // All that clocks read of it, without the words.
    index("back_questions_timed").on(t.askedAt, t.familyId, t.photoSetId, t.repliedAt, t.withdrawnAt, t.newPhotoAt),
    check("back_questions_reply", sql`(${t.reply} is null) = (${t.repliedAt} is null) and (${t.repliedBy} is null) = (${t.repliedAt} is null)`),
    check("back_questions_withdrawn", sql`(${t.withdrawnBy} is null) = (${t.withdrawnAt} is null)`),
    check("back_questions_end", sql`(${t.repliedAt} is not null) + (${t.withdrawnAt} is not null) + (${t.newPhotoAt} is not null) <= 1`),
  ],
);
