import "server-only";
import type { Role } from "@/lib/domain/policy/policy";
import type { Reader } from "@/lib/domain/words/reader";

/** Who is acting, read from the database for this request. The role is never taken from a cookie. */
export type Actor = {
  readonly personId: string;
  readonly practiceId: string;
  readonly role: Role;
  readonly name: string;
  /** The reader's zone: their own, else the practice's. */
  readonly timeZone: string;
  /** The language and voice this person is spoken to in; staff read English. */
  readonly reader: Reader;
  readonly sessionId: string;
  /** When it was last shown in this session who this is, UTC ms: the second step of staff, a mailed code of a carer; null for never. */
  readonly provedAt: number | null;
  readonly requestId: string;
};

export const isStaff = (role: Role): boolean => role === "lead" || role === "therapist";
