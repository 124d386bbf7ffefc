import "server-only";
import { and, eq } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { actsDone, notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { noticeChoices } from "@/db/schema/reach";
import { challenges, invitations, passkeys, recoveryCodes, sessions, signInCodes, signInFailures, totpFailures, totpSecrets } from "@/db/schema/sign-in";
import { isStaff } from "@/lib/access/actor";
import { keyedHash } from "@/lib/access/sealed";
import { forgetPhonesOf } from "@/lib/notices/phones";

/** What is one person's own, by `person_id`. */
const OWN = [noticeChoices, notices, actsDone, sessions, signInCodes, passkeys, totpSecrets, totpFailures, recoveryCodes, challenges, invitations] as const;

/** A carer who was here for erased children alone goes with them: name, address, sign-ins, phones. Any other link, ended or not, keeps them. */
export function erasePersonLeftOver(tx: Transaction, personId: string): void {
  const person = tx.select({ role: people.role, email: people.email }).from(people).where(eq(people.id, personId)).get();
  const link = tx.select({ id: careLinks.id }).from(careLinks).where(eq(careLinks.personId, personId)).get();
  if (!person || link || isStaff(person.role)) return;
  forgetPhonesOf(tx, personId);
  for (const table of OWN) tx.delete(table).where(eq(table.personId, personId)).run();
  tx.delete(signInFailures).where(eq(signInFailures.addressHash, keyedHash("address", person.email))).run();
  tx.delete(people).where(eq(people.id, personId)).run();
}

/** Notices about erased things, sent or waiting, and remembered answers of acts that name them, whoever's they are. */
export function forgetMentions(tx: Transaction, ids: ReadonlySet<string>): void {
  if (ids.size === 0) return;
  const names = (text: string, between: RegExp): boolean => text.split(between).some((part) => ids.has(part));
  for (const { id, key } of tx.select({ id: notices.id, key: notices.dedupeKey }).from(notices).all()) {
    if (names(key, /:/)) tx.delete(notices).where(eq(notices.id, id)).run();
  }
  const done = tx.select({ personId: actsDone.personId, key: actsDone.key, result: actsDone.result }).from(actsDone).all();
  for (const { personId, key, result } of done) {
    if (names(result, /[^\w-]+/)) tx.delete(actsDone).where(and(eq(actsDone.personId, personId), eq(actsDone.key, key))).run();
  }
}
