import { index, integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import { people, practices } from "@/db/schema/practice";
import { ALARM_KINDS } from "@/lib/domain/upkeep/alarms";

/** Appended (triggers refuse update and delete): something about the server or the data that a person must look at. */
export const alarms = sqliteTable(
  "alarms",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    kind: text("kind", { enum: ALARM_KINDS }).notNull(),
    raisedAt: integer("raised_at").notNull(),
  },
  (t) => [index("alarms_newest").on(t.practiceId, t.kind, t.raisedAt)],
);

/** Appended likewise: who said of an alarm that they saw to it. Without a row it is open. */
export const alarmsSeen = sqliteTable("alarms_seen", {
  alarmId: text("alarm_id").primaryKey().references(() => alarms.id),
  seenBy: text("seen_by").notNull().references(() => people.id),
  seenAt: integer("seen_at").notNull(),
});
