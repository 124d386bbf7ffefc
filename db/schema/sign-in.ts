import { index, integer, sqliteTable, text, uniqueIndex } from "drizzle-orm/sqlite-core";
import { people } from "@/db/schema/practice";

/** One signed-in browser. The cookie carries a random token; only its hash is here. */
export const sessions = sqliteTable(
  "sessions",
  {
    id: text("id").primaryKey(),
    tokenHash: text("token_hash").notNull(),
    personId: text("person_id").notNull().references(() => people.id),
    createdAt: integer("created_at").notNull(),
    lastSeenAt: integer("last_seen_at").notNull(),
    /** Past this the session is over whatever it did. */
    endsAt: integer("ends_at").notNull(),
    /** When the second factor was last shown; null for families. */
    provedAt: integer("proved_at"),
    endedAt: integer("ended_at"),
  },
  (t) => [uniqueIndex("sessions_token").on(t.tokenHash), index("sessions_person").on(t.personId)],
);

/** A code and link mailed to a family address. Hashed, newest only, ten minutes, five tries. */
export const signInCodes = sqliteTable(
  "sign_in_codes",
  {
    id: text("id").primaryKey(),
    /** Keyed hash of the address, so that unknown addresses are limited like known ones. */
    addressHash: text("address_hash").notNull(),
    /** Null for an unknown address: nothing is mailed, nothing matches. */
    personId: text("person_id").references(() => people.id),
    codeHash: text("code_hash").notNull(),
    linkHash: text("link_hash").notNull(),
    createdAt: integer("created_at").notNull(),
    expiresAt: integer("expires_at").notNull(),
    tries: integer("tries").notNull().default(0),
    usedAt: integer("used_at"),
    replacedAt: integer("replaced_at"),
  },
  (t) => [
    index("sign_in_codes_address").on(t.addressHash, t.createdAt),
    uniqueIndex("sign_in_codes_link").on(t.linkHash),
  ],
);

export const passkeys = sqliteTable(
  "passkeys",
  {
    id: text("id").primaryKey(),
    personId: text("person_id").notNull().references(() => people.id),
    credentialId: text("credential_id").notNull(),
    publicKey: text("public_key").notNull(),
    counter: integer("counter").notNull(),
    transports: text("transports").notNull(),
    createdAt: integer("created_at").notNull(),
    lastUsedAt: integer("last_used_at"),
  },
  (t) => [uniqueIndex("passkeys_credential").on(t.credentialId), index("passkeys_person").on(t.personId)],
);

/** A time-based one-time password secret (RFC 6238), sealed with the sign-in key. */
export const totpSecrets = sqliteTable("totp_secrets", {
  personId: text("person_id").primaryKey().references(() => people.id),
  sealedSecret: text("sealed_secret").notNull(),
  createdAt: integer("created_at").notNull(),
  confirmedAt: integer("confirmed_at"),
  /** The newest step used: a code works once. */
  lastStep: integer("last_step"),
});

/** A single-use challenge for a passkey or a pending second factor. */
export const challenges = sqliteTable(
  "challenges",
  {
    id: text("id").primaryKey(),
    tokenHash: text("token_hash").notNull(),
    personId: text("person_id").references(() => people.id),
    purpose: text("purpose").notNull(),
    value: text("value").notNull(),
    tries: integer("tries").notNull().default(0),
    expiresAt: integer("expires_at").notNull(),
    usedAt: integer("used_at"),
  },
  (t) => [uniqueIndex("challenges_token").on(t.tokenHash)],
);

/** An address through which one person sets up their sign-in; 24 hours, once. */
export const invitations = sqliteTable(
  "invitations",
  {
    id: text("id").primaryKey(),
    personId: text("person_id").notNull().references(() => people.id),
    linkHash: text("link_hash").notNull(),
    createdBy: text("created_by"),
    createdAt: integer("created_at").notNull(),
    expiresAt: integer("expires_at").notNull(),
    usedAt: integer("used_at"),
    revokedAt: integer("revoked_at"),
  },
  (t) => [uniqueIndex("invitations_link").on(t.linkHash), index("invitations_person").on(t.personId)],
);
