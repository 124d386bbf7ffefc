import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { people, practices } from "@/db/schema/practice";
import { SIDES } from "@/lib/domain/sides";

export const families = sqliteTable(
  "families",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    /** What staff call the family; no family sees another's. */
    name: text("name").notNull(),
    createdAt: integer("created_at").notNull(),
    version: integer("version").notNull().default(1),
  },
  // Every list of a practice asks of each row whose it is.
  (t) => [uniqueIndex("families_practice").on(t.practiceId, t.id), index("families_name").on(t.practiceId, t.name, t.id)],
);

export const children = sqliteTable(
  "children",
  {
    id: text("id").primaryKey(),
    familyId: text("family_id").notNull().references(() => families.id),
    givenName: text("given_name").notNull(),
    /** `YYYY-MM`; the day is not needed and not kept. */
    bornIn: text("born_in").notNull(),
    /** The hand the child writes with, as somebody who knows said; null: not asked, not sure, or both. */
    writesWith: text("writes_with", { enum: SIDES }),
    /** When that was last said; null: never asked. */
    writesWithSaidAt: integer("writes_with_said_at"),
    createdAt: integer("created_at").notNull(),
    version: integer("version").notNull().default(1),
  },
  (t) => [unique("children_in_family").on(t.id, t.familyId), index("children_family").on(t.familyId), index("children_name").on(t.givenName, t.id)],
);

/** The columns by which every child-owned row is tied to one child of one family. */
export const ofChild = () => ({
  childId: text("child_id").notNull(),
  familyId: text("family_id").notNull(),
});

/** Joins a person to one child, so that one guardian can be limited to one child. */
export const careLinks = sqliteTable(
  "care_links",
  {
    id: text("id").primaryKey(),
    personId: text("person_id").notNull().references(() => people.id),
    ...ofChild(),
    relation: text("relation", { enum: ["guardian", "self"] }).notNull(),
    createdAt: integer("created_at").notNull(),
    endedAt: integer("ended_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    index("care_links_child").on(t.childId),
    uniqueIndex("care_links_open").on(t.personId, t.childId).where(sql`ended_at is null`),
    // Whoever acts for themself is one child, and each child one such person.
    uniqueIndex("care_links_self").on(t.childId).where(sql`relation = 'self' and ended_at is null`),
    uniqueIndex("care_links_one_self").on(t.personId).where(sql`relation = 'self' and ended_at is null`),
  ],
);

/**
 * Appended: whether an adult lets a guardian go on seeing what is theirs. `represents`: the guardian decides
 * for the adult by law, as staff have seen; `ended` takes either back.
 */
export const careAgreements = sqliteTable(
  "care_agreements",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    guardianId: text("guardian_id").notNull().references(() => people.id),
    decision: text("decision", { enum: ["agreed", "represents", "ended"] }).notNull(),
    /** The adult, or the member of staff who was told. */
    decidedBy: text("decided_by").notNull().references(() => people.id),
    /** How staff know; empty when the adult pressed it themself. */
    note: text("note").notNull().default(""),
    decidedAt: integer("decided_at").notNull(),
    sequence: integer("sequence").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("care_agreements_order").on(t.childId, t.sequence),
  ],
);

/** Appended: given or withdrawn, one purpose at a time, with the text that was read. */
export const consents = sqliteTable(
  "consents",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    personId: text("person_id").notNull().references(() => people.id),
    purpose: text("purpose", { enum: ["photos", "teaching"] }).notNull(),
    decision: text("decision", { enum: ["given", "withdrawn"] }).notNull(),
    textVersion: text("text_version").notNull(),
    textHash: text("text_hash").notNull(),
    /** How the person says they may decide for this child. */
    standing: text("standing", { enum: ["parent", "legal-guardian", "self"] }).notNull(),
    decidedAt: integer("decided_at").notNull(),
    sequence: integer("sequence").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("consents_order").on(t.childId, t.sequence),
  ],
);

/** Appended: the newest is the current one, unless it was withdrawn as entered wrongly. */
export const curveRecords = sqliteTable(
  "curve_records",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    /** JSON, `CurveRecord`, parsed on the way out. */
    record: text("record").notNull(),
    reassessBy: text("reassess_by"),
    patternKey: text("pattern_key").notNull(),
    note: text("note").notNull().default(""),
    recordedBy: text("recorded_by").notNull().references(() => people.id),
    recordedAt: integer("recorded_at").notNull(),
    sequence: integer("sequence").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("curve_records_order").on(t.childId, t.sequence),
    index("curve_records_pattern").on(t.patternKey, t.familyId),
    unique("curve_records_of_child").on(t.id, t.childId, t.familyId),
  ],
);

/** Appended: a set-up a therapist confirmed for this child from one curve record. */
export const setups = sqliteTable(
  "setups",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    exerciseVersion: integer("exercise_version").notNull(),
    curveRecordId: text("curve_record_id").notNull(),
    kind: text("kind", { enum: ["rule", "individual"] }).notNull(),
    /** JSON, the covered `Resolution`, parsed on the way out. */
    resolution: text("resolution").notNull(),
    sidesKey: text("sides_key").notNull(),
    /** Touchable words for the apex spot, such as "two fingers above the hip bone". */
    apexSpot: text("apex_spot").notNull().default(""),
    /** Why an individual set-up stands in for the rules. */
    reason: text("reason").notNull().default(""),
    confirmedBy: text("confirmed_by").notNull().references(() => people.id),
    confirmedAt: integer("confirmed_at").notNull(),
    sequence: integer("sequence").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    foreignKey({
      columns: [t.curveRecordId, t.childId, t.familyId],
      foreignColumns: [curveRecords.id, curveRecords.childId, curveRecords.familyId],
    }),
    uniqueIndex("setups_order").on(t.childId, t.exerciseKey, t.sequence),
    unique("setups_of_child").on(t.id, t.childId, t.familyId),
  ],
);

export const phaseOpenings = sqliteTable(
  "phase_openings",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    phase: text("phase", { enum: ["position", "breath", "movement", "activation"] }).notNull(),
    openedBy: text("opened_by").notNull().references(() => people.id),
    openedAt: integer("opened_at").notNull(),
    closedAt: integer("closed_at"),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("phase_openings_open").on(t.childId, t.exerciseKey, t.phase).where(sql`closed_at is null`),
    check("phase_openings_phase", sql`${t.phase} in ('position', 'breath', 'movement', 'activation')`),
  ],
);

/** One tap: this exercise was done on this day. */
export const practiceDays = sqliteTable(
  "practice_days",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    exerciseKey: text("exercise_key").notNull(),
    /** Local date of the family, `YYYY-MM-DD`. */
    day: text("day").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    markedAt: integer("marked_at").notNull(),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    uniqueIndex("practice_days_once").on(t.childId, t.exerciseKey, t.day),
  ],
);
