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
    /** When a carer last typed a code mailed to this session; apart, so that it never counts as a second factor. */
    mailProvedAt: integer("mail_proved_at"),
    endedAt: integer("ended_at"),
    /** What kind of browser on what kind of system signed in, as `lib/domain/sign-in/device.ts` names them; null before it was kept. */
    browser: text("browser"),
    system: text("system"),
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
    /** Keyed hash of the network address that asked; emptied once it no longer counts, after an hour. */
    networkHash: text("network_hash"),
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
    index("sign_in_codes_network").on(t.networkHash, t.createdAt),
    uniqueIndex("sign_in_codes_link").on(t.linkHash),
  ],
);

/** Wrong codes typed for one address since it last signed in, known or not; at the limit codes stop counting. */
export const signInFailures = sqliteTable("sign_in_failures", {
  /** Keyed, as in `sign_in_codes`. */
  addressHash: text("address_hash").primaryKey(),
  failures: integer("failures").notNull(),
  lastAt: integer("last_at").notNull(),
});

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

/** Wrong authenticator codes of one member of staff since they last signed in; at the limit such codes stop counting. */
export const totpFailures = sqliteTable("totp_failures", {
  personId: text("person_id").primaryKey().references(() => people.id),
  failures: integer("failures").notNull(),
  lastAt: integer("last_at").notNull(),
});

/** Codes on paper that stand in for a second factor, each once. Keyed hashes; a new set replaces the one before. */
export const recoveryCodes = sqliteTable(
  "recovery_codes",
  {
    id: text("id").primaryKey(),
    personId: text("person_id").notNull().references(() => people.id),
    codeHash: text("code_hash").notNull(),
    createdAt: integer("created_at").notNull(),
    usedAt: integer("used_at"),
  },
  (t) => [uniqueIndex("recovery_codes_code").on(t.codeHash), index("recovery_codes_person").on(t.personId)],
);

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
