import { sql } from "drizzle-orm";
import { check, index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { LOCALES } from "@/lib/domain/words/reader";

/** One row: the practice that this data folder belongs to. */
export const practices = sqliteTable("practices", {
  id: text("id").primaryKey(),
  name: text("name").notNull(),
  timeZone: text("time_zone").notNull(),
  /** What families may call; empty where nobody answers a phone. */
  phone: text("phone").notNull().default(""),
  /** Weeks without a verdict after which a photo comes first again. */
  photoWeeks: integer("photo_weeks").notNull().default(8),
  /** Hours after which a stop that nobody read back joins the queue. */
  readBackHours: integer("read_back_hours").notNull().default(24),
  /** Years from which a young person may have a sign-in of their own. 16: common practice, no source; local rules come first. */
  ownSignInAge: integer("own_sign_in_age").notNull().default(16),
  /** Years from which a person decides alone and guardians need their agreement. 18: common practice, no source; local rules come first. */
  adultAge: integer("adult_age").notNull().default(18),
  /** Months after the last answer when the photos of a set are erased. 12: common practice, no source; local rules come first. */
  retentionMonths: integer("retention_months").notNull().default(12),
  /** Megabytes of photos and spoken notes that one family may have here; past it no new photo is taken. */
  familyMegabytes: integer("family_megabytes").notNull().default(5000),
  version: integer("version").notNull().default(1),
  createdAt: integer("created_at").notNull(),
});

/** Appended: the week, zone and promises in force from an instant on, until the next row. */
export const workingHours = sqliteTable(
  "working_hours",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    effectiveFrom: integer("effective_from").notNull(),
    /** JSON, `WorkingWeek`: ISO weekday → spans. */
    week: text("week").notNull(),
    timeZone: text("time_zone").notNull(),
    /** Working minutes within which a photo set is answered, a question replied to, a symptom flag spoken about. */
    promiseMinutes: integer("promise_minutes").notNull(),
    questionMinutes: integer("question_minutes").notNull(),
    symptomMinutes: integer("symptom_minutes").notNull(),
    recordedBy: text("recorded_by").notNull(),
    recordedAt: integer("recorded_at").notNull(),
  },
  (t) => [
    uniqueIndex("working_hours_from").on(t.practiceId, t.effectiveFrom),
    check("working_hours_promise", sql`${t.promiseMinutes} > 0 and ${t.questionMinutes} > 0 and ${t.symptomMinutes} > 0`),
    // Whatever hurts never waits longer than a photo.
    check("working_hours_symptom", sql`${t.symptomMinutes} <= ${t.promiseMinutes}`),
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

/** Open on one date beside the week's hours. */
export const extraOpenings = sqliteTable(
  "extra_openings",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    /** Local date in the practice's zone, `YYYY-MM-DD`. */
    day: text("day").notNull(),
    /** JSON, a day of `WorkingWeek`: spans from and to. */
    spans: text("spans").notNull(),
    recordedBy: text("recorded_by").notNull(),
    recordedAt: integer("recorded_at").notNull(),
    removedAt: integer("removed_at"),
  },
  (t) => [index("extra_openings_day").on(t.practiceId, t.day)],
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
    /** What the person chose to read here; null: not chosen. */
    language: text("language", { enum: LOCALES }),
    /** Minutes of the person's own day between which no mail is sent, past midnight allowed; null: no quiet hours. */
    quietFrom: integer("quiet_from"),
    quietUntil: integer("quiet_until"),
    /** Who the demo's sign-in page offers as a button. */
    demoOrder: integer("demo_order"),
    disabledAt: integer("disabled_at"),
    version: integer("version").notNull().default(1),
    createdAt: integer("created_at").notNull(),
  },
  (t) => [
    uniqueIndex("people_email").on(t.email),
    // Staff are few among a practice's people.
    index("people_of_practice").on(t.practiceId, t.role),
    check("people_role", sql`${t.role} in ('lead', 'therapist', 'guardian', 'young-person')`),
  ],
);
