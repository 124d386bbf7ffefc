import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { database } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { careLinks, children, families } from "@/db/schema/care";
import { people, practices, workingHours } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import type { Role } from "@/lib/domain/policy/policy";
import { DESK } from "@/lib/domain/words/reader";

const WEEKDAYS = [["09:00", "17:00"]];

/** An empty practice on a real, migrated database in a folder of its own; `close` removes it. */
export function makeWorld(): { readonly dir: string; close(): void } {
  const dir = mkdtempSync(join(tmpdir(), "trueside-records-"));
  process.env["DATA_DIR"] = dir;
  const db = database();
  migrateDatabase(db);
  db.insert(practices).values({ id: "practice", name: "Practice", timeZone: "Europe/London", createdAt: 0 }).run();
  const week = { 1: WEEKDAYS, 2: WEEKDAYS, 3: WEEKDAYS, 4: WEEKDAYS, 5: WEEKDAYS };
  db.insert(workingHours).values({
    id: "hours", practiceId: "practice", effectiveFrom: 0, week: JSON.stringify(week), timeZone: "Europe/London",
    promiseMinutes: 480, questionMinutes: 480, symptomMinutes: 480, recordedBy: "lead", recordedAt: 0,
  }).run();
  return {
    dir,
    close() {
      db.$client.close();
      rmSync(dir, { recursive: true });
    },
  };
}

/** A person of the practice, and who they are to an act. */
export function addPerson(id: string, role: Role): Actor {
  database().insert(people).values({ id, practiceId: "practice", role, email: `${id}@people.example`, name: id, createdAt: 0 }).run();
  return { personId: id, practiceId: "practice", role, name: id, timeZone: "Europe/London", reader: DESK, sessionId: `session-${id}`, provedAt: null, requestId: `request-${id}` };
}

/** A child of thirteen whenever the tests run: what a guardian may do ends with an age. */
const BORN_IN = `${new Date().getUTCFullYear() - 13}-05`;

/** A family with its children, and links from the guardians named. */
export function addFamilyOf(familyId: string, childIds: readonly string[], guardians: Readonly<Record<string, readonly string[]>>): void {
  const db = database();
  db.insert(families).values({ id: familyId, practiceId: "practice", name: familyId, createdAt: 0 }).run();
  for (const childId of childIds) {
    db.insert(children).values({ id: childId, familyId, givenName: childId, bornIn: BORN_IN, createdAt: 0 }).run();
  }
  for (const [personId, linked] of Object.entries(guardians)) {
    for (const childId of linked) {
      db.insert(careLinks).values({ id: `${personId}-${childId}`, personId, childId, familyId, relation: "guardian", createdAt: 0 }).run();
    }
  }
}
