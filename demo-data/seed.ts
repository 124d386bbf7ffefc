import type { Database } from "@/db/client";
import { careLinks, children, families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { closures, extraOpenings, people, practices, workingHours } from "@/db/schema/practice";
import { play, type Cast } from "@/demo-data/play";
import { FAMILIES, PRACTICE, STAFF, type When } from "@/demo-data/scenario";
import { sessionActs, type SessionCast } from "@/demo-data/sessions";
import type { Actor } from "@/lib/access/actor";
import type { Role } from "@/lib/domain/policy/policy";
import { addDays, instantOf, localDate, mondayOf } from "@/lib/domain/time/local";
import { minutesOf } from "@/lib/domain/time/spans";
import { DESK } from "@/lib/domain/words/reader";
import type { MediaStore } from "@/lib/media/store";
import { closeDecoders } from "@/lib/photos/decoder-pool";

const DAY_MS = 86_400_000;
const HALF_HOUR_MS = 1_800_000;
const WEEK = Object.fromEntries(["1", "2", "3", "4", "5"].map((day) => [day, [["09:00", "13:00"], ["14:00", "17:30"]]]));

/**
 * Fills an empty demo folder by the app's own acts, each at its own time before `now`, so that the demo
 * can hold nothing the app would refuse. The same day gives the same demo, ids apart.
 */
export async function seedDemo(db: Database, _store: MediaStore, now: Date): Promise<void> {
  const at = now.getTime();
  const practiceId = crypto.randomUUID();
  const begun = at - 90 * DAY_MS;
  db.insert(practices).values({ id: practiceId, name: PRACTICE.name, phone: PRACTICE.phone, timeZone: PRACTICE.timeZone, createdAt: begun }).run();
  const order = counter();
  const staff = new Map(STAFF.map((person) => [person.key, addPerson(db, practiceId, { ...person, phone: null }, order(), begun)]));
  const lead = staff.get("lead");
  const therapist = staff.get("therapist");
  if (!lead || !therapist) throw new Error("the demo needs its lead and its therapist");
  db.insert(workingHours).values({
    id: crypto.randomUUID(), practiceId, effectiveFrom: begun, week: JSON.stringify(WEEK), timeZone: PRACTICE.timeZone,
    promiseMinutes: PRACTICE.promiseMinutes["photo-set"], questionMinutes: PRACTICE.promiseMinutes.question, symptomMinutes: PRACTICE.promiseMinutes.symptom,
    recordedBy: lead.personId, recordedAt: begun,
  }).run();
  // Weeks ahead, so that nothing of this demo is due by them.
  const monday = addDays(mondayOf(localDate(at, PRACTICE.timeZone)), 28);
  const entered = { practiceId, recordedBy: lead.personId, recordedAt: at - DAY_MS };
  db.insert(closures).values({ id: crypto.randomUUID(), day: monday, label: "Staff training", ...entered }).run();
  db.insert(extraOpenings).values({ id: crypto.randomUUID(), day: addDays(monday, -2), spans: JSON.stringify([["10:00", "12:30"], ["13:00", "15:00"]]), ...entered }).run();

  const due: { readonly at: number; readonly run: () => Promise<void> }[] = [];
  const known = new Map<string, { readonly childId: string; readonly guardian: Actor }>();
  for (const family of FAMILIES) {
    const familyId = crypto.randomUUID();
    db.insert(families).values({ id: familyId, practiceId, name: family.name, createdAt: begun }).run();
    const guardian = addPerson(db, practiceId, { ...family.guardian, role: "guardian" }, order(), begun);
    const other = family.otherGuardian ? addPerson(db, practiceId, { ...family.otherGuardian, role: "guardian" }, order(), begun) : null;
    for (const child of family.children) {
      const childId = crypto.randomUUID();
      db.insert(children).values({ id: childId, familyId, givenName: child.name, bornIn: ofThatAge(child.bornIn, at), createdAt: begun }).run();
      const self = child.self ? addPerson(db, practiceId, { ...child.self, role: "young-person", phone: null }, order(), begun) : null;
      for (const carer of [guardian, other, self]) {
        if (!carer) continue;
        const relation = carer === self ? "self" : "guardian";
        db.insert(careLinks).values({ id: crypto.randomUUID(), personId: carer.personId, childId, familyId, relation, createdAt: begun }).run();
      }
      const cast: Cast = { lead, therapist, guardian, childId, looks: child.looks, sets: new Map(), questions: new Map() };
      known.set(child.name, { childId, guardian });
      for (const event of child.events) due.push({ at: instantAt(event.at, at), run: () => play(cast, event, instantAt(event.at, at), at) });
    }
  }
  const sessions: SessionCast = { staff: { lead, therapist }, children: known };
  due.push(...sessionActs(sessions, { past: (when) => instantAt(when, at), any: (when) => plannedAt(when, at), zone: PRACTICE.timeZone }));
  const inOrder = due.toSorted((a, b) => a.at - b.at);
  for (const each of inOrder) await each.run();
  // Nobody invented is to be told of what is weeks old.
  db.update(notices).set({ sentAt: at }).run();
  await closeDecoders();
}

function addPerson(
  db: Database,
  practiceId: string,
  person: { readonly name: string; readonly email: string; readonly role: Role; readonly phone: string | null },
  demoOrder: number,
  createdAt: number,
): Actor {
  const personId = crypto.randomUUID();
  const { name, email, role, phone } = person;
  db.insert(people).values({ id: personId, practiceId, role, email, name, phone, demoOrder, createdAt }).run();
  return { personId, practiceId, role, name, timeZone: PRACTICE.timeZone, reader: DESK, provedAt: null, sessionId: "demo", requestId: "demo" };
}

/** A month of birth as old today as the scenario's was in 2026. */
const ofThatAge = (bornIn: string, now: number): string => `${Number(bornIn.slice(0, 4)) + new Date(now).getUTCFullYear() - 2026}${bornIn.slice(4)}`;

/**
 * What was to happen later today than now has happened in the last half hour, in the same order: before
 * breakfast the demo holds as much as at noon.
 */
function instantAt(when: When, now: number): number {
  return Math.min(plannedAt(when, now), now - HALF_HOUR_MS + (minutesOf(when[1]) / (24 * 60)) * (HALF_HOUR_MS / 2));
}

const plannedAt = ([daysAgo, time]: When, now: number): number => instantOf(addDays(localDate(now, PRACTICE.timeZone), -daysAgo), minutesOf(time), PRACTICE.timeZone);

function counter(): () => number {
  let last = 0;
  return () => (last += 1);
}
