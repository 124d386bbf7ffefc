import "server-only";
import { and, gte, inArray } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import type { NoticeKind } from "@/lib/domain/notices/kinds";
import { instantOf, localDate } from "@/lib/domain/time/local";
import { readCalendar } from "@/lib/records/calendar";

/** Mails that remind a family of what it owes: one a day and person in all, whether they come by themselves or were pressed for. */
export const REMINDERS = ["photo-reminder", "session-reminder", "question-reminder"] as const satisfies readonly NoticeKind[];

/** Who got a mail of one of these kinds since the practice's day began. For lib/records alone. */
export function remindedToday(tx: Pick<Transaction, "select">, practiceId: string, kinds: readonly NoticeKind[], now: number): ReadonlySet<string> {
  const { zone } = readCalendar(practiceId);
  const since = instantOf(localDate(now, zone), 0, zone);
  return new Set(tx.select({ personId: notices.personId }).from(notices).where(and(inArray(notices.kind, [...kinds]), gte(notices.createdAt, since))).all().map(({ personId }) => personId));
}
