import "server-only";
import { and, asc, count, eq, inArray, isNotNull, isNull, ne, or, sql, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { answers, verdicts } from "@/db/schema/answers";
import { consents, curveRecords, families, setups } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import type { PracticeGrant } from "@/lib/access/grant";
import type { Pattern } from "@/lib/domain/curve/record";
import { teachingTally, type PhotoVerdict, type TeachingPoint } from "@/lib/domain/stats/teaching-points";
import { inForce } from "@/lib/records/in-force";
import { patternsByKey } from "@/lib/records/timed-sets";

/** One exercise for one curve pattern, with how many photo sets of how many children were judged in it. */
export type Taught = {
  readonly exerciseKey: string;
  readonly patternKey: string;
  readonly pattern: Pattern;
  readonly children: number;
  readonly photoSets: number;
};

/** A photo set in which an item needed a change. */
export type FaultPhoto = {
  readonly childId: string;
  readonly photoSetId: string;
  readonly sentAt: number;
  readonly isFirst: boolean;
  /** Photo checks are on and use in teaching was allowed; all others never leave the desk. */
  readonly mayTeach: boolean;
};

export type PointToTeach = TeachingPoint & {
  /** How many photo sets needed a change, and the newest of them, at most `SHOWN_PHOTOS`. */
  readonly faults: number;
  readonly photos: readonly FaultPhoto[];
  /** What families were told most often, word for word; null unless it was said to two children. */
  readonly cue: string | null;
};

/** More links than this nobody reads. */
export const SHOWN_PHOTOS = 30;

/** What was judged from photos, the most judged first. */
export async function taughtIn(grant: PracticeGrant<"teaching.read">, now: number): Promise<readonly Taught[]> {
  const patterns = patternsByKey(grant.practiceId);
  const groups = new Map<string, { readonly exerciseKey: string; readonly patternKey: string; readonly children: Set<string>; photoSets: number }>();
  const all = setupsOf(grant);
  const lots = inLots(all, SETUPS_AT_ONCE);
  for (const lot of lots) {
    const counts = new Map(database().select({ setupId: photoSets.setupId, judged: count() }).from(photoSets)
      .innerJoin(answers, eq(answers.photoSetId, photoSets.id))
      .where(and(inArray(photoSets.setupId, lot.map(({ setupId }) => setupId)), judged(now))).groupBy(photoSets.setupId).all().map((row) => [row.setupId, row.judged]));
    for (const { setupId, exerciseKey, patternKey, childId } of lot) {
      const sets = counts.get(setupId) ?? 0;
      if (sets === 0) continue;
      const key = `${exerciseKey} ${patternKey}`;
      const group = groups.get(key) ?? { exerciseKey, patternKey, children: new Set<string>(), photoSets: 0 };
      groups.set(key, group);
      group.children.add(childId);
      group.photoSets += sets;
    }
    await turn();
  }
  return [...groups.values()].flatMap(({ children, patternKey, ...group }) => {
    const pattern = patterns.get(patternKey);
    return pattern ? [{ ...group, patternKey, pattern, children: children.size }] : [];
  }).toSorted((a, b) => b.photoSets - a.photoSets);
}

/** The points of one exercise and pattern, the surest need first. */
export async function pointsToTeach(grant: PracticeGrant<"teaching.read">, of: Pick<Taught, "exerciseKey" | "patternKey">, now: number): Promise<readonly PointToTeach[]> {
  const mayTeach = allowedForTeaching(grant);
  const tally = teachingTally();
  const faults = new Map<string, { photos: FaultPhoto[]; readonly said: Map<string, number>; count: number }>();
  const setupsByChild = new Map<string, string[]>();
  for (const { setupId, childId } of setupsOf(grant, of)) setupsByChild.set(childId, [...(setupsByChild.get(childId) ?? []), setupId]);
  for (const lot of inLots([...setupsByChild.keys()], CHILDREN_AT_ONCE)) {
    for (const verdictsOfChild of verdictsOf(lot, lot.flatMap((childId) => setupsByChild.get(childId) ?? []), of.exerciseKey, now)) {
      tally.addChild(verdictsOfChild);
      const heard = new Set<string>();
      for (const { itemKey, verdict, cue, childId, photoSetId, sentAt, nth, isVoid } of verdictsOfChild) {
        if (verdict !== "fix") continue;
        const item = faults.get(itemKey) ?? { photos: [], said: new Map<string, number>(), count: 0 };
        faults.set(itemKey, item);
        item.count += 1;
        item.photos.push({ childId, photoSetId, sentAt, isFirst: nth === 1, mayTeach: !isVoid && mayTeach.has(childId) });
        if (item.photos.length > 4 * SHOWN_PHOTOS) item.photos = newest(item.photos);
        if (cue === null || heard.has(`${itemKey} ${cue}`)) continue;
        heard.add(`${itemKey} ${cue}`);
        item.said.set(cue, (item.said.get(cue) ?? 0) + 1);
      }
    }
    await turn();
  }
  return tally.points().map((point) => {
    const item = faults.get(point.itemKey);
    return { ...point, faults: item?.count ?? 0, photos: newest(item?.photos ?? []), cue: saidMost(item?.said ?? new Map()) };
  });
}

/** Rows of one statement: few enough that nobody waits behind it. */
const SETUPS_AT_ONCE = 120;
const CHILDREN_AT_ONCE = 8;

/** Between two lots whoever waits for the database or the server gets a turn. */
const turn = (): Promise<void> => new Promise(setImmediate);

const inLots = <T>(all: readonly T[], size: number): readonly (readonly T[])[] =>
  Array.from({ length: Math.ceil(all.length / size) }, (_, nth) => all.slice(nth * size, (nth + 1) * size));

/** Every confirmed set-up of this practice, or those of one exercise and pattern. */
function setupsOf({ practiceId }: PracticeGrant<"teaching.read">, of?: Pick<Taught, "exerciseKey" | "patternKey">) {
  return database().select({ setupId: setups.id, childId: setups.childId, exerciseKey: setups.exerciseKey, patternKey: curveRecords.patternKey }).from(setups)
    .innerJoin(families, eq(families.id, setups.familyId)).innerJoin(curveRecords, eq(curveRecords.id, setups.curveRecordId))
    .where(and(eq(families.practiceId, practiceId), ...(of ? [eq(setups.exerciseKey, of.exerciseKey), eq(curveRecords.patternKey, of.patternKey)] : []))).all();
}

/** Answers in force; "take it again" judged nothing, and a photo of another child shows nothing. */
const judged = (now: number): SQL | undefined =>
  and(eq(answers.kind, "answer"), inForce(now), or(isNull(photoSets.voidReason), ne(photoSets.voidReason, "wrong-child")));

type ChildVerdict = PhotoVerdict & { readonly photoSetId: string; readonly sentAt: number; readonly isVoid: boolean; readonly cue: string | null };

/** What was judged of each of a few children under these set-ups, each child's photo sets in the order they were sent. */
function verdictsOf(childIds: readonly string[], setupIds: readonly string[], exerciseKey: string, now: number): readonly (readonly ChildVerdict[])[] {
  const sets = database().select({ answerId: answers.id, photoSetId: photoSets.id, sentAt: sql<number>`${photoSets.sentAt}`, voidedAt: photoSets.voidedAt }).from(photoSets)
    .innerJoin(answers, eq(answers.photoSetId, photoSets.id))
    .where(and(inArray(photoSets.setupId, [...setupIds]), judged(now))).orderBy(asc(photoSets.sentAt), asc(photoSets.id)).all();
  const rows = database().select({ childId: verdicts.childId, answerId: verdicts.answerId, itemKey: verdicts.itemKey, verdict: verdicts.verdict, cue: verdicts.cue }).from(verdicts)
    .where(and(inArray(verdicts.childId, [...childIds]), eq(verdicts.exerciseKey, exerciseKey), isNotNull(verdicts.answerId))).all();
  const byAnswer = new Map<string, (typeof rows)[number][]>();
  for (const row of rows) {
    if (row.answerId === null) continue;
    const said = byAnswer.get(row.answerId);
    if (said) said.push(row);
    else byAnswer.set(row.answerId, [row]);
  }
  const ofChild = new Map<string, { sets: number; readonly said: ChildVerdict[] }>();
  for (const { answerId, photoSetId, sentAt, voidedAt } of sets) {
    const said = byAnswer.get(answerId);
    const childId = said?.[0]?.childId;
    if (!said || childId === undefined) continue;
    const child = ofChild.get(childId) ?? { sets: 0, said: [] };
    ofChild.set(childId, child);
    child.sets += 1;
    for (const { verdict, itemKey, cue } of said) {
      if (verdict === "in-place" || verdict === "fix") child.said.push({ childId, itemKey, verdict, cue, photoSetId, sentAt, nth: child.sets, isVoid: voidedAt !== null });
    }
  }
  return [...ofChild.values()].map(({ said }) => said);
}

const newest = (photos: readonly FaultPhoto[]): FaultPhoto[] => photos.toSorted((a, b) => b.sentAt - a.sentAt || b.photoSetId.localeCompare(a.photoSetId)).slice(0, SHOWN_PHOTOS);

/** By how many children heard it. Words said to one child alone may hold what is that child's; said to two, they are the library's. */
function saidMost(said: ReadonlyMap<string, number>): string | null {
  const [most] = [...said].toSorted(([, a], [, b]) => b - a);
  return most && most[1] > 1 ? most[0] : null;
}

/** Children whose newest decisions allow both purposes. */
function allowedForTeaching({ practiceId }: PracticeGrant<"teaching.read">): ReadonlySet<string> {
  const given = { photos: new Set<string>(), teaching: new Set<string>() };
  const rows = database().select({ childId: consents.childId, purpose: consents.purpose, decision: consents.decision }).from(consents)
    .innerJoin(families, eq(families.id, consents.familyId)).where(eq(families.practiceId, practiceId)).orderBy(asc(consents.sequence)).all();
  for (const { childId, purpose, decision } of rows) given[purpose][decision === "given" ? "add" : "delete"](childId);
  return new Set([...given.teaching].filter((childId) => given.photos.has(childId)));
}
