import "server-only";
import { and, asc, desc, eq, inArray } from "drizzle-orm";
import { database } from "@/db/client";
import { careAgreements, careLinks, children, consents, curveRecords, phaseOpenings, practiceDays, setups } from "@/db/schema/care";
import { people, practices } from "@/db/schema/practice";
import { sideCards } from "@/db/schema/teaching";
import { isStaff } from "@/lib/access/actor";
import type { ChildGrant } from "@/lib/access/grant";
import type { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { iso, isoOrNull } from "@/lib/domain/archive/instant";
import { StoredCurveRecord } from "@/lib/domain/curve/record.schema";
import { StoredResolution } from "@/lib/domain/setup/exercise.schema";
import { curveLines } from "@/lib/messages/curve-lines";
import { doing, limbs, sideAndProp } from "@/lib/messages/setup-words";
import { archivedSets, type ArchiveSources } from "@/lib/records/archived-sets";
import { archivedEvents, archivedSessions } from "@/lib/records/archived-words";
import { own } from "@/lib/records/child-facts";
import { exerciseWords } from "@/lib/records/exercise-names";

/**
 * Everything kept of one child as its archive holds it, and where its files lie. Every statement is filtered by the
 * grant's child and family. People stand here by name alone: no address, no number, nobody who did nothing.
 */
export function childArchive(grant: ChildGrant<"export.ask">, now: number): { readonly record: ChildRecord; readonly sources: ArchiveSources } {
  const db = database();
  const child = db.select().from(children).where(and(eq(children.id, grant.childId), eq(children.familyId, grant.familyId))).get();
  const practice = db.select({ name: practices.name, timeZone: practices.timeZone }).from(practices).where(eq(practices.id, grant.practiceId)).get();
  if (!child || !practice) throw new Error("a granted child is missing");
  const sources: ArchiveSources = new Map();
  const parts = {
    carers: db.select().from(careLinks).where(own(careLinks, grant)).orderBy(asc(careLinks.createdAt)).all()
      .map(({ personId, relation, createdAt, endedAt }) => ({ person: personId, relation, from: iso(createdAt), until: isoOrNull(endedAt) })),
    agreements: db.select().from(careAgreements).where(own(careAgreements, grant)).orderBy(asc(careAgreements.sequence)).all()
      .map(({ guardianId, decision, decidedBy, decidedAt }) => ({ guardian: guardianId, decision, by: decidedBy, at: iso(decidedAt) })),
    consents: db.select().from(consents).where(own(consents, grant)).orderBy(desc(consents.sequence)).all()
      .map(({ id, purpose, decision, standing, textVersion, textHash, personId, decidedAt }) => ({ id, purpose, decision, standing, textVersion, textHash, by: personId, at: iso(decidedAt) })),
    curveRecords: curveRecordsOf(grant),
    setups: setupsOf(grant),
    phases: db.select().from(phaseOpenings).where(own(phaseOpenings, grant)).orderBy(asc(phaseOpenings.openedAt)).all()
      .map(({ exerciseKey, phase, openedBy, openedAt, closedAt }) => ({ exercise: exerciseKey, phase, openedBy, openedAt: iso(openedAt), closedAt: isoOrNull(closedAt) })),
    practiceDays: db.select().from(practiceDays).where(own(practiceDays, grant)).orderBy(desc(practiceDays.day)).all()
      .map(({ exerciseKey, day, personId }) => ({ exercise: exerciseKey, day, by: personId })),
    photoSets: [...archivedSets(grant, sources, now)],
    ...archivedEvents(grant),
    groupSessions: archivedSessions(grant),
    sideCards: db.select().from(sideCards).where(own(sideCards, grant)).orderBy(asc(sideCards.madeAt)).all()
      .map(({ number, madeAt, retiredAt }) => ({ number, madeAt: iso(madeAt), retiredAt: isoOrNull(retiredAt) })),
  };
  const record: ChildRecord = {
    format: "trueside.child-record", form: 3, madeAt: iso(now), madeFor: isStaff(grant.actor.role) ? "practice" : "family", language: grant.actor.reader.locale, practice,
    child: { id: child.id, givenName: child.givenName, bornIn: child.bornIn, writesWith: child.writesWith },
    people: namesOf(grant, JSON.stringify(parts)), ...parts, unreadable: [],
  };
  return { record, sources };
}

function curveRecordsOf(grant: ChildGrant<"export.ask">): ChildRecord["curveRecords"] {
  return database().select().from(curveRecords).where(own(curveRecords, grant)).orderBy(desc(curveRecords.sequence)).all().map((row) => {
    const record = StoredCurveRecord.parse(JSON.parse(row.record));
    const { assessedOn, source, filmViewedFrom, regions } = record;
    return { id: row.id, by: row.recordedBy, at: iso(row.recordedAt), assessedOn, source, filmViewedFrom, reassessBy: row.reassessBy, note: row.note, regions, lines: [...curveLines(record, grant.actor.reader)] };
  });
}

function setupsOf(grant: ChildGrant<"export.ask">): ChildRecord["setups"] {
  const { reader } = grant.actor;
  const seen = new Set<string>();
  return database().select().from(setups).where(own(setups, grant)).orderBy(desc(setups.sequence)).all().map((row) => {
    const resolution = StoredResolution.parse(JSON.parse(row.resolution));
    const isCurrent = !seen.has(row.exerciseKey);
    seen.add(row.exerciseKey);
    const setup = { resolution, apexSpot: row.apexSpot };
    return {
      id: row.id, by: row.confirmedBy, at: iso(row.confirmedAt), exercise: row.exerciseKey, title: exerciseWords(grant.practiceId, row.exerciseKey, row.exerciseVersion, reader.locale).title,
      exerciseVersion: row.exerciseVersion, kind: row.kind, curveRecordId: row.curveRecordId, isCurrent, lieOn: resolution.setup.lieOn, sides: resolution.setup, apexSpot: row.apexSpot, reason: row.reason,
      lines: [...sideAndProp(setup, reader), ...limbs(setup, reader), ...doing(setup, reader).map(({ text }) => text)],
    };
  });
}

/** Everybody of this practice whose id stands in what is said of the child. */
function namesOf(grant: ChildGrant<"export.ask">, said: string): ChildRecord["people"] {
  const ids = new Set([...said.matchAll(/"(?:by|person|guardian|openedBy)":"([^"]+)"/g)].map(([, id = ""]) => id));
  return database().select({ id: people.id, name: people.name, role: people.role }).from(people).where(and(eq(people.practiceId, grant.practiceId), inArray(people.id, [...ids]))).orderBy(asc(people.name)).all()
    .map(({ id, name, role }) => ({ id, name, role: isStaff(role) ? "staff" as const : role === "young-person" ? "self" as const : "guardian" as const }));
}
