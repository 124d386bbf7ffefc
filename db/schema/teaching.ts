import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { children, ofChild } from "@/db/schema/care";
import { people, practices } from "@/db/schema/practice";

/** Appended: an exercise as a therapist wrote it. What was confirmed or answered keeps its own version. */
export const exerciseVersions = sqliteTable(
  "exercise_versions",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    exerciseKey: text("exercise_key").notNull(),
    version: integer("version").notNull(),
    /** JSON, `Exercise`, parsed on the way out. */
    body: text("body").notNull(),
    /** JSON, `ExerciseWords`: title, item titles, cautions; parsed on the way out. */
    words: text("words").notNull(),
    writtenBy: text("written_by").notNull().references(() => people.id),
    writtenAt: integer("written_at").notNull(),
  },
  (t) => [
    uniqueIndex("exercise_versions_once").on(t.practiceId, t.exerciseKey, t.version),
    check("exercise_versions_version", sql`${t.version} >= 1`),
  ],
);

/** A version being written by one person: the form field by field, unchecked until it is saved as a version. */
export const exerciseDrafts = sqliteTable(
  "exercise_drafts",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    exerciseKey: text("exercise_key").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    /** The version it started from; 0 for a new exercise. */
    basedOn: integer("based_on").notNull(),
    /** JSON, fields by name, parsed on the way out. */
    body: text("body").notNull(),
    version: integer("version").notNull(),
    savedAt: integer("saved_at").notNull(),
  },
  (t) => [uniqueIndex("exercise_drafts_own").on(t.practiceId, t.exerciseKey, t.personId)],
);

/** An exercise that is taught no more; children who have it keep what they have. */
export const exercisesRetired = sqliteTable(
  "exercises_retired",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    exerciseKey: text("exercise_key").notNull(),
    retiredBy: text("retired_by").notNull().references(() => people.id),
    retiredAt: integer("retired_at").notNull(),
    returnedAt: integer("returned_at"),
  },
  (t) => [uniqueIndex("exercises_retired_open").on(t.practiceId, t.exerciseKey).where(sql`returned_at is null`)],
);

/** The practice's cues: its own, and its changes to shipped ones. */
export const cues = sqliteTable(
  "cues",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    exerciseKey: text("exercise_key").notNull(),
    itemKey: text("item_key").notNull(),
    /** The shipped cue that this one stands for, such as `side-down.turn-over`; null for one of their own. */
    starterKey: text("starter_key"),
    /** Words with placeholders in braces; sides are filled from the set-up. */
    words: text("words").notNull(),
    version: integer("version").notNull().default(1),
    writtenBy: text("written_by").notNull().references(() => people.id),
    writtenAt: integer("written_at").notNull(),
    /** No longer offered; what was said with it stays. */
    retiredAt: integer("retired_at"),
  },
  (t) => [
    index("cues_item").on(t.practiceId, t.exerciseKey, t.itemKey),
    uniqueIndex("cues_starter").on(t.practiceId, t.exerciseKey, t.starterKey).where(sql`starter_key is not null`),
  ],
);

/** A text of an exercise or a cue in another language; a changed source has no row, so nobody reads words of another text. */
export const translations = sqliteTable(
  "translations",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    language: text("language").notNull(),
    /** Which text it is, such as `cue side-lying side-down.turn-over`; it stays when the words change. */
    about: text("about").notNull(),
    /** The words it was made from, placeholders in braces. */
    source: text("source").notNull(),
    words: text("words").notNull(),
    version: integer("version").notNull().default(1),
    writtenBy: text("written_by").notNull().references(() => people.id),
    writtenAt: integer("written_at").notNull(),
  },
  (t) => [uniqueIndex("translations_once").on(t.practiceId, t.language, t.about, t.source)],
);

/** The card of one child that stands in the picture; its number is random and says nothing. */
export const sideCards = sqliteTable(
  "side_cards",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    number: text("number").notNull(),
    madeBy: text("made_by").notNull().references(() => people.id),
    madeAt: integer("made_at").notNull(),
    /** A card that was lost is replaced; the old number is still known as this child's. */
    retiredAt: integer("retired_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("side_cards_number").on(t.number),
    uniqueIndex("side_cards_current").on(t.childId).where(sql`retired_at is null`),
  ],
);
