import { database } from "@/db/client";
import { answers, readBacks, seenLive, staffStops, verdicts } from "@/db/schema/answers";
import { careLinks, setups } from "@/db/schema/care";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { decide, familyOfChild, NOW, POSITION_ITEMS } from "@/tests/records/answering-scene";
import { between, oneOf } from "@/tests/proofs/random";
import { KINDS } from "@/tests/bench/practice-kinds";

const DAY = 86_400_000;
const EXERCISE = "side-lying";
const RULED = KINDS[0].setup;

/** What befalls one child of `answeringWorld` in random order, written as rows: every way a verdict can stop counting, too. */
export function befall(childId: string, random: () => number): void {
  const db = database();
  const own = { childId, familyId: familyOfChild(childId) };
  const chanceOf = (oneIn: number) => between(random, 1, oneIn) === 1;
  const id = () => crypto.randomUUID();
  let [at, sides, setupSequence] = [NOW - 200 * DAY, RULED.sidesKey, 1];
  let setupId = `setup-${childId}`;
  for (let step = between(random, 0, 14); step > 0; step -= 1) {
    at += between(random, 1, 12) * DAY;
    if (chanceOf(9)) {
      sides = oneOf(random, [RULED.sidesKey, "other sides"]);
      setupSequence += 1;
      setupId = `${childId}-setup-${setupSequence}`;
      db.insert(setups).values({
        ...own, id: setupId, exerciseKey: EXERCISE, exerciseVersion: 1, curveRecordId: `record-${childId}`, kind: "rule", resolution: RULED.resolution,
        sidesKey: sides, confirmedBy: "therapist", confirmedAt: at, sequence: setupSequence,
      }).run();
    } else if (chanceOf(10)) place(at);
    else if (chanceOf(12)) report(at);
    else if (chanceOf(8)) live(at);
    else photoSet(at);
  }
  if (chanceOf(6)) decide(childId, own.familyId, oneOf(random, ["given", "withdrawn"] as const), 2);
  if (chanceOf(6)) db.update(careLinks).set({ endedAt: NOW }).run();

  function judge(source: { readonly answerId: string } | { readonly seenLiveId: string }, judgedAt: number, evidenceAt: number | null): void {
    const faulty = oneOf(random, POSITION_ITEMS);
    // Some photo sets are answered after the set-up they were sent under has changed.
    const under = chanceOf(6) ? oneOf(random, [RULED.sidesKey, "other sides"]) : sides;
    for (const itemKey of POSITION_ITEMS) {
      if (chanceOf(8)) continue;
      const isStop = itemKey === "side-down" || itemKey === "prop-low-back";
      const draw = between(random, 1, 10);
      const isFault = itemKey === faulty || draw === 3 || (draw <= 8 && (itemKey === "elbow-high" || itemKey === "head-neck"));
      const verdict = draw === 1 ? "not-visible" : draw === 2 && !isStop ? "not-part" : isFault ? "fix" : "in-place";
      db.insert(verdicts).values({ ...own, ...source, exerciseKey: EXERCISE, itemKey, isStop, verdict, sidesKey: under, evidenceAt, judgedBy: "therapist", judgedAt }).run();
      if (isStop && verdict === "fix" && "answerId" in source && chanceOf(2)) readBack("answer", source.answerId, judgedAt);
    }
  }

  function photoSet(sentAt: number): void {
    const set = id();
    const voidReason = chanceOf(10) ? oneOf(random, ["wrong-child", "consent-withdrawn"] as const) : null;
    const evidenceAt = oneOf(random, [sentAt, sentAt, sentAt - 20 * DAY, null]);
    db.insert(photoSets).values({
      ...own, id: set, exerciseKey: EXERCISE, phase: "position", setupId, sentBy: "mother", startedAt: sentAt, sentAt: chanceOf(15) ? null : sentAt,
      voidedAt: voidReason && sentAt, voidReason,
    }).run();
    const judgedAt = sentAt + DAY / 24;
    for (let version = 1; version === 1 || chanceOf(4); version += 1) {
      const answerId = id();
      const late = version === 1 ? judgedAt : judgedAt + between(random, 1, 30) * DAY;
      const takenBackAt = chanceOf(10) ? late : null;
      db.insert(answers).values({
        ...own, id: answerId, photoSetId: set, version, kind: "answer", summary: "", nextStep: "keep-going", answeredBy: "therapist",
        answeredAt: late, publishedAt: chanceOf(7) ? NOW + DAY : late, takenBackAt,
      }).run();
      judge({ answerId }, late, evidenceAt);
    }
  }

  function live(seenAt: number): void {
    const seenLiveId = id();
    db.insert(seenLive).values({ ...own, id: seenLiveId, exerciseKey: EXERCISE, setupId, how: "visit", seenAt, recordedBy: "therapist", recordedAt: seenAt }).run();
    judge({ seenLiveId }, seenAt, seenAt);
  }

  function place(placedAt: number): void {
    const stop = id();
    db.insert(staffStops).values({
      ...own, id: stop, exerciseKey: oneOf(random, [EXERCISE, null]), reason: "Wait.", placedBy: "therapist", placedAt, ...(chanceOf(2) ? { liftedAt: placedAt, liftedBy: "therapist" } : {}),
    }).run();
    if (chanceOf(2)) readBack("staff-stop", stop, placedAt);
  }

  function report(reportedAt: number): void {
    const reportId = id();
    db.insert(symptomReports).values({ ...own, id: reportId, tier: "today", symptoms: '["dizzy"]', reportedBy: "mother", reportedAt }).run();
    if (chanceOf(2)) db.insert(symptomClearances).values({ ...own, id: id(), reportId, spokeTo: "her", outcome: "well", clearedBy: "therapist", clearedAt: reportedAt }).run();
    if (chanceOf(2)) readBack("symptom", reportId, reportedAt);
  }

  function readBack(stopKind: "answer" | "staff-stop" | "symptom", stopId: string, answeredAt: number): void {
    for (const question of ["side", "prop", "practise"]) {
      if (chanceOf(3)) continue;
      db.insert(readBacks).values({ ...own, id: id(), stopKind, stopId, personId: oneOf(random, ["mother", "father", "stranger"]), question, choice: "x", isRight: !chanceOf(4), answeredAt }).run();
    }
  }
}
