import "server-only";
import { and, asc, count, desc, eq, isNotNull, isNull, lt, lte } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { photoSets, photos, symptomReports } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import { checklist, type ChecklistRow } from "@/lib/domain/answering/checklist";
import { StoredResolution } from "@/lib/domain/setup/exercise.schema";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import type { SideCheck } from "@/lib/domain/setup/side-check";
import type { Phase, View } from "@/lib/domain/setup/vocabulary";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { standingFor, type Standing } from "@/lib/records/standing";

export type SentPhoto = {
  readonly photoId: string;
  readonly ordinal: number;
  readonly view: View;
  readonly width: number;
  readonly height: number;
  readonly sideCheck: SideCheck | null;
  readonly mirroredFlag: boolean;
  readonly hash: string;
};

export type SentSet = {
  readonly photoSetId: string;
  readonly exerciseKey: string;
  readonly phase: Phase;
  readonly sentAt: number;
  /** Only what a file proves; what a parent remembers lifts no stop. */
  readonly provenAt: number | null;
  readonly takenAt: number | null;
  readonly takenAtSource: "file" | "parent" | "unknown";
  readonly isOld: boolean;
  readonly note: string;
  readonly sentBy: string;
  readonly voidReason: "wrong-child" | "consent-withdrawn" | null;
  /** The set-up that the family was shown, confirmed for this child. */
  readonly setupId: string;
  readonly resolution: CoveredResolution;
  readonly sidesKey: string;
  readonly apexSpot: string;
  readonly photos: readonly SentPhoto[];
  readonly rows: readonly ChecklistRow[];
};

/** One sent set of this child, with the set-up it was sent under; null when there is none such. */
export function readSet(db: Transaction, ref: ChildRef, photoSetId: string): SentSet | null {
  const row = db.select({ set: photoSets, resolution: setups.resolution, sidesKey: setups.sidesKey, apexSpot: setups.apexSpot, sentBy: people.name })
    .from(photoSets)
    .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
    .innerJoin(people, eq(people.id, photoSets.sentBy))
    .where(and(own(photoSets, ref), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt))).get();
  if (!row || row.set.sentAt === null) return null;
  const { set } = row;
  const resolution = StoredResolution.parse(JSON.parse(row.resolution));
  const pictures = db.select({
    photoId: photos.id, ordinal: photos.ordinal, view: photos.view, width: photos.width, height: photos.height,
    sideCheck: photos.sideCheck, mirroredFlag: photos.mirroredFlag, hash: photos.hash,
  }).from(photos).where(and(own(photos, ref), eq(photos.photoSetId, photoSetId), isNull(photos.removedAt))).orderBy(asc(photos.ordinal)).all();
  return {
    photoSetId, exerciseKey: set.exerciseKey, phase: set.phase, sentAt: row.set.sentAt,
    provenAt: set.takenAtSource === "file" && !set.isOld ? set.takenAt : null,
    takenAt: set.takenAt, takenAtSource: set.takenAtSource, isOld: set.isOld, note: set.note, sentBy: row.sentBy, voidReason: set.voidReason,
    setupId: set.setupId, resolution, sidesKey: row.sidesKey, apexSpot: row.apexSpot, photos: pictures,
    rows: checklist(resolution.items, set.phase, { kind: "photos", views: pictures.map((photo) => photo.view) }),
  };
}

export type LastAnswer = { readonly answeredAt: number; readonly by: string; readonly summary: string; readonly kind: "answer" | "take-again" };

/** Everything the answering desk shows about one photo set. */
export type Desk = {
  readonly set: SentSet;
  readonly standing: Standing;
  /** The set-up changed after this was sent: its verdicts are for the set-up it was sent under. */
  readonly isSetupChanged: boolean;
  readonly nth: number;
  readonly answered: LastAnswer | null;
  readonly lastAnswer: LastAnswer | null;
  readonly symptoms: readonly { readonly tier: "urgent" | "today"; readonly symptoms: string; readonly note: string }[];
};

export async function deskOf(grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<Desk | null> {
  const db = database();
  const set = db.transaction((tx) => readSet(tx, grant, photoSetId));
  if (!set) return null;
  const standing = standingFor(grant.practiceId, grant, set.exerciseKey, now);
  const before = db.select({ n: count() }).from(photoSets).where(and(
    own(photoSets, grant), eq(photoSets.exerciseKey, set.exerciseKey), isNull(photoSets.voidedAt), lte(photoSets.sentAt, set.sentAt),
  )).get();
  const answersSoFar = db.select({
    photoSetId: answers.photoSetId, answeredAt: answers.answeredAt, by: people.name, summary: answers.summary, kind: answers.kind, sentAt: photoSets.sentAt,
  }).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId)).innerJoin(people, eq(people.id, answers.answeredBy))
    .where(and(own(answers, grant), eq(photoSets.exerciseKey, set.exerciseKey), isNull(photoSets.voidedAt), lt(answers.answeredAt, now + 1)))
    .orderBy(desc(answers.answeredAt)).all();
  return {
    set, standing, nth: before?.n ?? 1,
    isSetupChanged: standing.setup?.id !== set.setupId && standing.setup?.sides.key !== set.sidesKey,
    answered: answersSoFar.find((each) => each.photoSetId === photoSetId) ?? null,
    lastAnswer: answersSoFar.find((each) => each.photoSetId !== photoSetId) ?? null,
    symptoms: db.select({ tier: symptomReports.tier, symptoms: symptomReports.symptoms, note: symptomReports.note }).from(symptomReports)
      .where(and(own(symptomReports, grant), eq(symptomReports.photoSetId, photoSetId))).all(),
  };
}
