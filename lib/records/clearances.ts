import "server-only";
import { and, asc, eq, inArray, isNull, type SQL } from "drizzle-orm";
import { z } from "zod";
import { database } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { symptomClearances, symptomReports } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { inChunks } from "@/lib/records/in-chunks";

/** Anything shorter is the line's own delay. */
const MINUTE_MS = 60_000;

export type OpenSymptom = {
  readonly reportId: string;
  readonly tier: SymptomTier;
  readonly symptoms: readonly string[];
  readonly note: string;
  readonly reportedAt: number;
  /** When it was written down, where it lay on a phone without signal for more than a minute. */
  readonly writtenAt: number | null;
  readonly reportedBy: string;
};

/** What was reported and not cleared yet, urgent first, then oldest. For lib/records alone: the caller has the grant. */
export const readOpenSymptoms = (ref: ChildRef): readonly OpenSymptom[] => readOpenWhere(own(symptomReports, ref)).map(({ childId: _childId, familyId: _familyId, ...report }) => report);

/** The same of every child of a practice that has any. For lib/records alone. */
export function readOpenSymptomsOf(practiceId: string): readonly (ChildRef & { readonly childName: string; readonly reports: readonly OpenSymptom[] })[] {
  const names = new Map<string, string>();
  const by = new Map<string, { readonly childId: string; readonly familyId: string; readonly childName: string; readonly reports: OpenSymptom[] }>();
  const rows = readOpenWhere(eq(families.practiceId, practiceId));
  for (const { id, name } of inChunks([...new Set(rows.map(({ childId }) => childId))], (some) =>
    database().select({ id: children.id, name: children.givenName }).from(children).where(inArray(children.id, some)).all())) names.set(id, name);
  for (const { childId, familyId, ...report } of rows) {
    const of = by.get(childId) ?? { childId, familyId, childName: names.get(childId) ?? "", reports: [] };
    by.set(childId, of);
    of.reports.push(report);
  }
  return [...by.values()];
}

function readOpenWhere(which: SQL | undefined): readonly (ChildRef & OpenSymptom)[] {
  const rows = database().select({
    childId: symptomReports.childId, familyId: symptomReports.familyId, reportId: symptomReports.id, tier: symptomReports.tier, symptoms: symptomReports.symptoms, note: symptomReports.note,
    reportedAt: symptomReports.reportedAt, waitedMs: symptomReports.waitedMs, reportedBy: people.name,
  }).from(symptomReports)
    .innerJoin(families, eq(families.id, symptomReports.familyId))
    .innerJoin(people, eq(people.id, symptomReports.reportedBy))
    .leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id))
    .where(and(which, isNull(symptomClearances.id)))
    .orderBy(asc(symptomReports.reportedAt)).all();
  const read = rows.map(({ waitedMs, ...row }) => ({ ...row, writtenAt: waitedMs > MINUTE_MS ? row.reportedAt - waitedMs : null, symptoms: z.array(z.string()).parse(JSON.parse(row.symptoms)) }));
  return [...read.filter((row) => row.tier === "urgent"), ...read.filter((row) => row.tier !== "urgent")];
}

export async function openSymptomsOf(grant: ChildGrant<"symptom.clear">): Promise<readonly OpenSymptom[]> {
  return readOpenSymptoms(grant);
}

/** The only thing that lifts a symptom stop: who was spoken to, and what came of it. */
export async function clearSymptom(
  grant: ChildGrant<"symptom.clear">,
  input: { readonly reportId: string; readonly spokeTo: string; readonly outcome: string },
  now: number,
): Promise<Result<null>> {
  if (input.spokeTo.trim().length < 2) return refuse("reason-missing", { field: "spokeTo" });
  if (input.outcome.trim().length < 3) return refuse("reason-missing", { field: "outcome" });
  return act(grant, "symptom.cleared", now, (tx) => {
    if (!readOpenSymptoms(grant).some((report) => report.reportId === input.reportId)) return refuse("stale-version");
    tx.insert(symptomClearances).values({
      id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, reportId: input.reportId,
      spokeTo: input.spokeTo.trim(), outcome: input.outcome.trim(), clearedBy: grant.actor.personId, clearedAt: now,
    }).run();
    tellCarers(tx, grant, "symptom-cleared", input.reportId, now);
    return ok({ objectId: input.reportId, value: null });
  });
}
