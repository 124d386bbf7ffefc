import { randomUUID } from "node:crypto";
import type Database from "better-sqlite3";
import type { FoundAction } from "@/e2e/walk/found";
import { actionCall, ask } from "@/e2e/walk/request";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";

export const KINDS = ["stranger", "guardian", "guardian of the sibling only", "other guardian", "young person", "removed guardian", "therapist", "lead", "disabled therapist", "therapist elsewhere"] as const;
export type Kind = (typeof KINDS)[number];

/** A child with a sent photo, its guardian, and everybody else who must or must not reach it. */
export type Cast = {
  readonly childId: string;
  readonly familyId: string;
  readonly photoId: string;
  readonly photoSetId: string;
  /** An exercise that this practice's therapist wrote. */
  readonly exerciseKey: string;
  /** Of an answer to the child; empty until one is recorded. */
  readonly voiceNoteId: string;
  /** Of a clip that the photo is a frame of; empty until one is sent. */
  readonly uploadId: string;
  /** A group session of this practice. */
  readonly sessionId: string;
  /** About that answer. */
  readonly questionId: string;
  /** The archive of that child, asked for by the guardian and gone. */
  readonly exportId: string;
  /** The name that no wrong person may ever read. */
  readonly secret: string;
  readonly buttons: Readonly<Record<Exclude<Kind, "stranger">, string>>;
  readonly disabledId: string;
};

type Row = { readonly [column: string]: string };

/** Finds the demo's people and adds those it lacks; they get their demo sign-in button like the others. */
export function castIn(db: Database.Database): Cast {
  const one = (sql: string, ...values: readonly unknown[]): Row => {
    const row: unknown = db.prepare(sql).get(...values);
    if (!row) throw new Error(`the demo has no row for: ${sql}`);
    return row as Row; // every selected column is text
  };
  const child = one("select c.id as childId, c.family_id as familyId, f.practice_id as practiceId, p.id as photoId, s.id as photoSetId from children c join families f on f.id = c.family_id join photo_sets s on s.child_id = c.id join photos p on p.photo_set_id = s.id where c.given_name = 'Felix' and s.sent_at is not null and s.voided_at is null limit 1");
  const sibling = one("select id from children where family_id = ? and id <> ?", child["familyId"], child["childId"]);
  const elsewhere = addPractice(db);
  const addPerson = (practiceId: string | undefined, role: string, name: string): string => {
    const id = randomUUID();
    db.prepare("insert into people (id, practice_id, role, email, name, demo_order, version, created_at) values (?, ?, ?, ?, ?, ?, 1, ?)")
      .run(id, practiceId, role, `${id}@walk.example`, name, 900, Date.now());
    return id;
  };
  const limited = addPerson(child["practiceId"], "guardian", "Walker Siblingonly");
  db.prepare("insert into care_links (id, person_id, child_id, family_id, relation, created_at) values (?, ?, ?, ?, 'guardian', ?)")
    .run(randomUUID(), limited, sibling["id"], child["familyId"], Date.now());
  // Of an age for an own sign-in, and not for deciding.
  db.prepare("update children set born_in = ? where id = ?").run(`${new Date().getUTCFullYear() - 17}-01`, child["childId"]);
  const link = (personId: string, relation: string, endedAt: number | null): void => {
    db.prepare("insert into care_links (id, person_id, child_id, family_id, relation, created_at, ended_at) values (?, ?, ?, ?, ?, ?, ?)")
      .run(randomUUID(), personId, child["childId"], child["familyId"], relation, Date.now(), endedAt);
  };
  link(addPerson(child["practiceId"], "young-person", "Walker Young"), "self", null);
  link(addPerson(child["practiceId"], "guardian", "Walker Removed"), "guardian", Date.now());
  const disabledId = addPerson(child["practiceId"], "therapist", "Walker Disabled");
  addPerson(elsewhere, "therapist", "Walker Elsewhere");
  const exerciseKey = addExercise(db, child["practiceId"] ?? "");
  return {
    exerciseKey, childId: child["childId"] ?? "", familyId: child["familyId"] ?? "", photoId: child["photoId"] ?? "", photoSetId: child["photoSetId"] ?? "", voiceNoteId: "", uploadId: "", questionId: "", exportId: "", sessionId: one("select id from group_sessions limit 1")["id"] ?? "",
    secret: "Felix", disabledId,
    buttons: {
      guardian: "Anouk Vossler", "guardian of the sibling only": "Walker Siblingonly", "other guardian": "Adaeze Okonjo-Lund",
      "young person": "Walker Young", "removed guardian": "Walker Removed",
      therapist: "Tom Ferrant", lead: "Ines Calloway", "disabled therapist": "Walker Disabled", "therapist elsewhere": "Walker Elsewhere",
    },
  };
}

function addExercise(db: Database.Database, practiceId: string): string {
  const key = randomUUID();
  const words = { form: 1, title: "Walked exercise", items: Object.fromEntries(SIDE_LYING.items.map((item) => [item.key, item.key])), cautions: [] };
  db.prepare("insert into exercise_versions (id, practice_id, exercise_key, version, body, words, written_by, written_at) select ?, ?, ?, 1, ?, ?, id, ? from people where practice_id = ? limit 1")
    .run(randomUUID(), practiceId, key, JSON.stringify({ ...SIDE_LYING, key, titleKey: key }), JSON.stringify(words), Date.now(), practiceId);
  return key;
}

function addPractice(db: Database.Database): string {
  const id = randomUUID();
  db.prepare("insert into practices (id, name, time_zone, photo_weeks, version, created_at) values (?, 'Elsewhere', 'Europe/London', 8, 1, ?)").run(id, Date.now());
  db.prepare("insert into working_hours (id, practice_id, effective_from, time_zone, week, promise_minutes, question_minutes, symptom_minutes, recorded_by, recorded_at) select ?, ?, effective_from, time_zone, week, promise_minutes, question_minutes, symptom_minutes, recorded_by, recorded_at from working_hours limit 1").run(randomUUID(), id);
  return id;
}

/** Signs a person in by the request that the demo's own button makes, and gives the cookies as one header: without proxy.ts no browser would show the page. */
export async function signInOver(origin: string, demoAction: FoundAction | undefined, personId: string): Promise<string> {
  if (!demoAction) throw new Error("there is no demo button");
  const { headers, ...call } = actionCall(demoAction.id, { person: personId });
  const answer = await ask(origin, "/sign-in", { ...call, headers: { Origin: origin, ...headers } });
  const cookies = answer.headers["set-cookie"]?.map((each) => each.split(";", 1)[0] ?? "").filter((each) => /=./.test(each)) ?? [];
  if (!cookies.some((each) => /session-token=/.test(each))) throw new Error(`nobody is signed in: ${answer.status}`);
  return cookies.join("; ");
}
