import type { Database } from "@/db/client";
import { careLinks, children, families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { people, practices, workingHours } from "@/db/schema/practice";
import { play, type Cast } from "@/demo-data/play";
import { FAMILIES, PRACTICE, STAFF, type DemoEvent, type When } from "@/demo-data/scenario";
import type { Actor } from "@/lib/access/actor";
import type { Role } from "@/lib/domain/policy/policy";
import { addDays, instantOf, localDate } from "@/lib/domain/time/local";
import { minutesOf } from "@/lib/domain/time/spans";
import type { MediaStore } from "@/lib/media/store";
import { closeDecoders } from "@/lib/photos/decoder-pool";

const DAY_MS = 86_400_000;
const WEEK = Object.fromEntries(["1", "2", "3", "4", "5"].map((day) => [day, [["09:00", "13:00"], ["14:00", "17:30"]]]));

/**
 * Fills an empty demo folder by the app's own acts, each at its own time before `now`, so that the demo
 * can hold nothing the app would refuse. The same day gives the same demo, ids apart.
 */
export async function seedDemo(db: Database, _store: MediaStore, now: Date): Promise<void> {
  const at = now.getTime();
  const practiceId = crypto.randomUUID();
  const begun = at - 90 * DAY_MS;
  db.insert(practices).values({ id: practiceId, name: PRACTICE.name, timeZone: PRACTICE.timeZone, createdAt: begun }).run();
  const order = counter();
  const staff = new Map(STAFF.map((person) => [person.key, addPerson(db, practiceId, { ...person, phone: null }, order(), begun)]));
  const lead = staff.get("lead");
  const therapist = staff.get("therapist");
  if (!lead || !therapist) throw new Error("the demo needs its lead and its therapist");
  db.insert(workingHours).values({
    id: crypto.randomUUID(), practiceId, effectiveFrom: begun, week: JSON.stringify(WEEK), promiseMinutes: PRACTICE.promiseMinutes,
    recordedBy: lead.personId, recordedAt: begun,
  }).run();

  const due: { readonly at: number; readonly cast: Cast; readonly event: DemoEvent }[] = [];
  for (const family of FAMILIES) {
    const familyId = crypto.randomUUID();
    db.insert(families).values({ id: familyId, practiceId, name: family.name, createdAt: begun }).run();
    const guardian = addPerson(db, practiceId, { ...family.guardian, role: "guardian" }, order(), begun);
    for (const child of family.children) {
      const childId = crypto.randomUUID();
      db.insert(children).values({ id: childId, familyId, givenName: child.name, bornIn: child.bornIn, createdAt: begun }).run();
      db.insert(careLinks).values({ id: crypto.randomUUID(), personId: guardian.personId, childId, familyId, relation: "guardian", createdAt: begun }).run();
      const cast: Cast = { lead, therapist, guardian, childId, looks: child.looks, sets: new Map() };
      for (const event of child.events) due.push({ at: instantAt(event.at, at), cast, event });
    }
  }
  // In the order things happened, as far as they already have.
  const past = due.filter((each) => each.at < at).toSorted((a, b) => a.at - b.at);
  for (const each of past) await play(each.cast, each.event, each.at, at);
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
  return { personId, practiceId, role, name, timeZone: PRACTICE.timeZone, sessionId: "demo", requestId: "demo" };
}

function instantAt([daysAgo, time]: When, now: number): number {
  return instantOf(addDays(localDate(now, PRACTICE.timeZone), -daysAgo), minutesOf(time), PRACTICE.timeZone);
}

function counter(): () => number {
  let last = 0;
  return () => (last += 1);
}
