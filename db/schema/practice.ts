import { sql } from "drizzle-orm";
import { check, index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";

/** One row: the practice that this data folder belongs to. */
export const practices = sqliteTable("practices", {
  id: text("id").primaryKey(),
  name: text("name").notNull(),
  timeZone: text("time_zone").notNull(),
  /** Weeks without a verdict after which a photo comes first again. */
  photoWeeks: integer("photo_weeks").notNull().default(8),
  version: integer("version").notNull().default(1),
  createdAt: integer("created_at").notNull(),
});

/** Appended: the week and promise in force from an instant on, until the next row. */
export const workingHours = sqliteTable(
  "working_hours",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    effectiveFrom: integer("effective_from").notNull(),
    /** JSON, `WorkingWeek`: ISO weekday → spans. */
    week: text("week").notNull(),
    promiseMinutes: integer("promise_minutes").notNull(),
    recordedBy: text("recorded_by").notNull(),
    recordedAt: integer("recorded_at").notNull(),
  },
  (t) => [
    uniqueIndex("working_hours_from").on(t.practiceId, t.effectiveFrom),
    check("working_hours_promise", sql`${t.promiseMinutes} > 0`),
  ],
);

export const closures = sqliteTable(
  "closures",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    /** Local date in the practice's zone, `YYYY-MM-DD`. */
    day: text("day").notNull(),
    label: text("label").notNull(),
    recordedBy: text("recorded_by").notNull(),
    recordedAt: integer("recorded_at").notNull(),
    removedAt: integer("removed_at"),
  },
  (t) => [index("closures_day").on(t.practiceId, t.day)],
);

/** Anyone who signs in. A person is staff, or reaches children through care links; never both. */
export const people = sqliteTable(
  "people",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    role: text("role", { enum: ["lead", "therapist", "guardian", "young-person"] }).notNull(),
    /** NFKC, trimmed, lower case; mail goes only here. */
    email: text("email").notNull(),
    name: text("name").notNull(),
    /** Shown to staff on top of the list when a symptom is reported. */
    phone: text("phone"),
    timeZone: text("time_zone"),
    /** Who the demo's sign-in page offers as a button. */
    demoOrder: integer("demo_order"),
    disabledAt: integer("disabled_at"),
    version: integer("version").notNull().default(1),
    createdAt: integer("created_at").notNull(),
  },
  (t) => [
    uniqueIndex("people_email").on(t.email),
    check("people_role", sql`${t.role} in ('lead', 'therapist', 'guardian', 'young-person')`),
  ],
);
