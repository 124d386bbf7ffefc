import "server-only";
import { and, eq } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { symptomReports } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import { SYMPTOMS, tierOf, type SymptomKey } from "@/lib/domain/symptoms/symptoms";
import { act } from "@/lib/records/act";
import { own } from "@/lib/records/child-facts";
import { tellStaff } from "@/lib/records/tell-staff";

/** What was said to one tier's question: what was noticed, or explicitly none of it. */
export type TierAnswer = { readonly noticed: readonly SymptomKey[]; readonly isNone: boolean };
export type SymptomAnswers = Readonly<Record<SymptomTier, TierAnswer>>;

/** Everything noticed. Refused unless both tiers were answered, each one way and with its own symptoms. */
export function noticedIn(answers: SymptomAnswers): Result<readonly SymptomKey[]> {
  for (const tier of ["urgent", "today"] as const) {
    const { noticed, isNone } = answers[tier];
    if (isNone === noticed.length > 0 || noticed.some((key) => SYMPTOMS[key] !== tier)) return refuse("symptoms-unanswered", { field: tier });
  }
  return ok([...new Set([...answers.urgent.noticed, ...answers.today.noticed])]);
}

/**
 * "Something hurts or feels wrong": stops all of this child's exercises at once and tells every member
 * of staff. Something must have been noticed; otherwise refused with `symptoms-unanswered`.
 */
export async function reportSymptoms(
  grant: ChildGrant<"symptom.report">,
  input: { readonly noticed: readonly SymptomKey[]; readonly note: string; readonly photoSetId: string | null; readonly waitedMs?: number },
  now: number,
): Promise<Result<{ readonly tier: SymptomTier }>> {
  const tier = tierOf(input.noticed);
  if (tier === null) return refuse("symptoms-unanswered", { field: "noticed" });
  return act(grant, "symptom.reported", now, (tx) => {
    const { noticed, note, photoSetId, waitedMs = 0 } = input;
    const reportId = photoSetId === null
      ? insertReport(tx, grant, { noticed, note, tier, photoSetId, waitedMs }, now)
      : insertSetReport(tx, grant, photoSetId, noticed, note, now, waitedMs);
    return ok({ objectId: reportId ?? grant.childId, value: { tier } });
  });
}

type Reporter = ChildGrant<"symptom.report"> | ChildGrant<"photo-set.send">;

/**
 * What was noticed with a photo set, in an act of its own: it stands even when the photos are refused.
 * One report a set and set of symptoms, however often it is sent. For lib/records alone.
 */
export function reportWithSet(grant: ChildGrant<"photo-set.send">, photoSetId: string, noticed: readonly SymptomKey[], note: string, now: number): void {
  act({ actor: grant.actor, once: null, familyId: grant.familyId }, "symptom.reported", now, (tx) => {
    const reportId = insertSetReport(tx, grant, photoSetId, noticed, note, now);
    return ok({ objectId: reportId ?? photoSetId, value: null });
  });
}

/** The same inside the sending act, with its own audit entry; null when it is there already or nothing was noticed. */
export function insertSetReport(
  tx: Transaction, grant: Reporter, photoSetId: string, noticed: readonly SymptomKey[], note: string, now: number, waitedMs = 0,
): string | null {
  const tier = tierOf(noticed);
  if (tier === null) return null;
  const there = tx.select({ symptoms: symptomReports.symptoms }).from(symptomReports)
    .where(and(own(symptomReports, grant), eq(symptomReports.photoSetId, photoSetId))).all();
  // Order says nothing: the same things noticed with the same photos are one report.
  const sorted = [...noticed].sort();
  if (there.some((row) => row.symptoms === JSON.stringify(sorted))) return null;
  return insertReport(tx, grant, { noticed: sorted, note, tier, photoSetId, waitedMs }, now);
}

type NewReport = {
  readonly noticed: readonly SymptomKey[];
  readonly note: string;
  readonly tier: SymptomTier;
  readonly photoSetId: string | null;
  readonly waitedMs: number;
};

function insertReport(tx: Transaction, grant: Reporter, report: NewReport, now: number): string {
  const id = crypto.randomUUID();
  tx.insert(symptomReports).values({
    id, childId: grant.childId, familyId: grant.familyId, tier: report.tier, symptoms: JSON.stringify(report.noticed),
    note: report.note.trim(), photoSetId: report.photoSetId, reportedBy: grant.actor.personId, reportedAt: now,
    waitedMs: report.waitedMs,
  }).run();
  if (report.photoSetId !== null) {
    appendAudit(tx, {
      at: now, actorId: grant.actor.personId, role: grant.actor.role, act: "symptom.opened", objectId: id, familyId: grant.familyId,
      outcome: "done", requestId: grant.actor.requestId, sessionHash: grant.actor.sessionId,
    });
  }
  tellStaff(tx, grant.practiceId, report.tier === "urgent" ? "symptom-urgent" : "symptom-today", id, now);
  return id;
}
