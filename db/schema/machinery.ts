import { index, integer, primaryKey, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { people } from "@/db/schema/practice";
import { pushPhones } from "@/db/schema/reach";

/** Outgoing mail and pushes, written in the transaction of the act that causes it; leaves after commit, at least once. */
export const notices = sqliteTable(
  "notices",
  {
    id: text("id").primaryKey(),
    kind: text("kind").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    /** Where it is pushed to; null: a mail. */
    phoneId: text("phone_id").references(() => pushPhones.id, { onDelete: "cascade" }),
    /** The same key is sent once. */
    dedupeKey: text("dedupe_key").notNull(),
    /** Sealed values only the mail needs, such as a sign-in code; emptied once sent. */
    sealedValues: text("sealed_values"),
    createdAt: integer("created_at").notNull(),
    nextTryAt: integer("next_try_at").notNull(),
    tries: integer("tries").notNull().default(0),
    sentAt: integer("sent_at"),
    gaveUpAt: integer("gave_up_at"),
  },
  (t) => [uniqueIndex("notices_once").on(t.dedupeKey), index("notices_waiting").on(t.sentAt, t.nextTryAt), index("notices_kind").on(t.kind, t.createdAt), index("notices_phone").on(t.phoneId)],
);

/** Append-only (triggers refuse update and delete) and hash-chained: each row's hash covers the one before. */
export const auditEntries = sqliteTable("audit_entries", {
  sequence: integer("sequence").primaryKey({ autoIncrement: true }),
  at: integer("at").notNull(),
  actorId: text("actor_id"),
  role: text("role"),
  act: text("act").notNull(),
  objectId: text("object_id"),
  familyId: text("family_id"),
  outcome: text("outcome", { enum: ["done", "refused"] }).notNull(),
  requestId: text("request_id"),
  sessionHash: text("session_hash"),
  previousHash: text("previous_hash").notNull(),
  hash: text("hash").notNull(),
});

/** An act a person already did under a key made in their browser: repeated, it answers the same. */
export const actsDone = sqliteTable(
  "acts_done",
  {
    personId: text("person_id").notNull(),
    key: text("key").notNull(),
    act: text("act").notNull(),
    /** JSON of the first answer. */
    result: text("result").notNull(),
    doneAt: integer("done_at").notNull(),
  },
  (t) => [primaryKey({ columns: [t.personId, t.key] })],
);
