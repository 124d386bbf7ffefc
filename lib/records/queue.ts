import "server-only";
import { and, count, eq, gt, inArray, isNull, lte, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { claims } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { PracticeGrant } from "@/lib/access/grant";
import { isWaiting } from "@/lib/domain/answering/back-question";
import { nextAfter } from "@/lib/domain/answering/queue-order";
import { patternOf, type Pattern } from "@/lib/domain/curve/record";
import { once } from "@/lib/domain/once";
import { parseFinding } from "@/lib/domain/photo/side-card.schema";
import { isOppositeCheck, type SideCheck } from "@/lib/domain/setup/side-check";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { endOfLocalDay, localDate } from "@/lib/domain/time/local";
import { askedAbout, type BackQuestion } from "@/lib/records/back-question-reads";
import { readCalendar } from "@/lib/records/calendar";
import { readCarers } from "@/lib/records/carers";
import { readStoppedItems } from "@/lib/records/caseload-items";
import { readOpenStops } from "@/lib/records/caseload-stops";
import { own, readRecord, readSetup } from "@/lib/records/child-facts";
import type { Claim } from "@/lib/records/claims";
import { naming } from "@/lib/records/exercise-names";
import { grouped } from "@/lib/records/grouped";
import { REMINDERS, remindedToday } from "@/lib/records/reminded-today";
import { readSamePictures } from "@/lib/records/same-pictures";
import { isFamilys } from "@/lib/records/sent-photos";
import { cardSaid, needsEye } from "@/lib/records/side-cards";
import { hasUnreadStop } from "@/lib/records/stops";
import { readWaiting, type Waits, type WaitingQuestion, type WaitingSet } from "@/lib/records/waiting";

export type { SymptomRow } from "@/lib/records/waiting";

export const QUEUE_FLAGS = [
  "mirrored", "turned-back", "card-other-child", "no-record", "reassessment-due", "setup-changed", "old-photo", "stop-not-read-back", "same-picture", "same-picture-other-child",
] as const;
export type QueueFlag = (typeof QUEUE_FLAGS)[number];

type Row = Waits & { readonly exerciseTitle: string };

export type QuestionRow = Row & Pick<WaitingQuestion, "kind" | "words">;

export type SetRow = Row & {
  readonly kind: "photo-set";
  readonly phase: Phase;
  /** Null without a current curve record. */
  readonly pattern: Pattern | null;
  /** The most alarming of its photos' checks. */
  readonly sideCheck: SideCheck | null;
  readonly photos: number;
  /** 1 for the first of this child and exercise. */
  readonly nth: number;
  readonly flags: readonly QueueFlag[];
  readonly claim: (Claim & { readonly isMine: boolean }) | null;
  /** What its family was asked about it, oldest first. */
  readonly asked: readonly BackQuestion[];
};

/** Whom a reminder would go to, and whether all of them had one today. */
export type OnFamilyRow = SetRow & { readonly openQuestionId: string; readonly isReminded: boolean };

/** A photo set by its id, or a question by its own. */
export type QueueRow = SetRow | QuestionRow;

export const QUEUE_FILTERS = ["all", "overdue", "symptom", "mine"] as const;
export type QueueFilter = (typeof QUEUE_FILTERS)[number];
const IN_FILTER: Readonly<Record<QueueFilter, (row: Waits) => boolean>> = {
  all: () => true, overdue: (row) => row.isOverdue, symptom: (row) => row.symptom !== null, mine: (row) => row.isMine,
};

/** Rows on one page, and of those that wait on their family. */
const AT_ONCE = 50;

export type Queue = Pick<ReturnType<typeof readWaiting>, "symptoms"> & {
  /** One page of what was asked for; `page` is the one shown, from 1. */
  readonly rows: readonly QueueRow[];
  readonly page: number;
  readonly pages: number;
  readonly counts: Readonly<Record<QueueFilter, number>>;
  /** The longest first, and how many there are. */
  readonly onFamily: readonly OnFamilyRow[];
  readonly onFamilyCount: number;
  readonly oldestSentAt: number | null;
  readonly overdue: number;
  readonly dueToday: number;
};

/** What waits for an answer in this practice, in the order to answer it, a page at a time; the figures are of all. */
export async function queueOf(
  grant: PracticeGrant<"queue.read">, now: number, asked: { readonly show: QueueFilter; readonly page: number } = { show: "all", page: 1 },
): Promise<Queue> {
  const { symptoms, rows: all, onFamily } = readWaiting(grant, now);
  const { zone } = readCalendar(grant.practiceId);
  const today = localDate(now, zone);
  const found = all.filter(IN_FILTER[asked.show]);
  const pages = Math.max(1, Math.ceil(found.length / AT_ONCE));
  const page = Math.min(Math.max(1, asked.page), pages);
  const shown = found.slice((page - 1) * AT_ONCE, page * AT_ONCE);
  const held = onFamily.slice(0, AT_ONCE);
  const detail = detailing(grant, [...shown, ...held].filter((row) => row.kind === "photo-set"), now);
  const names = naming(grant.practiceId);
  return {
    symptoms, page, pages, onFamilyCount: onFamily.length, onFamily: familyRows(grant.practiceId, held.map(detail), now),
    rows: shown.map((row) => {
      if (row.kind === "photo-set") return detail(row);
      const { exerciseVersion, ...question } = row;
      return { ...question, exerciseTitle: names(row.exerciseKey, exerciseVersion).title };
    }),
    counts: { all: all.length, overdue: all.filter(IN_FILTER.overdue).length, symptom: all.filter(IN_FILTER.symptom).length, mine: all.filter(IN_FILTER.mine).length },
    oldestSentAt: all.reduce<number | null>((oldest, row) => (oldest === null || row.sentAt < oldest ? row.sentAt : oldest), null),
    overdue: all.filter((row) => row.isOverdue).length,
    dueToday: all.filter((row) => row.dueAt !== null && !row.isOverdue && localDate(row.dueAt, zone) === today).length,
  };
}

function familyRows(practiceId: string, sets: readonly SetRow[], now: number): readonly OnFamilyRow[] {
  const before = remindedToday(practiceId, REMINDERS, now);
  return sets.flatMap((row) => {
    const open = row.asked.find(isWaiting);
    return open ? [{ ...row, openQuestionId: open.backQuestionId, isReminded: readCarers(row, now).every(({ personId }) => before.has(personId)) }] : [];
  });
}

/** What comes after this photo set or question; null when no other waits. */
export async function nextInQueue(grant: PracticeGrant<"queue.read">, id: string, now: number): Promise<Pick<QueueRow, "kind" | "childId" | "id"> | null> {
  return nextAfter(readWaiting(grant, now).rows, id);
}

/** Reads what all these sets have in common at once, and then says each of them. */
function detailing(grant: PracticeGrant<"queue.read">, sets: readonly WaitingSet[], now: number): (set: WaitingSet) => SetRow {
  const db = database();
  const { practiceId } = grant;
  const ids = sets.map(({ id }) => id);
  const { zone } = readCalendar(practiceId);
  const pictures = grouped(ids.length === 0 ? [] : db.select({
    photoId: photos.id, photoSetId: photos.photoSetId, childId: photos.childId, isTurnedBack: photos.isTurnedBack,
    settledBy: photos.mirrorSettledBy, cardReading: photos.cardReading, hash: photos.hash, mirroredFlag: photos.mirroredFlag, sideCheck: photos.sideCheck,
  }).from(photos).where(and(inArray(photos.photoSetId, ids), isNull(photos.removedAt), isFamilys)).all(), ({ photoSetId }) => photoSetId);
  const same = readSamePictures(practiceId, [...pictures.values()].flat());
  const versions = new Map(db.select({ setupId: setups.id, version: setups.exerciseVersion }).from(setups).where(inArray(setups.id, sets.map(({ setupId }) => setupId))).all().map((row) => [row.setupId, row.version]));
  const claimed = new Map(db.select({ photoSetId: claims.photoSetId, personId: claims.personId, name: people.name, lapsesAt: claims.lapsesAt }).from(claims)
    .innerJoin(people, eq(people.id, claims.personId)).where(and(inArray(claims.photoSetId, ids), gt(claims.lapsesAt, now), isNull(people.disabledAt))).all().map((claim) => [claim.photoSetId, claim]));
  const childIds = [...new Set(sets.map(({ childId }) => childId))];
  const stopped = readOpenStops(practiceId, readStoppedItems(practiceId, now, childIds).values(), childIds);
  const names = naming(practiceId);
  // A child may have many sets here, and all of them say the same of it.
  const [recordOf, setupOf] = [once(readRecord, ({ childId }: Waits) => childId), once((set: Waits) => readSetup(set, set.exerciseKey), ({ childId, exerciseKey }) => `${childId} ${exerciseKey}`)];
  const isUnread = once((set: Waits) => stopped.has(set.childId) && hasUnreadStop(practiceId, set, now), ({ childId }) => childId);
  return ({ setupId, isOld, wasAsked, ...set }) => {
    const taken = pictures.get(set.id) ?? [];
    const [record, setup] = [recordOf(set), setupOf(set)];
    const claim = claimed.get(set.id);
    const { ofChild, ofOther } = same(set.id);
    const flags: Readonly<Record<QueueFlag, boolean>> = {
      mirrored: taken.some((photo) => photo.mirroredFlag && photo.settledBy === null),
      "turned-back": taken.some((photo) => photo.isTurnedBack),
      "card-other-child": taken.some(({ cardReading }) => cardReading !== null) && taken.some((photo) => needsEye(set, photo.photoId, cardSaid(set, parseFinding(photo.cardReading)))),
      "no-record": record === null,
      "reassessment-due": record !== null && record.reassessBy !== null && endOfLocalDay(record.reassessBy, zone) <= now,
      "setup-changed": setup?.id !== setupId || setup.curveRecordId !== record?.id,
      "old-photo": isOld,
      "stop-not-read-back": isUnread(set),
      "same-picture": ofChild,
      "same-picture-other-child": ofOther,
    };
    return {
      ...set, asked: wasAsked ? askedAbout(set, set.id) : [], exerciseTitle: names(set.exerciseKey, versions.get(setupId) ?? null).title, pattern: record && patternOf(record.record),
      sideCheck: worstCheck(taken.map((photo) => photo.sideCheck)), photos: taken.length, nth: sentBy(set), flags: QUEUE_FLAGS.filter((flag) => flags[flag]),
      claim: claim ? { personId: claim.personId, name: claim.name, lapsesAt: claim.lapsesAt, isMine: claim.personId === grant.actor.personId } : null,
    };
  };
}

/** How many photo sets of its child and exercise were sent up to this one. */
const sentBy = ({ childId, familyId, exerciseKey, sentAt }: Waits): number => sentUpTo().get({ childId, familyId, exerciseKey, sentAt })?.sets ?? 0;

const sentUpTo = prepared((db) => db.select({ sets: count() }).from(photoSets)
  .where(and(own(photoSets, OF_CHILD), eq(photoSets.exerciseKey, sql.placeholder("exerciseKey")), lte(photoSets.sentAt, sql.placeholder("sentAt")), isNull(photoSets.voidedAt))).prepare());

/** Anything opposite comes before everything else; the unproven before the proven. */
function worstCheck(checks: readonly (SideCheck | null)[]): SideCheck | null {
  const known = checks.flatMap((check) => check ?? []);
  return known.find((check) => check === "opposite") ?? known.find(isOppositeCheck)
    ?? known.find((check) => check === "looks-right-not-proven") ?? known.find((check) => check === "matches") ?? known.at(0) ?? null;
}
