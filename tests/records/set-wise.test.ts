import { eq, sql } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { answers, readBacks, seenLive, stoppedItems, verdicts } from "@/db/schema/answers";
import { children, consents, curveRecords, families, setups } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { mediaFiles, photoSets, photos, waitingSets } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import { voiceNotes } from "@/db/schema/voice";
import { grant } from "@/lib/access/grant";
import { patternOf } from "@/lib/domain/curve/record";
import { maybeSamePicture } from "@/lib/domain/photo/perceptual-hash";
import { fitOf } from "@/lib/domain/sessions/fit";
import { resolve } from "@/lib/domain/setup/resolve";
import { endOfLocalDay } from "@/lib/domain/time/local";
import { historyOf } from "@/lib/records/answers-read";
import { readPhotoConsent, readRecord, readSetup } from "@/lib/records/child-facts";
import { readOpenSymptoms, readOpenSymptomsOf } from "@/lib/records/clearances";
import { readConsenting } from "@/lib/records/consent-in-force";
import { eraseRows } from "@/lib/records/erasing";
import { exerciseOf } from "@/lib/records/exercises";
import { familiesOf, sentByChild } from "@/lib/records/families";
import { newestAnswer } from "@/lib/records/newest-answer";
import { queueOf } from "@/lib/records/queue";
import { mayBeTakenIn, readFits } from "@/lib/records/session-fit";
import { KINDS } from "@/tests/bench/practice-kinds";
import { between, chance, oneOf } from "@/tests/proofs/random";
import { addSet, answeringWorld, EXERCISE, familyOfChild, NOW } from "@/tests/records/answering-scene";
import { befall } from "@/tests/records/caseload-scene";
import { plan, sessionAt } from "@/tests/records/session-scene";

const DAY = 86_400_000;
const CHILDREN = ["child-1", "child-2", "child-3"] as const;
const refs = CHILDREN.map((childId) => ({ childId, familyId: familyOfChild(childId) }));

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => world.close());

const queue = async (page = 1) => queueOf(await grant(world.therapist, "queue.read", null), NOW, { show: "all", page });

describe("what waits for an answer", () => {
  /** The rule itself, over every photo set there is. */
  const ruled = () => database().all<{ readonly id: string }>(sql`select id from photo_sets where sent_at is not null and voided_at is null
    and not exists (select 1 from answers where photo_set_id = photo_sets.id and version = 1 and taken_back_at is null) order by id`).map(({ id }) => id);
  const kept = () => database().select().from(waitingSets).orderBy(waitingSets.photoSetId).all().map(({ photoSetId }) => photoSetId);

  /** From when on each item that a verdict stopped was plainly put right, said row by row. */
  const ruledStopped = () => {
    const db = database();
    const [said, sets, judged] = [db.select().from(answers).all(), db.select().from(photoSets).all(), db.select().from(verdicts).all()];
    const countsFrom = (answerId: string | null): number | null => {
      if (answerId === null) return 0;
      const answer = said.find(({ id }) => id === answerId);
      const isLeftAlone = answer?.version === 1 && answer.takenBackAt === null && sets.find(({ id }) => id === answer.photoSetId)?.voidReason !== "wrong-child"
        && !said.some((later) => later.photoSetId === answer.photoSetId && later.version > 1 && later.takenBackAt === null);
      return isLeftAlone ? answer.publishedAt : null;
    };
    const items = new Map(judged.filter(({ verdict, isStop }) => verdict === "fix" && isStop).map((each) => [`${each.childId} ${each.exerciseKey} ${each.itemKey}`, each]));
    return [...items].map(([key, { childId, exerciseKey, itemKey }]) => {
      const own = judged.filter((each) => each.childId === childId && each.exerciseKey === exerciseKey && each.itemKey === itemKey);
      const fixes = own.filter(({ verdict }) => verdict === "fix");
      const [newest, judgedAt] = [Math.max(...fixes.map(({ sequence }) => sequence)), Math.max(...fixes.map((fix) => fix.judgedAt))];
      const from = own.filter(({ verdict, sequence, evidenceAt, judgedAt: at }) => verdict === "in-place" && sequence > newest && evidenceAt !== null && evidenceAt <= at && evidenceAt > judgedAt)
        .flatMap(({ answerId }) => countsFrom(answerId) ?? []);
      return `${key} ${from.length > 0 ? Math.min(...from) : null}`;
    }).toSorted();
  };
  const keptStopped = () => database().select().from(stoppedItems).all().map(({ childId, exerciseKey, itemKey, liftedAt }) => `${childId} ${exerciseKey} ${itemKey} ${liftedAt}`).toSorted();

  it("is kept as the rule says, and so is what was stopped, whatever is sent, judged, answered, amended, taken back, voided or erased", () => {
    let [changes, waited, stopped, lifted] = [0, 0, 0, 0];
    for (let seed = 1; seed <= 12; seed += 1) {
      const random = chance(seed);
      const db = database();
      for (const childId of CHILDREN) befall(childId, random);
      expect([seed, kept(), keptStopped()]).toEqual([seed, ruled(), ruledStopped()]);
      for (let step = 0; step < 20; step += 1) {
        const [set, answer] = [db.select().from(photoSets).all(), db.select().from(answers).all()];
        if (set.length === 0) break;
        const of = oneOf(random, set);
        const on = eq(photoSets.id, of.id);
        const said = answer.length === 0 ? null : oneOf(random, answer);
        const acts = [
          () => db.update(photoSets).set({ voidedAt: of.voidedAt === null ? NOW : null, voidReason: of.voidedAt === null ? "wrong-child" : null }).where(on).run(),
          () => db.update(photoSets).set({ sentAt: of.sentAt === null ? NOW : null }).where(on).run(),
          () => said && db.update(answers).set({ takenBackAt: said.publishedAt }).where(eq(answers.id, said.id)).run(),
          () => answer.some((each) => each.photoSetId === of.id && each.takenBackAt === null) ? null
            : db.insert(answers).values({ id: crypto.randomUUID(), childId: of.childId, familyId: of.familyId, photoSetId: of.id, kind: "answer", summary: "x", nextStep: "keep-going", answeredBy: "therapist", answeredAt: NOW, publishedAt: NOW }).run(),
          () => said && db.update(answers).set({ publishedAt: said.publishedAt + DAY }).where(eq(answers.id, said.id)).run(),
          () => {
            const id = crypto.randomUUID();
            const own = { childId: of.childId, familyId: of.familyId, exerciseKey: of.exerciseKey };
            const at = NOW + between(random, -2, 2) * DAY;
            db.insert(seenLive).values({ ...own, id, setupId: of.setupId, how: "visit", seenAt: at, recordedBy: "therapist", recordedAt: at }).run();
            for (const itemKey of ["side-down", "prop-low-back"]) db.insert(verdicts).values({ ...own, seenLiveId: id, itemKey, isStop: true, verdict: oneOf(random, ["fix", "in-place"]), sidesKey: "x", evidenceAt: at, judgedBy: "therapist", judgedAt: at }).run();
          },
          () => said && db.delete(verdicts).where(eq(verdicts.answerId, said.id)).run(),
          () => said && db.insert(answers).values({ ...said, id: crypto.randomUUID(), version: 1 + Math.max(...answer.filter((each) => each.photoSetId === said.photoSetId).map(({ version }) => version)), takenBackAt: null }).run(),
        ];
        oneOf(random, acts)();
        changes += 1;
        expect([seed, step, kept(), keptStopped()]).toEqual([seed, step, ruled(), ruledStopped()]);
        waited += kept().length;
        stopped += keptStopped().length;
        lifted += keptStopped().filter((each) => !each.endsWith("null")).length;
      }
      // The scene has people read back what is not theirs; they would have to stay.
      db.delete(readBacks).run();
      db.transaction((tx) => eraseRows(tx, [{ kind: "child", id: "child-1", erasedAt: NOW }]));
      expect([kept(), keptStopped()]).toEqual([ruled(), ruledStopped()]);
      world.close();
      world = answeringWorld();
    }
    expect(changes).toBeGreaterThan(150);
    expect(waited).toBeGreaterThan(100);
    expect(lifted).toBeGreaterThan(100);
    expect(stopped - lifted).toBeGreaterThan(100);
  });

  it("comes a page at a time, in one order, with the figures of all", async () => {
    for (let at = 0; at < 117; at += 1) addSet(`set-${String(at).padStart(3, "0")}`, { childId: oneOf(chance(at), CHILDREN), sentAt: NOW - (200 - at) * 60_000 });
    const [first, second, third] = [await queue(1), await queue(2), await queue(99)];
    expect([first, second, third].map(({ rows, page, pages, counts }) => [rows.length, page, pages, counts.all])).toEqual([[50, 1, 3, 117], [50, 2, 3, 117], [17, 3, 3, 117]]);
    const ids = [first, second, third].flatMap(({ rows }) => rows.map(({ id }) => id));
    expect(ids).toEqual(ids.toSorted());
    expect(new Set(ids).size).toBe(117);
  });
});

it("finds the same picture among many as comparing each with each does", async () => {
  const random = chance(9);
  const hash = () => Array.from({ length: 16 }, () => between(random, 0, 15).toString(16)).join("");
  const known: string[] = [];
  for (let at = 0; at < 60; at += 1) {
    const copied = at > 5 && random() < 0.5 ? oneOf(random, known) : hash();
    const digits = copied.split("");
    for (let bit = between(random, 0, 6); bit > 0; bit -= 1) {
      const place = between(random, 0, 15);
      digits[place] = (Number.parseInt(digits[place] ?? "0", 16) ^ (1 << between(random, 0, 3))).toString(16);
    }
    known.push(digits.join(""));
    addSet(`set-${at}`, { childId: oneOf(random, CHILDREN), sentAt: NOW - at * 60_000, views: ["behind"], hash: digits.join("") });
  }
  database().update(photos).set({ removedAt: NOW }).where(eq(photos.photoSetId, "set-7")).run();
  database().update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child" }).where(eq(photoSets.id, "set-8")).run();
  const all = database().select({ setId: photos.photoSetId, childId: photos.childId, hash: photos.hash }).from(photos).where(sql`removed_at is null and photo_set_id <> 'set-8'`).all();
  const rows = [...(await queue(1)).rows, ...(await queue(2)).rows].filter((row) => row.kind === "photo-set");
  const said = Object.fromEntries(rows.map(({ id, flags }) => [id, flags.filter((flag) => flag.startsWith("same-picture"))]));
  const expected = Object.fromEntries(rows.map(({ id, childId }) => {
    const others = all.filter(({ setId }) => setId !== id).filter((other) => all.some((mine) => mine.setId === id && maybeSamePicture(mine.hash, other.hash)));
    return [id, [...(others.some((other) => other.childId === childId) ? ["same-picture"] : []), ...(others.some((other) => other.childId !== childId) ? ["same-picture-other-child"] : [])]];
  }));
  expect(said).toEqual(expected);
  for (const flag of ["same-picture", "same-picture-other-child"] as const) expect(Object.values(said).filter((flags) => flags.includes(flag)).length).toBeGreaterThan(5);
});

it("finds the newest answer of a child as its whole history has it", async () => {
  const seen = { answered: 0, picture: 0, note: 0, clip: 0 };
  for (let seed = 1; seed <= 8; seed += 1) {
    const random = chance(seed);
    const db = database();
    db.transaction(() => refs.forEach(fill));
    for (const { childId } of refs) await same(childId);
    world.close();
    world = answeringWorld();

    function fill({ childId, familyId }: (typeof refs)[number]): void {
      befall(childId, random);
      const own = { childId, familyId };
      const [said, sets] = [db.select().from(answers).where(eq(answers.childId, childId)).all(), db.select().from(photoSets).where(eq(photoSets.childId, childId)).all()];
      for (const [at, { id }] of sets.entries()) {
        const photoId = `${seed}-${childId}-photo-${at}`;
        db.insert(photos).values({
          ...own, id: photoId, photoSetId: id, ordinal: 1, view: "behind", width: 1, height: 1, placeholder: "", sharpness: 1, exposureMean: 0, exposureDarkShare: 0, exposureLightShare: 0, hash: "0", mirroredFlag: false,
          receivedBytes: 1, receivedSha256: "x", storedAt: NOW,
        }).run();
        if (random() < 0.5) {
          db.insert(clips).values({ ...own, id: photoId, photoId, container: "mp4", codec: "avc", durationMs: 1, frames: 1, width: 1, height: 1, mirroredFlag: false, receivedBytes: 1, receivedSha256: "x", storedAt: NOW }).run();
          db.insert(mediaFiles).values({ ...own, fileId: `${photoId}-clip`, photoId, kind: "clip", byteLength: at, sha256: "x", keyId: "key", storedAt: NOW }).run();
        }
      }
      for (const [at, answer] of said.entries()) {
        const [photoId, voiceNoteId] = [`${seed}-${childId}-photo-${sets.findIndex(({ id }) => id === answer.photoSetId)}`, `${seed}-${childId}-note-${at}`];
        if (random() < 0.3) db.update(answers).set({ kind: "take-again" }).where(eq(answers.id, answer.id)).run();
        if (random() < 0.5) db.insert(mediaFiles).values({ ...own, fileId: `${photoId}-marked-${at}`, photoId, kind: "marked", answerId: answer.id, width: 1, height: 1, byteLength: 1, sha256: "x", keyId: "key", storedAt: NOW }).run();
        if (random() < 0.5) {
          db.insert(voiceNotes).values({ ...own, id: voiceNoteId, photoSetId: answer.photoSetId, container: "webm", durationMs: at + 1, recordedBy: "therapist", recordedAt: NOW }).run();
          db.update(answers).set({ voiceNoteId }).where(eq(answers.id, answer.id)).run();
        }
      }
    }

    async function same(childId: string): Promise<void> {
      const reading = await grant(world.therapist, "child.read", childId);
      const entries = (await historyOf(reading, EXERCISE, NOW)).filter(({ voidReason, answer }) => voidReason === null && answer !== null);
      const [last] = entries.toSorted((a, b) => (b.answer?.answeredAt ?? 0) - (a.answer?.answeredAt ?? 0));
      const newest = entries.find(({ answer }) => answer?.kind === "answer");
      const [open, frame] = [["elbow-high", "side-down"], newest?.pictures.find(({ clip }) => clip)];
      const isFault = newest?.answer?.verdicts.some(({ verdict, itemKey }) => verdict === "fix" && open.includes(itemKey));
      const marked = isFault ? newest?.pictures.find(({ isMarked }) => isMarked) : undefined;
      const { answered, note, picture, clip } = await newestAnswer(reading, EXERCISE, open, NOW);
      expect([seed, childId, answered?.photoSetId, note?.durationMs, picture?.photoId, clip?.photoId])
        .toEqual([seed, childId, last?.photoSetId, newest?.answer?.voice?.durationMs, marked?.photoId, frame?.photoId]);
      if (clip) expect([clip.sentAt, clip.answeredAt]).toEqual([newest?.sentAt, newest?.answer?.answeredAt]);
      for (const [what, found] of Object.entries({ answered, picture, note, clip })) if (found) seen[what as keyof typeof seen] += 1; // of those four
    }
  }
  for (const [what, times] of Object.entries(seen)) expect(times, what).toBeGreaterThan(3);
});

it("says of many children whom a session fits, whose photos may be looked at and what hurts, as of one", async () => {
  const session = await sessionAt(world.therapist, await plan(world.therapist));
  const seen = new Map<string, number>();
  for (let seed = 1; seed <= 60; seed += 1) {
    const random = chance(seed);
    const db = database();
    const { childId, familyId } = oneOf(random, refs);
    const kind = oneOf(random, KINDS);
    const sequence = seed + 10;
    if (random() < 0.7) db.insert(curveRecords).values({ id: `record-${seed}`, childId, familyId, record: kind.record, patternKey: kind.patternKey, reassessBy: oneOf(random, [null, "2026-03-03", "2026-03-04", "2026-09-01"]), recordedBy: "therapist", recordedAt: seed, sequence }).run();
    const record = readRecord({ childId, familyId });
    if (record && random() < 0.8) db.insert(setups).values({ ...kind.setup, id: `setup-${seed}`, childId, familyId, exerciseKey: EXERCISE, exerciseVersion: 1, curveRecordId: random() < 0.8 ? record.id : `record-${childId}`, confirmedBy: "therapist", confirmedAt: seed, sequence }).run();
    if (random() < 0.3) db.insert(consents).values({ id: `consent-${seed}`, childId, familyId, personId: "mother", purpose: oneOf(random, ["photos", "teaching"]), decision: oneOf(random, ["given", "withdrawn"]), textVersion: "1", textHash: "x", standing: "parent", decidedAt: seed, sequence }).run();
    if (random() < 0.2) db.update(children).set({ bornIn: oneOf(random, ["2000-05", "2008-02", "2014-01"]) }).where(eq(children.id, childId)).run();
    befallSymptoms(random, seed);
    const fits = readFits("practice", refs, session, NOW);
    for (const ref of refs) {
      const [current, setup] = [readRecord(ref), readSetup(ref, EXERCISE)];
      const isNotCovered = resolve(exerciseOf("practice", EXERCISE, setup?.exerciseVersion), current?.record ?? null).coverage === "not-covered";
      const one = fitOf({ record: current && { ...current, isPast: current.reassessBy !== null && NOW >= endOfLocalDay(current.reassessBy, "Europe/London") }, setup, isNotCovered }, session.patternKey);
      expect([seed, ref.childId, fits(ref.childId)]).toEqual([seed, ref.childId, one]);
      seen.set(one, (seen.get(one) ?? 0) + 1);
    }
    const { fitting, hasMore } = await mayBeTakenIn(await grant(world.therapist, "families.read", null), session, [], NOW);
    expect([fitting.map((each) => each.childId), hasMore]).toEqual([refs.map((ref) => ref.childId).filter((each) => fits(each) === "fits"), false]);
    expect([...readConsenting([...CHILDREN], NOW)].toSorted()).toEqual(refs.filter((ref) => readPhotoConsent(ref, NOW) === "given").map((ref) => ref.childId));
    expect(new Map(readOpenSymptomsOf("practice").map((of) => [of.childId, of.reports]))).toEqual(new Map(refs.flatMap((ref) => (readOpenSymptoms(ref).length > 0 ? [[ref.childId, readOpenSymptoms(ref)] as const] : []))));
  }
  for (const fit of ["fits", "record-past", "other-pattern", "no-setup"]) expect(seen.get(fit), fit).toBeGreaterThan(3);
});

function befallSymptoms(random: () => number, seed: number): void {
  const { childId, familyId } = oneOf(random, refs);
  const own = `'${childId}', '${familyId}'`;
  if (random() < 0.4) database().$client.exec(`insert into symptom_reports (id, child_id, family_id, tier, symptoms, reported_by, reported_at) values ('sym-${seed}', ${own}, '${oneOf(random, ["urgent", "today"])}', '["dizzy"]', 'mother', ${NOW - seed})`);
  database().$client.exec(`insert into symptom_clearances (id, child_id, family_id, report_id, spoke_to, outcome, cleared_by, cleared_at) select 'cle-${seed}', child_id, family_id, id, 'x', 'x', 'therapist', ${NOW}
    from symptom_reports where id not in (select report_id from symptom_clearances) and ${random()} < 0.3 limit 1`);
}

describe("long lists", () => {
  beforeEach(() => {
    const db = database();
    db.insert(practices).values({ id: "elsewhere", name: "Elsewhere", timeZone: "Europe/London", createdAt: 0 }).run();
    db.insert(families).values({ id: "theirs", practiceId: "elsewhere", name: "Zz theirs", createdAt: 0 }).run();
    for (let at = 0; at < 70; at += 1) {
      const [familyId, childId] = [`more-${String(at).padStart(2, "0")}`, `child-of-${at}`];
      db.insert(families).values({ id: familyId, practiceId: "practice", name: at % 7 === 0 ? "Østby" : `Family ${String(at).padStart(2, "0")}`, createdAt: 0 }).run();
      db.insert(children).values({ id: childId, familyId, givenName: at === 33 ? "Élodie" : `Child ${at}`, bornIn: "2014-01", createdAt: 0 }).run();
      db.insert(curveRecords).values({ id: `rec-${at}`, childId, familyId, record: KINDS[0].record, patternKey: KINDS[0].patternKey, recordedBy: "therapist", recordedAt: 0, sequence: 1 }).run();
      db.insert(setups).values({ ...KINDS[0].setup, id: `set-up-${at}`, childId, familyId, exerciseKey: EXERCISE, exerciseVersion: 1, curveRecordId: `rec-${at}`, confirmedBy: "therapist", confirmedAt: 0, sequence: 1 }).run();
    }
  });
  const pageOf = async (sought: string, page: number) => familiesOf(await grant(world.therapist, "families.read", null), { sought, page });

  it("shows every family once, thirty at a time by name, and finds by any part of a name in any letters", async () => {
    const pages = [await pageOf("", 1), await pageOf("", 2), await pageOf("", 3)];
    expect(pages.map(({ families: shown, page, pages: all, found }) => [shown.length, page, all, found])).toEqual([[30, 1, 3, 72], [30, 2, 3, 72], [12, 3, 3, 72]]);
    expect(new Set(pages.flatMap(({ families: shown }) => shown.map(({ familyId }) => familyId))).size).toBe(72);
    expect((await pageOf("øSTBY", 9)).families).toHaveLength(10);
    expect((await pageOf("élo", 1)).families.map(({ familyId, children: own }) => [familyId, own.map((child) => child.givenName)])).toEqual([["more-33", ["Élodie"]]]);
    expect(await pageOf("theirs", 1)).toMatchObject({ families: [], found: 0, pages: 1 });
  });

  it("offers the first fifty whom a session fits, and the others by name", async () => {
    const session = await sessionAt(world.therapist, await plan(world.therapist));
    const reading = await grant(world.therapist, "families.read", null);
    const { fitting, hasMore } = await mayBeTakenIn(reading, session, [{ childId: "child-of-0", familyId: "more-00" }], NOW);
    expect([fitting.length, hasMore, fitting.some(({ childId }) => childId === "child-of-0")]).toEqual([50, true, false]);
    expect(fitting.map(({ childName }) => childName)).toEqual(fitting.map(({ childName }) => childName).toSorted());
    expect((await mayBeTakenIn(reading, session, [], NOW, "ÉLODIE")).fitting.map(({ childId }) => childId)).toEqual(["child-of-33"]);
    expect(await mayBeTakenIn(reading, session, [], NOW, "theirs")).toEqual({ fitting: [], hasMore: false });
  });

  it("counts of each child what was sent and waits", async () => {
    addSet("one", { sentAt: NOW - DAY });
    addSet("two", { sentAt: NOW - 2 * DAY });
    expect(await sentByChild(await grant(world.therapist, "families.read", null), ["child-1", "child-2"])).toEqual([{ childId: "child-1", lastSentAt: NOW - DAY, waiting: 2 }]);
  });
});

it("knows the pattern of every kind of back by the domain's own name", () => {
  for (const { record, patternKey } of KINDS) expect(patternOf(JSON.parse(record)).key).toBe(patternKey);
});
