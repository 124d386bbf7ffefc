import "server-only";
import { and, gte, sql } from "drizzle-orm";
import { among, prepared } from "@/db/prepared";
import { notices } from "@/db/schema/machinery";
import type { NoticeKind } from "@/lib/domain/notices/kinds";
import { instantOf, localDate } from "@/lib/domain/time/local";
import { readCalendar } from "@/lib/records/calendar";

/** Mails that remind a family of what it owes: one a day and person in all, whether they come by themselves or were pressed for. */
export const REMINDERS = ["photo-reminder", "session-reminder", "question-reminder"] as const satisfies readonly NoticeKind[];

const mailedSince = prepared((db) => db.select({ personId: notices.personId }).from(notices)
  .where(and(among(notices.kind, "kinds"), gte(notices.createdAt, sql.placeholder("since")))).prepare());

/** Who got a mail of one of these kinds since the practice's day began. For lib/records alone. */
export function remindedToday(practiceId: string, kinds: readonly NoticeKind[], now: number): ReadonlySet<string> {
  const { zone } = readCalendar(practiceId);
  const since = instantOf(localDate(now, zone), 0, zone);
  return new Set(mailedSince().all({ kinds: JSON.stringify(kinds), since }).map(({ personId }) => personId));
}
