import "server-only";
import { and, asc, eq, gte, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { extraOpenings } from "@/db/schema/practice";
import type { PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import type { OpenSpan } from "@/lib/domain/time/working-week";
import { OpenSpansSchema } from "@/lib/domain/time/working-week.schema";
import { act } from "@/lib/records/act";
import { readCalendar } from "@/lib/records/calendar";

export type PlannedOpening = { readonly id: string; readonly day: string; readonly spans: readonly OpenSpan[] };

/** Extra openings of today and later that were not taken out, in order of day and time. */
export async function openingsOf(grant: PracticeGrant<"practice.read">, now: number): Promise<readonly PlannedOpening[]> {
  return database().transaction((tx) => planned(tx, grant.practiceId, today(grant.practiceId, now)));
}

/**
 * The practice is open on a date beside its week, past midnight too where a span says so. Refused: `dates-disagree`
 * for a day that has been, since it would change what was due then; `openings-overlap` with another one of that day.
 */
export async function addOpening(
  grant: PracticeGrant<"practice.settings">, { day, spans }: { readonly day: string; readonly spans: readonly OpenSpan[] }, now: number,
): Promise<Result<null>> {
  const first = today(grant.practiceId, now);
  if (day < first) return refuse("dates-disagree", { field: "day" });
  if (spans.length === 0 || !OpenSpansSchema.safeParse(spans).success) return refuse("form-invalid", { field: "spans" });
  const id = crypto.randomUUID();
  return act(grant, "opening.added", now, (tx) => {
    const others = planned(tx, grant.practiceId, first).filter((each) => each.day === day).flatMap((each) => each.spans);
    if (!OpenSpansSchema.safeParse([...others, ...spans]).success) return refuse("openings-overlap", { field: "spans" });
    tx.insert(extraOpenings).values({ id, practiceId: grant.practiceId, day, spans: JSON.stringify(spans), recordedBy: grant.actor.personId, recordedAt: now }).run();
    return ok({ objectId: id, value: null });
  });
}

/** Takes an opening out again, from now on: what was open until now stays counted. */
export async function removeOpening(grant: PracticeGrant<"practice.settings">, id: string, now: number): Promise<Result<null>> {
  return act(grant, "opening.removed", now, (tx) => {
    const removed = tx.update(extraOpenings).set({ removedAt: now }).where(and(
      eq(extraOpenings.practiceId, grant.practiceId), eq(extraOpenings.id, id), isNull(extraOpenings.removedAt), gte(extraOpenings.day, today(grant.practiceId, now)),
    )).run();
    return removed.changes === 1 ? ok({ objectId: id, value: null }) : refuse("stale-version");
  });
}

const today = (practiceId: string, now: number): string => localDate(now, readCalendar(practiceId).zone);

function planned(tx: Transaction, practiceId: string, first: string): readonly PlannedOpening[] {
  const rows = tx.select({ id: extraOpenings.id, day: extraOpenings.day, spans: extraOpenings.spans }).from(extraOpenings)
    .where(and(eq(extraOpenings.practiceId, practiceId), isNull(extraOpenings.removedAt), gte(extraOpenings.day, first)))
    .orderBy(asc(extraOpenings.day), asc(extraOpenings.spans)).all();
  return rows.map(({ spans, ...row }) => ({ ...row, spans: OpenSpansSchema.parse(JSON.parse(spans)) }));
}
