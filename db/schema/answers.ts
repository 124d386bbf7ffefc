import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, primaryKey, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { children, ofChild } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { voiceNotes } from "@/db/schema/voice";

/** Who is answering a photo set just now; a lease that lapses when it is not renewed. */
export const claims = sqliteTable("claims", {
  photoSetId: text("photo_set_id").primaryKey().references(() => photoSets.id),
  personId: text("person_id").notNull().references(() => people.id),
  claimedAt: integer("claimed_at").notNull(),
  lapsesAt: integer("lapses_at").notNull(),
});

/** What one therapist has typed, chosen and drawn so far; theirs even when somebody else answers first. */
export const drafts = sqliteTable(
  "drafts",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoSetId: text("photo_set_id").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    /** JSON, `AnswerDraft`, parsed on the way out. */
    body: text("body").notNull(),
    version: integer("version").notNull(),
    savedAt: integer("saved_at").notNull(),
    /** Its answer was sent; kept while that can be taken back. */
    sentAt: integer("sent_at"),
  },
  (t) => [
    foreignKey({
      columns: [t.photoSetId, t.childId, t.familyId],
      foreignColumns: [photoSets.id, photoSets.childId, photoSets.familyId],
    }),
    uniqueIndex("drafts_own").on(t.photoSetId, t.personId),
  ],
);

/**
 * Never edited. One a photo set, unless it was taken back; an amendment is a later version, and the newest
 * one in force counts.
 */
export const answers = sqliteTable(
  "answers",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    photoSetId: text("photo_set_id").notNull(),
    /** 1, and one more for each amendment. */
    version: integer("version").notNull().default(1),
    kind: text("kind", { enum: ["answer", "take-again"] }).notNull(),
    summary: text("summary").notNull(),
    nextStep: text("next_step", {
      enum: ["new-photo", "keep-going", "open-next-phase", "book-assessment"],
    }).notNull(),
    nextView: text("next_view", { enum: ["behind", "front", "head-end", "other"] }),
    takeAgainReason: text("take_again_reason"),
    /** Why the therapist's judgement of the side down differs from the computed side check. */
    sideReason: text("side_reason").notNull().default(""),
    answeredBy: text("answered_by").notNull().references(() => people.id),
    answeredAt: integer("answered_at").notNull(),
    /** In force, and read by the family, from here on: at once with a stop, else when it can no longer be taken back. */
    publishedAt: integer("published_at").notNull(),
    /** Taken back before it was published: it counts nowhere. */
    takenBackAt: integer("taken_back_at"),
    /** Why it was amended; empty for a first answer. */
    amendReason: text("amend_reason").notNull().default(""),
    voiceNoteId: text("voice_note_id"),
  },
  (t) => [
    foreignKey({
      columns: [t.photoSetId, t.childId, t.familyId],
      foreignColumns: [photoSets.id, photoSets.childId, photoSets.familyId],
    }),
    foreignKey({
      columns: [t.voiceNoteId, t.childId, t.familyId],
      foreignColumns: [voiceNotes.id, voiceNotes.childId, voiceNotes.familyId],
    }),
    unique("answers_of_child").on(t.id, t.childId, t.familyId),
    uniqueIndex("answers_once").on(t.photoSetId, t.version).where(sql`taken_back_at is null`),
    check("answers_taken_back", sql`${t.takenBackAt} is null or ${t.takenBackAt} <= ${t.publishedAt}`),
    index("answers_child").on(t.childId, t.answeredAt),
    index("answers_published").on(t.publishedAt),
    // The answer that stopped the clock of a photo set.
    index("answers_first").on(t.photoSetId, t.version, t.takenBackAt, t.answeredAt, t.answeredBy).where(sql`version = 1 and taken_back_at is null`),
  ],
);

export const seenLive = sqliteTable(
  "seen_live",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    setupId: text("setup_id").notNull(),
    how: text("how", { enum: ["visit", "call"] }).notNull(),
    /** When the child was seen: the start of that local day where only the day is known. */
    seenAt: integer("seen_at").notNull(),
    note: text("note").notNull().default(""),
    recordedBy: text("recorded_by").notNull().references(() => people.id),
    recordedAt: integer("recorded_at").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    unique("seen_live_of_child").on(t.childId, t.familyId, t.id),
  ],
);

/** One verdict on one item. `sequence` is the order of recording over the whole practice. */
export const verdicts = sqliteTable(
  "verdicts",
  {
    sequence: integer("sequence").primaryKey({ autoIncrement: true }),
    ...ofChild(),
    answerId: text("answer_id"),
    seenLiveId: text("seen_live_id"),
    exerciseKey: text("exercise_key").notNull(),
    itemKey: text("item_key").notNull(),
    isStop: integer("is_stop", { mode: "boolean" }).notNull(),
    verdict: text("verdict", { enum: ["in-place", "fix", "not-visible", "not-part"] }).notNull(),
    /** The words the family reads, sides filled in. */
    cue: text("cue"),
    /** The library's cue that was chosen, by its id or a shipped one's key; null for own words alone. */
    cueId: text("cue_id"),
    sidesKey: text("sides_key").notNull(),
    /** When the photo was taken or the child seen; null when unknown. */
    evidenceAt: integer("evidence_at"),
    judgedBy: text("judged_by").notNull().references(() => people.id),
    judgedAt: integer("judged_at").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    foreignKey({
      columns: [t.seenLiveId, t.childId, t.familyId],
      foreignColumns: [seenLive.id, seenLive.childId, seenLive.familyId],
    }),
    uniqueIndex("verdicts_answer").on(t.answerId, t.itemKey),
    index("verdicts_item").on(t.childId, t.exerciseKey, t.itemKey, t.sequence),
    // Faults are few among verdicts: whoever looks through a whole practice starts from them.
    index("verdicts_fix").on(t.childId, t.exerciseKey, t.itemKey, t.sequence, t.judgedAt, t.isStop).where(sql`verdict = 'fix'`),
    // By item, for one may have become a stop item after this fault was found.
    index("verdicts_fix_item").on(t.itemKey, t.childId, t.exerciseKey).where(sql`verdict = 'fix' and is_stop = 0`),
    index("verdicts_cue").on(t.exerciseKey, t.sequence).where(sql`cue_id is not null`),
    check("verdicts_source", sql`(${t.answerId} is null) <> (${t.seenLiveId} is null)`),
    check("verdicts_stop", sql`not (${t.isStop} and ${t.verdict} = 'not-part')`),
  ],
);

/**
 * Every item of a child that was ever stopped by a verdict, and when it was plainly put right: what may be open else would be
 * looked for among all stops there ever were. Kept by triggers on `verdicts`, `answers` and `photo_sets` alone (migration 0029).
 */
export const stoppedItems = sqliteTable(
  "stopped_items",
  {
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    itemKey: text("item_key").notNull(),
    /** From when on the verdict that lifts it counts; null while it may be open. */
    liftedAt: integer("lifted_at"),
  },
  (t) => [
    primaryKey({ columns: [t.childId, t.exerciseKey, t.itemKey] }),
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    index("stopped_items_open").on(t.liftedAt),
  ],
);

/** The marks of one answer on one photo: versioned JSON, parsed strictly on the way out. */
export const marks = sqliteTable(
  "marks",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    answerId: text("answer_id").notNull(),
    photoId: text("photo_id").notNull(),
    body: text("body").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    uniqueIndex("marks_once").on(t.answerId, t.photoId),
    index("marks_child").on(t.childId),
  ],
);

/** Two photos of one child and exercise that an answer sets side by side. */
export const answerPairs = sqliteTable(
  "answer_pairs",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    answerId: text("answer_id").notNull(),
    thenPhotoId: text("then_photo_id").notNull(),
    nowPhotoId: text("now_photo_id").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    foreignKey({
      columns: [t.thenPhotoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    foreignKey({
      columns: [t.nowPhotoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    uniqueIndex("answer_pairs_once").on(t.answerId, t.thenPhotoId, t.nowPhotoId),
    index("answer_pairs_child").on(t.childId),
  ],
);

/** The part of a clip that an answer has its family repeat. The photo is the one the clip belongs to. */
export const answerSpans = sqliteTable(
  "answer_spans",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    answerId: text("answer_id").notNull(),
    photoId: text("photo_id").notNull(),
    fromMs: integer("from_ms").notNull(),
    toMs: integer("to_ms").notNull(),
  },
  (t) => [
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    foreignKey({
      columns: [t.photoId, t.childId, t.familyId],
      foreignColumns: [photos.id, photos.childId, photos.familyId],
    }),
    uniqueIndex("answer_spans_once").on(t.answerId, t.photoId),
    index("answer_spans_child").on(t.childId),
    check("answer_spans_forward", sql`${t.fromMs} >= 0 and ${t.fromMs} < ${t.toMs}`),
  ],
);

/** A stop a therapist placed without a photo. Lifted by an act of its own, with its reason. */
export const staffStops = sqliteTable(
  "staff_stops",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    /** Null stops every exercise. */
    exerciseKey: text("exercise_key"),
    reason: text("reason").notNull(),
    placedBy: text("placed_by").notNull().references(() => people.id),
    placedAt: integer("placed_at").notNull(),
    liftedBy: text("lifted_by").references(() => people.id),
    liftedAt: integer("lifted_at"),
    liftReason: text("lift_reason"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    index("staff_stops_child").on(t.childId),
  ],
);

/** One try at a stop's question by one person. */
export const readBacks = sqliteTable(
  "read_backs",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    /** What stopped: `answer`, `staff-stop` or `symptom`, and its id. */
    stopKind: text("stop_kind", { enum: ["answer", "staff-stop", "symptom"] }).notNull(),
    stopId: text("stop_id").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    question: text("question").notNull(),
    choice: text("choice").notNull(),
    isRight: integer("is_right", { mode: "boolean" }).notNull(),
    answeredAt: integer("answered_at").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    index("read_backs_stop").on(t.stopKind, t.stopId, t.personId),
    index("read_backs_child").on(t.childId, t.personId),
  ],
);

/** A carer had the page with this version of an answer open: once for each person, and never edited. It says nothing of whether it was understood. */
export const answerOpenings = sqliteTable(
  "answer_openings",
  {
    ...ofChild(),
    answerId: text("answer_id").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    openedAt: integer("opened_at").notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.answerId, t.personId] }),
    foreignKey({
      columns: [t.answerId, t.childId, t.familyId],
      foreignColumns: [answers.id, answers.childId, answers.familyId],
    }),
    index("answer_openings_child").on(t.childId),
  ],
);
