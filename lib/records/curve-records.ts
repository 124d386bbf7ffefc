import "server-only";
import { desc, max } from "drizzle-orm";
import { database } from "@/db/client";
import { curveRecords } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { checkCurveRecord, type Confirmations, type CurveRecordDraft } from "@/lib/domain/curve/check-record";
import { patternOf, type CurveRecord } from "@/lib/domain/curve/record";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import { act } from "@/lib/records/act";
import { readCalendar } from "@/lib/records/calendar";
import { own, readRecord } from "@/lib/records/child-facts";
import { personName } from "@/lib/records/standing";

export type CurveRecordView = {
  readonly id: string;
  readonly record: CurveRecord;
  readonly note: string;
  readonly recordedAt: number;
  readonly recordedBy: string | null;
};

/**
 * Appends a curve record and makes it the current one. `basedOn` is the record that was on the
 * screen (null for none): when another has been entered meanwhile, this one is refused.
 */
export async function recordCurve(
  grant: ChildGrant<"curve-record.write">,
  input: { readonly draft: CurveRecordDraft; readonly said: Confirmations; readonly note: string; readonly basedOn: string | null },
  now: number,
): Promise<Result<{ readonly id: string }>> {
  const { zone } = readCalendar(grant.practiceId);
  const checked = checkCurveRecord(input.draft, input.said, localDate(now, zone)).result;
  if (!checked.ok) return checked;
  const id = crypto.randomUUID();
  return act(grant, "curve-record.added", now, (tx) => {
    if ((readRecord(grant)?.id ?? null) !== input.basedOn) return refuse("stale-version");
    const last = tx.select({ sequence: max(curveRecords.sequence) }).from(curveRecords).where(own(curveRecords, grant)).get();
    tx.insert(curveRecords).values({
      id, childId: grant.childId, familyId: grant.familyId, record: JSON.stringify(checked.value), reassessBy: checked.value.reassessBy,
      patternKey: patternOf(checked.value).key, note: input.note, recordedBy: grant.actor.personId, recordedAt: now,
      sequence: (last?.sequence ?? 0) + 1,
    }).run();
    return ok({ objectId: id, value: { id } });
  });
}

/** Every curve record of this child, the current one first. */
export async function curveRecordsOf(grant: ChildGrant<"child.read">): Promise<readonly CurveRecordView[]> {
  const rows = database().select().from(curveRecords).where(own(curveRecords, grant)).orderBy(desc(curveRecords.sequence)).all();
  return rows.map((row) => ({
    id: row.id, record: StoredCurveRecord.parse(JSON.parse(row.record)), note: row.note, recordedAt: row.recordedAt,
    recordedBy: personName(grant.practiceId, row.recordedBy),
  }));
}
