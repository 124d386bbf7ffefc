import { sql } from "drizzle-orm";
import { check, foreignKey, index, integer, sqliteTable, text, unique, uniqueIndex } from "drizzle-orm/sqlite-core";
import { children, ofChild } from "@/db/schema/care";
import { people, practices } from "@/db/schema/practice";

/** One group session: an exercise taught to children of one curve pattern. */
export const groupSessions = sqliteTable(
  "group_sessions",
  {
    id: text("id").primaryKey(),
    practiceId: text("practice_id").notNull().references(() => practices.id),
    exerciseKey: text("exercise_key").notNull(),
    /** As in `curve_records`. */
    patternKey: text("pattern_key").notNull(),
    startsAt: integer("starts_at").notNull(),
    /** What who comes must know, such as the address of a call; only they read it. */
    howToJoin: text("how_to_join").notNull().default(""),
    createdBy: text("created_by").notNull().references(() => people.id),
    createdAt: integer("created_at").notNull(),
    /** Before it began: it does not take place. */
    closedAt: integer("closed_at"),
    closedBy: text("closed_by").references(() => people.id),
    version: integer("version").notNull().default(1),
  },
  (t) => [index("group_sessions_starts").on(t.practiceId, t.startsAt), check("group_sessions_closed", sql`(${t.closedAt} is null) = (${t.closedBy} is null)`)],
);

/** An address through which a family asks to come; hashed, one open a session. */
export const sessionInvitations = sqliteTable(
  "session_invitations",
  {
    id: text("id").primaryKey(),
    sessionId: text("session_id").notNull().references(() => groupSessions.id),
    linkHash: text("link_hash").notNull(),
    createdBy: text("created_by").notNull().references(() => people.id),
    createdAt: integer("created_at").notNull(),
    expiresAt: integer("expires_at").notNull(),
    revokedAt: integer("revoked_at"),
  },
  (t) => [
    uniqueIndex("session_invitations_link").on(t.linkHash),
    uniqueIndex("session_invitations_open").on(t.sessionId).where(sql`revoked_at is null`),
  ],
);

/** A child's place in a group session: asked for by its people or given by staff. Without a decision it waits. */
export const sessionPlaces = sqliteTable(
  "session_places",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    sessionId: text("session_id").notNull().references(() => groupSessions.id),
    /** A carer, by the invitation, or a member of staff. */
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
    decision: text("decision", { enum: ["taken-in", "declined"] }),
    decidedBy: text("decided_by").references(() => people.id),
    decidedAt: integer("decided_at"),
    /** Taken out by staff, or the family cannot come. */
    endedAt: integer("ended_at"),
    endedBy: text("ended_by").references(() => people.id),
  },
  (t) => [
    foreignKey({ columns: [t.childId, t.familyId], foreignColumns: [children.id, children.familyId] }),
    unique("session_places_of_child").on(t.id, t.childId, t.familyId),
    uniqueIndex("session_places_open").on(t.sessionId, t.childId).where(sql`ended_at is null`),
    index("session_places_child").on(t.childId),
    check("session_places_decided", sql`(${t.decision} is null) = (${t.decidedAt} is null)`),
  ],
);

/** A photo asked for of a child in a group session; one at a time, taken back by an act of its own. */
export const photoAsks = sqliteTable(
  "photo_asks",
  {
    id: text("id").primaryKey(),
    ...ofChild(),
    placeId: text("place_id").notNull(),
    /** Local date of the practice, `YYYY-MM-DD`; the day itself still counts. */
    dueOn: text("due_on").notNull(),
    askedBy: text("asked_by").notNull().references(() => people.id),
    askedAt: integer("asked_at").notNull(),
    takenBackAt: integer("taken_back_at"),
    takenBackBy: text("taken_back_by").references(() => people.id),
  },
  (t) => [
    foreignKey({ columns: [t.placeId, t.childId, t.familyId], foreignColumns: [sessionPlaces.id, sessionPlaces.childId, sessionPlaces.familyId] }),
    uniqueIndex("photo_asks_open").on(t.placeId).where(sql`taken_back_at is null`),
  ],
);
