import { randomUUID } from "node:crypto";
import { expect, test } from "@playwright/test";
import type Database from "better-sqlite3";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { fillEmptyTables } from "@/e2e/walk/canary-rows";
import { formsIn } from "@/e2e/walk/forms";
import { found, type FoundAction } from "@/e2e/walk/found";
import { pathTo } from "@/e2e/walk/paths";
import { castIn, KINDS, type Cast, type Kind } from "@/e2e/walk/people";
import { actionCall, type Answer, type Sent } from "@/e2e/walk/request";
import { ACTIONS, HANDLERS, mayPass, PAGES, type Audience } from "@/e2e/walk/table";
import { Practice } from "@/tests/proofs/practice";

// every act with every field that is not the sender's to say, and with ids of another family's.
test.describe.configure({ mode: "serial", timeout: 600_000 });

type Base = { readonly door: FoundAction; readonly kind: Kind; readonly path: string; readonly fields: Readonly<Record<string, string>>; readonly isOfAForm: boolean };
const MARK = 1_234_567_890_123;
const doors = found();
const cookies = new Map<Kind, string>();
let practice: Practice;
let db: Database.Database;
let cast: Cast;
let bases: readonly Base[];
let forbidden: Readonly<Record<string, string>>;
const count = { forms: 0, withoutForm: 0, forbiddenFields: 0, swappedIds: 0, done: 0 };

test.beforeAll(async () => {
  test.setTimeout(180_000);
  practice = await Practice.open(fillWithDemo);
  db = practice.openDatabase();
  cast = castIn(db);
  const other = db.prepare("select a.child_id as id from answers a join photos p on p.photo_set_id = a.photo_set_id where a.child_id <> ? limit 1").get(cast.childId) as { id: string }; // an id
  fillEmptyTables(db, [cast.childId, other.id], cast.exerciseKey);
  const { id: questionId } = db.prepare("select id from questions where child_id = ? limit 1").get(cast.childId) as { id: string }; // an id
  cast = { ...cast, questionId, exportId: randomUUID(), voiceNoteId: randomUUID(), uploadId: randomUUID() };
  for (const [kind, name] of Object.entries(cast.buttons) as [Kind, string][]) cookies.set(kind, await practice.signIn(name));
  // Nothing of it is refused for an old proof: that would hide what comes after.
  db.prepare("update sessions set proved_at = case when proved_at is null then null else ? end, mail_proved_at = ?").run(Date.now() + 3_600_000, Date.now() + 3_600_000);
  const elsewhere = db.prepare("select id, practice_id as practiceId from people where name = ?").get(cast.buttons["therapist elsewhere"]) as { id: string; practiceId: string }; // ids
  forbidden = {
    practiceId: elsewhere.practiceId, personId: elsewhere.id, userId: elsewhere.id, answeredBy: elsewhere.id, sentBy: elsewhere.id, decidedBy: elsewhere.id, therapistId: elsewhere.id,
    id: randomUUID(), role: "lead", status: "answered", isAdmin: "1", disabledAt: "0", createdAt: String(MARK), sentAt: String(MARK), answeredAt: String(MARK), publishedAt: String(MARK), provedAt: String(MARK),
    version: "77", verdict: "in-place", isStop: "0", __proto__x: "1", constructor: "1",
  };
  bases = await basesOf();
});

test.afterAll(async () => {
  db.close();
  await practice.close();
});

const asked = (kind: Kind, path: string, sent: Sent = {}): Promise<Answer> => practice.ask(path, cookies.get(kind) ?? "", sent);
const entries = (table: Readonly<Record<string, Audience>>): readonly [string, Audience][] => Object.entries(table);

/** For every act somebody who may do it, and its form as a page of theirs shows it; where none does, whom it is about alone. */
async function basesOf(): Promise<readonly Base[]> {
  const forms = new Map<string, Omit<Base, "door">>();
  for (const [route, audience] of entries(PAGES)) {
    for (const kind of KINDS.filter((each) => mayPass(audience, each) && ["guardian", "therapist", "lead"].includes(each))) {
      const path = pathTo(cast, route);
      for (const { actionId, fields } of formsIn((await asked(kind, path)).body)) if (!forms.has(actionId)) forms.set(actionId, { kind, path, fields, isOfAForm: true });
    }
  }
  return doors.actions.flatMap((door) => {
    const audience = ACTIONS[door.key] ?? "nobody";
    const kind = (["guardian", "lead", "therapist"] as const).find((each) => mayPass(audience, each));
    const form = forms.get(door.id);
    if (form && mayPass(audience, form.kind)) return [{ door, ...form }];
    return kind ? [{ door, kind, path: pathTo(cast, door.pages[0] ?? ""), fields: { childId: cast.childId, familyId: cast.familyId }, isOfAForm: false }] : [];
  });
}

type Snapshot = ReadonlyMap<string, string>;
/** What comes and goes by itself: when a session was last used, mails and pushes on their way, looks and alarms of the machine. */
const BY_ITSELF = ["notices", "push_phones", "erased_files", "retention_runs", "child_exports", "export_parts", "alarms"];
function snapshot(): Snapshot {
  const tables = db.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%'").pluck().all() as string[]; // names
  return new Map(tables.filter((table) => !BY_ITSELF.includes(table)).flatMap((table) => (db.prepare(`select rowid as _row, * from "${table}"${table === "audit_entries" ? " where act <> 'alarm.raised'" : ""}`).all() as Record<string, unknown>[]) // rows
    .map((row) => [`${table} ${String(row["_row"])}`, JSON.stringify({ ...row, ...(table === "sessions" ? { last_seen_at: 0 } : {}) })] as const)));
}
const version = (): unknown => db.pragma("data_version", { simple: true });
type Changed = { readonly key: string; readonly row: string; readonly isGone: boolean };
const changed = (before: Snapshot, after: Snapshot): readonly Changed[] => [
  ...[...after].filter(([key, row]) => before.get(key) !== row).map(([key, row]) => ({ key, row, isGone: false })),
  ...[...before].filter(([key]) => !after.has(key)).map(([key, row]) => ({ key, row, isGone: true })),
];

/** One request; the rows it changed. Whole tables are compared only when SQLite says that somebody wrote. */
async function rowsChangedBy(base: Base, fields: Readonly<Record<string, string>>): Promise<{ readonly rows: readonly Changed[]; readonly answer: Answer }> {
  const at = version();
  const answer = await asked(base.kind, base.path, actionCall(base.door.id, { ...fields, once: randomUUID() }));
  if (version() === at) return { rows: [], answer };
  const after = snapshot();
  const rows = changed(last, after);
  last = after;
  return { rows, answer };
}
let last: Snapshot = new Map();

test("what the server alone says is refused or ignored in every act", async () => {
  const wrong: string[] = [];
  last = snapshot();
  for (const base of bases) {
    count[base.isOfAForm ? "forms" : "withoutForm"] += 1;
    // All of them at once: that no form lets a single one in is held by tests/contract/form-fields.test.ts.
    const more = Object.fromEntries(Object.entries(forbidden).filter(([name]) => !(name in base.fields)).map(([name, value]) => [name === "__proto__x" ? "__proto__" : name, value]));
    count.forbiddenFields += Object.keys(more).length;
    const { rows, answer } = await rowsChangedBy(base, { ...base.fields, ...more });
    const isTaken = rows.some(({ row, isGone }) => !isGone && Object.values(JSON.parse(row) as object).some((each) => each === MARK || each === forbidden["practiceId"] || each === forbidden["personId"] || each === forbidden["id"]));
    if (isTaken) wrong.push(`${base.door.key} takes one`);
    else if (rows.length > 0 && !OPEN_FORMS.test(base.door.key)) wrong.push(`${base.door.key} is done: ${answer.status}, ${rows.map(({ key }) => key).join(", ")}`);
    if (answer.status >= 500) wrong.push(`${base.door.key} breaks: ${answer.status}`);
  }
  expect(wrong).toEqual([]);
});

/** Forms whose fields are named by items, photos or days: another field is ignored, and the act done. */
const OPEN_FORMS = /#(?:sendAnswerAction|seenLiveAction|recordCurveAction|confirmIndividualAction|writeExerciseAction|setHoursAction)$/;

test("an id of another family's in any field changes nothing", async () => {
  const wrong: string[] = [];
  const tables = db.prepare("select m.name from sqlite_master m where m.type = 'table' and exists (select 1 from pragma_table_info(m.name) where name = 'id') and exists (select 1 from pragma_table_info(m.name) where name = 'child_id')").pluck().all() as string[]; // names
  const familyOf = (table: string, id: string): unknown => db.prepare(`select ${table === "families" ? "id" : "family_id"} from "${table}" where id = ?`).pluck().get(id);
  last = snapshot();
  for (const base of bases) {
    for (const [name, value] of Object.entries(base.fields)) {
      const table = /^[0-9a-f-]{36}$/.test(value) && name !== "once" ? [...tables, "children", "families"].find((each) => familyOf(each, value) !== undefined) : undefined;
      if (table === undefined) continue;
      const id = db.prepare(`select id from "${table}" where ${table === "families" ? "id" : "family_id"} not in (?, ?) limit 1`).pluck().get(familyOf(table, value), familyOf("children", base.fields["childId"] ?? "") ?? "") as string | undefined; // an id
      // Staff reach every family: for them another child is another request, and so is another's place where no child is named beside it.
      if (id === undefined || (base.kind !== "guardian" && (table === "children" || table === "families" || !("childId" in base.fields)))) continue;
      count.swappedIds += 1;
      const { rows, answer } = await rowsChangedBy(base, { ...base.fields, [name]: id });
      // The audit may say that it was refused; nothing else may name it, and nothing of the other family may change.
      const theirs = familyOf(table, id);
      const touched = rows.filter(({ key, row }) => !key.startsWith("audit_entries ") && (row.includes(id) || row.includes(String(theirs))));
      if (touched.length > 0) wrong.push(`${base.door.key}: ${name} of another's ${table}, ${answer.status}: ${touched.map(({ key, isGone }) => `${key}${isGone ? " gone" : ""}`).join(", ")}`);
      if (answer.status >= 500) wrong.push(`${base.door.key} breaks with another's ${name}`);
    }
  }
  expect(count.swappedIds).toBeGreaterThan(20);
  expect(wrong).toEqual([]);
});

test("machine routes refuse a field that is not theirs", async () => {
  const none = { noticed: [], isNone: true };
  const bodies: Readonly<Record<string, readonly [Kind, string, object] | null>> = {
    "POST /api/symptoms/[childId]": ["guardian", "POST", { noticed: ["dizzy"], note: "", photoSetId: null, waitedMs: 0 }],
    "POST /api/read-backs/[childId]": ["guardian", "POST", { stopId: randomUUID(), exerciseKey: "side-lying", question: "side", choice: "left" }],
    "POST /api/photo-sets/[childId]": ["guardian", "POST", { setId: randomUUID(), exerciseKey: "side-lying", setupId: randomUUID(), taken: "just-now", waitedMs: 0, symptoms: { urgent: none, today: none }, note: "", photos: [] }],
    "PUT /api/drafts/[childId]/[photoSetId]": ["therapist", "PUT", { fields: { summary: "x" }, version: 0 }],
    // A browser's own words about its subscription, of which three are read; nothing else of them is kept.
    "POST /api/push": null,
  };
  const bytesAlone = ["POST /api/photos/[childId]", "POST /api/voice/[childId]/[photoSetId]", "POST /api/photos/[childId]/[photoId]/turn", "POST /api/clips/[childId]", "POST /api/moments/[childId]/[photoId]", "POST /api/claims/[childId]/[photoSetId]", "POST /api/session", "POST /sign-out", "POST /mail-off/press", "POST /family/send/shared"];
  const writing = Object.keys(HANDLERS).filter((route) => /^(?:POST|PUT) /.test(route));
  expect(writing.filter((route) => !(route in bodies) && !bytesAlone.includes(route))).toEqual([]);
  const wrong: string[] = [];
  for (const [route, given] of Object.entries(bodies)) {
    if (given === null) continue;
    const [kind, method, body] = given;
    const [before, path] = [snapshot(), pathTo(cast, route.split(" ")[1] ?? "")];
    for (const [name, value] of Object.entries(forbidden)) {
      // JSON's own reading makes it a plain field, which is dropped.
      if (name in body || name === "__proto__x") continue;
      count.forbiddenFields += 1;
      const answer = await asked(kind, path, { method, headers: { "Idempotency-Key": randomUUID(), "Content-Type": "application/json" }, body: JSON.stringify(body).replace(/\}$/, `,${JSON.stringify(name)}:${JSON.stringify(value)}}`) });
      if (answer.status !== 400) wrong.push(`${route} with ${name}: ${answer.status}`);
    }
    const rows = changed(before, snapshot());
    if (rows.length > 0) wrong.push(`${route} writes ${rows.map(({ key }) => key).join(", ")}`);
    // Without it the same body is read.
    const plainly = await asked(kind, path, { method, headers: { "Idempotency-Key": randomUUID(), "Content-Type": "application/json" }, body: JSON.stringify(body) });
    if (plainly.status === 400) wrong.push(`${route}: the body is no good by itself`);
  }
  expect(wrong).toEqual([]);
});

test("the attack was no blank: the same forms without it are done", async () => {
  last = snapshot();
  const done: string[] = [];
  for (const base of bases.filter(({ isOfAForm }) => isOfAForm)) {
    const { rows } = await rowsChangedBy(base, base.fields);
    if (rows.length > 0) done.push(base.door.key);
  }
  count.done = done.length;
  process.stderr.write(`${JSON.stringify({ event: "forbidden-fields", ...count })}\n`);
  // The rest want words that fit a child; that every form is read strictly is held by tests/contract/form-fields.test.ts.
  expect(count.forms).toBeGreaterThan(50);
  expect(count.done).toBeGreaterThan(15);
});
