import "server-only";
import type { Role } from "@/lib/domain/policy/policy";

/** Who is acting, read from the database for this request. The role is never taken from a cookie. */
export type Actor = {
  readonly personId: string;
  readonly practiceId: string;
  readonly role: Role;
  readonly name: string;
  /** The reader's zone: their own, else the practice's. */
  readonly timeZone: string;
  readonly sessionId: string;
  readonly requestId: string;
};

export const isStaff = (role: Role): boolean => role === "lead" || role === "therapist";
