import { index, integer, primaryKey, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { people } from "@/db/schema/practice";
import { DEVICES } from "@/lib/domain/notices/device";

/** What a person switched off or on, by `choiceKey`; without a row it is on. */
export const noticeChoices = sqliteTable(
  "notice_choices",
  {
    personId: text("person_id").notNull().references(() => people.id),
    kind: text("kind").notNull(),
    isOn: integer("is_on", { mode: "boolean" }).notNull(),
    chosenAt: integer("chosen_at").notNull(),
  },
  (t) => [primaryKey({ columns: [t.personId, t.kind] })],
);

/** One browser that a person has told us to reach by web push. Gone when they end it, sign out of it, lose access, or its push service says it is no more. */
export const pushPhones = sqliteTable(
  "push_phones",
  {
    id: text("id").primaryKey(),
    personId: text("person_id").notNull().references(() => people.id),
    /** Keyed hash of the endpoint: one browser reaches one person. */
    endpointHash: text("endpoint_hash").notNull(),
    /** Sealed `PushAddress`: whoever knows it could push to this browser. */
    sealedAddress: text("sealed_address").notNull(),
    /** What it is, so that its owner can tell it from others. */
    device: text("device", { enum: DEVICES }).notNull(),
    createdAt: integer("created_at").notNull(),
  },
  (t) => [uniqueIndex("push_phones_endpoint").on(t.endpointHash), index("push_phones_person").on(t.personId)],
);
