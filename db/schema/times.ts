import { blob, foreignKey, index, integer, primaryKey, sqliteTable, text } from "drizzle-orm/sqlite-core";
import { practices } from "@/db/schema/practice";

/**
 * A week of the practice's own of which every answer time is known for good: its photo sets are answered and were due, or stand in
 * `waiting_sets`. Whatever changes a photo set, its first answer, what its family was asked or the calendar back into that time
 * takes the week out again, by triggers alone (migration 0030); `settleWeeks` puts it back.
 */
export const settledWeeks = sqliteTable(
  "settled_weeks",
  {
    practiceId: text("practice_id").notNull().references(() => practices.id),
    weekFrom: integer("week_from").notNull(),
    weekUntil: integer("week_until").notNull(),
    /** Later than any now while it is being worked out. */
    settledAt: integer("settled_at").notNull(),
  },
  (t) => [primaryKey({ columns: [t.practiceId, t.weekFrom] }), index("settled_weeks_until").on(t.weekUntil)],
);

/** The answer times of one week, told apart by one thing. */
export const settledTimes = sqliteTable(
  "settled_times",
  {
    practiceId: text("practice_id").notNull(),
    weekFrom: integer("week_from").notNull(),
    by: text("by", { enum: ["week", "exercise", "pattern", "colleague", "nth"] }).notNull(),
    key: text("key").notNull(),
    /** Whole minutes of working time, one for each photo set, rising: 32 bits each, lowest byte first. */
    minutes: blob("minutes", { mode: "buffer" }).notNull(),
    /** How many were answered by when they were due. */
    inTime: integer("in_time").notNull(),
    /** JSON, the quantiles of these alone: most parts are shown by themselves. */
    quantiles: text("quantiles").notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.practiceId, t.by, t.weekFrom, t.key] }),
    foreignKey({ columns: [t.practiceId, t.weekFrom], foreignColumns: [settledWeeks.practiceId, settledWeeks.weekFrom] }).onDelete("cascade"),
    index("settled_times_week").on(t.practiceId, t.weekFrom),
  ],
);
