import { database } from "@/db/client";
import { consents, curveRecords, phaseOpenings, setups } from "@/db/schema/care";
import { mediaFiles, photoSets, photos, symptomReports } from "@/db/schema/photos";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { patternOf } from "@/lib/domain/curve/record";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import { resolve } from "@/lib/domain/setup/resolve";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import type { SideCheck } from "@/lib/domain/setup/side-check";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { AnswerInput } from "@/lib/records/answer-content";
import { sendAnswer } from "@/lib/records/answers";
import { mediaStore } from "@/lib/records/media";
import { RECORD } from "@/tests/domain/curve-record-scene";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

/** Wednesday 4 March 2026, 10:00 in London: the practice of `world` is open 09:00 to 17:00, its promise 8 hours. */
export const NOW = Date.UTC(2026, 2, 4, 10);
export const HOUR = 3_600_000;
export const EXERCISE = "side-lying";

/** Thoracic right, lumbar left: the child lies on the LEFT (PRODUCT, section 3). */
const resolution = resolve(SIDE_LYING, RECORD);

export function answeringWorld() {
  const world = makeWorld();
  const people = {
    lead: addPerson("lead", "lead"), therapist: addPerson("therapist", "therapist"), colleague: addPerson("colleague", "therapist"),
    mother: addPerson("mother", "guardian"), father: addPerson("father", "guardian"), stranger: addPerson("stranger", "guardian"),
  };
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"], father: ["child-1"] });
  addFamilyOf("family-b", ["child-3"], { stranger: ["child-3"] });
  for (const [childId, familyId] of [["child-1", "family-a"], ["child-2", "family-a"], ["child-3", "family-b"]] as const) addSetup(childId, familyId);
  return { ...people, outsider: { ...people.therapist, practiceId: "elsewhere" }, close: () => world.close() };
}

function addSetup(childId: string, familyId: string): void {
  if (resolution.coverage === "not-covered") throw new Error("the record must be covered");
  const db = database();
  db.insert(curveRecords).values({
    id: `record-${childId}`, childId, familyId, record: JSON.stringify(RECORD), reassessBy: RECORD.reassessBy,
    patternKey: patternOf(RECORD).key, recordedBy: "therapist", recordedAt: 0, sequence: 1,
  }).run();
  db.insert(setups).values({
    id: `setup-${childId}`, childId, familyId, exerciseKey: EXERCISE, exerciseVersion: 1, curveRecordId: `record-${childId}`, kind: "rule",
    resolution: JSON.stringify(resolution), sidesKey: sidesKey(resolution.setup), confirmedBy: "therapist", confirmedAt: 0, sequence: 1,
  }).run();
  db.insert(phaseOpenings).values({ id: `phase-${childId}`, childId, familyId, exerciseKey: EXERCISE, phase: "position", openedBy: "therapist", openedAt: 0 }).run();
  decide(childId, familyId, "given", 1);
}

export const decide = (childId: string, familyId: string, decision: "given" | "withdrawn", sequence: number, textVersion = "2"): void => {
  database().insert(consents).values({
    id: `consent-${childId}-${sequence}`, childId, familyId, personId: familyId === "family-b" ? "stranger" : "mother", purpose: "photos", decision,
    textVersion, textHash: "x", standing: "parent", decidedAt: sequence, sequence,
  }).run();
};

type SetDetail = {
  readonly childId?: string;
  readonly sentAt?: number;
  readonly takenAt?: number | null;
  readonly source?: "file" | "parent" | "unknown";
  readonly isOld?: boolean;
  readonly views?: readonly View[];
  readonly check?: SideCheck | null;
  readonly hash?: string;
  readonly mirrored?: boolean;
};

export const familyOfChild = (childId: string): string => (childId === "child-3" ? "family-b" : "family-a");

/** A sent photo set of the position phase, seen from behind, from the front and from the head end unless said. */
export function addSet(id: string, detail: SetDetail = {}): string {
  const { childId = "child-1", sentAt = NOW - HOUR, views = ["behind", "front", "head-end"], check = "looks-right-not-proven" } = detail;
  const familyId = familyOfChild(childId);
  const db = database();
  db.insert(photoSets).values({
    id, childId, familyId, exerciseKey: EXERCISE, phase: "position", setupId: `setup-${childId}`, sentBy: childId === "child-3" ? "stranger" : "mother",
    startedAt: sentAt, sentAt, takenAt: detail.takenAt === undefined ? sentAt - 60_000 : detail.takenAt, takenAtSource: detail.source ?? "file", isOld: detail.isOld ?? false,
  }).run();
  views.forEach((view, at) => {
    db.insert(photos).values({
      id: `${id}-photo-${at + 1}`, childId, familyId, photoSetId: id, ordinal: at + 1, view, width: 640, height: 480, placeholder: "", sharpness: 1,
      exposureMean: 0.5, exposureDarkShare: 0, exposureLightShare: 0, hash: detail.hash ?? "0000000000000000", mirroredFlag: detail.mirrored ?? false,
      sideCheck: view === "behind" || view === "front" ? check : "cannot-tell", receivedBytes: 1, receivedSha256: "x", storedAt: sentAt,
    }).run();
  });
  return id;
}

/** Gives one photo a kept picture, so that marks can be drawn into it. */
export async function addPicture(childId: string, photoId: string, jpeg: Uint8Array): Promise<void> {
  const media = await mediaStore().put(jpeg);
  database().insert(mediaFiles).values({
    fileId: media.fileId, childId, familyId: familyOfChild(childId), photoId, kind: "2048", width: 640, height: 480,
    byteLength: media.byteLength, sha256: media.sha256, keyId: media.keyId, storedAt: NOW,
  }).run();
}

export const addSymptom = (id: string, childId: string, tier: "urgent" | "today", reportedAt: number): void => {
  database().insert(symptomReports).values({
    id, childId, familyId: familyOfChild(childId), tier, symptoms: JSON.stringify([tier === "urgent" ? "leg-weak-or-numb" : "dizzy"]),
    reportedBy: childId === "child-3" ? "stranger" : "mother", reportedAt,
  }).run();
};

/** Every item the position phase asks for with this set-up, from PRODUCT, section 3. */
export const POSITION_ITEMS = [
  "side-down", "prop-low-back", "prop-apex-spot", "stacked", "head-neck", "bottom-arm-long", "elbow-high", "armpit-open", "bottom-knee-bent", "top-leg-straight",
] as const;

export const verdictsOf = (verdict: GivenVerdict["verdict"], change: Readonly<Record<string, GivenVerdict["verdict"]>> = {}): readonly GivenVerdict[] =>
  POSITION_ITEMS.map((itemKey) => ({ itemKey, verdict: change[itemKey] ?? verdict, cue: null, cueId: null }));

/** What a therapist would say next: a new photo while anything has to change. */
export const nextFor = (verdicts: readonly GivenVerdict[]) => (verdicts.some((each) => each.verdict === "fix") ? "new-photo" : "keep-going");

export const answer = (photoSetId: string, change: Partial<AnswerInput> = {}): AnswerInput => {
  const verdicts = change.verdicts ?? verdictsOf("in-place");
  return {
    photoSetId, verdicts, summary: "Lie on the left side, as you do now.", nextStep: nextFor(verdicts), nextView: null,
    sideReason: "", wordsConfirmed: false, marks: [], spans: [], pairs: [], voiceNoteId: null, ...change,
  };
};

export const send = async (who: Actor, photoSetId: string, change: Partial<AnswerInput> = {}, now = NOW, childId = "child-1") =>
  sendAnswer(await grant(who, "answer.write", childId), answer(photoSetId, change), now);
