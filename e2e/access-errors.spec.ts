import { randomUUID } from "node:crypto";
import { existsSync, readdirSync, readFileSync, renameSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import type Database from "better-sqlite3";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { canariesIn, plant, type Planted } from "@/e2e/walk/canaries";
import { fillEmptyTables } from "@/e2e/walk/canary-rows";
import { found } from "@/e2e/walk/found";
import { pathTo } from "@/e2e/walk/paths";
import { castIn, type Cast, type Kind } from "@/e2e/walk/people";
import { actionCall, type Answer, type Sent } from "@/e2e/walk/request";
import { ACTIONS, HANDLERS, mayPass, PAGES, SIGN_OUT, type Audience } from "@/e2e/walk/table";
import { Practice } from "@/tests/proofs/practice";

// an error is forced in each route by taking away a table that it reads; neither answer nor log says anything of it.
test.describe.configure({ mode: "serial", timeout: 1_200_000 });

const doors = found();
const cookies = new Map<Kind, string>();
/** What stands behind the question mark of every request: it is in no log. */
const QUERY = `secret${randomUUID().replaceAll("-", "")}`;
let practice: Practice;
let db: Database.Database;
let cast: Cast;
let planted: Planted;
const wrong = new Set<string>();
const failed = new Set<string>();

test.beforeAll(async () => {
  test.setTimeout(180_000);
  practice = await Practice.open(fillWithDemo);
  db = practice.openDatabase();
  cast = castIn(db);
  const other = db.prepare("select a.child_id as id from answers a join photos p on p.photo_set_id = a.photo_set_id where a.child_id <> ? limit 1").get(cast.childId) as { id: string }; // an id
  fillEmptyTables(db, [cast.childId, other.id], cast.exerciseKey);
  const { id: questionId } = db.prepare("select id from questions where child_id = ? limit 1").get(cast.childId) as { id: string }; // an id
  cast = { ...cast, questionId, exportId: randomUUID(), voiceNoteId: randomUUID(), uploadId: randomUUID() };
  for (const kind of ["guardian", "therapist", "lead"] as const) cookies.set(kind, await practice.signIn(cast.buttons[kind]));
  db.prepare("update sessions set proved_at = case when proved_at is null then null else ? end, mail_proved_at = ?").run(Date.now() + 3_600_000, Date.now() + 3_600_000);
  planted = plant(db);
});

test.afterAll(async () => {
  db?.close();
  await practice.close();
});

const asked = (kind: Kind, path: string, sent: Sent = {}): Promise<Answer> => practice.ask(path, cookies.get(kind) ?? "", sent);
const withQuery = (path: string): string => `${path}${path.includes("?") ? "&" : "?"}q=${QUERY}`;
const firstOf = (audience: Audience): Kind | undefined => (["guardian", "therapist", "lead"] as const).find((kind) => mayPass(audience, kind));

/** A word of the machine's own: SQL, a place on the disk, a frame of a stack, a library's message. */
const MACHINE = [/SQLITE|SqliteError|no such (?:table|column)|\bselect\b.{1,200}\bfrom\b|\binsert into\b/i, /\bat (?:async )?[\w.<>]+ \(|node_modules|\.next[\\/]server|node:internal/, /trueside\.db|ENOENT|EACCES|EISDIR/];
const places = (): readonly string[] => [practice.dataDir, process.cwd()];

function look(where: string, { status, headers, body }: Answer): void {
  if (status < 500) return;
  failed.add(where);
  const text = `${JSON.stringify(headers)} ${body}`;
  // A page's own scripts have names; its words are looked at.
  const words = body.replaceAll(/\/_next\/static\/[^"'\s)\\]+/g, "");
  for (const sign of MACHINE) if (sign.test(words)) wrong.add(`${where} says ${sign.exec(words)?.[0]}`);
  for (const place of places()) if (text.includes(place)) wrong.add(`${where} names ${place}`);
  // Around it stays the frame of every page, with whom to ring.
  for (const { column } of canariesIn(text, planted.canaries)) if (!column.endsWith(".id") && !column.startsWith("practices.")) wrong.add(`${where} says ${column}`);
}

type Door = { readonly where: string; readonly isAct?: boolean; ask(): Promise<Answer> };
function everyDoor(): readonly Door[] {
  const pages = Object.entries(PAGES).flatMap(([route, audience]): Door[] => {
    const kind = firstOf(audience);
    return kind ? [{ where: route, ask: () => asked(kind, withQuery(pathTo(cast, route))) }] : [];
  });
  const machines = Object.entries(HANDLERS).filter(([route]) => route !== SIGN_OUT).flatMap(([route, audience]): Door[] => {
    const [method = "", template = ""] = route.split(" ");
    const kind = firstOf(audience);
    return kind ? [{ where: route, ask: () => asked(kind, withQuery(pathTo(cast, template)), { method, headers: { "Idempotency-Key": randomUUID() } }) }] : [];
  });
  const acts = doors.actions.flatMap((door): Door[] => {
    const kind = firstOf(ACTIONS[door.key] ?? "nobody");
    return kind ? [{ where: door.key, isAct: true, ask: () => asked(kind, withQuery(pathTo(cast, door.pages[0] ?? "")), actionCall(door.id, { once: randomUUID(), childId: cast.childId, familyId: cast.familyId })) }] : [];
  });
  return [...pages, ...machines, ...acts];
}

/** Answers without looking anything up, so that nothing of the database can break them. */
const READ_NOTHING = ["/privacy", "/kept", "/shared", "/session", "/sign-in/code", "/sign-in/link", "/sign-in/second-step", "/join", "/mail-off", "/demo-mail", "GET /api/health", "GET /api/ready", "GET /worker.js", "GET /icons/[icon]", "POST /family/send/shared", "GET /mail-off/press", "POST /mail-off/press", "app/language/actions.ts#askLanguageAction"];

test("each route, with what it reads taken away, says that something went wrong and nothing else", async () => {
  const todo = new Map(everyDoor().map((door) => [door.where, door]));
  // The last ones break every request alike, at the session; each route is first broken where it does its own work.
  const last = ["people", "practices", "sessions"];
  const tables = (db.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' and name not like '\\_\\_%' escape '\\'").pluck().all() as string[]).filter((name) => !last.includes(name)); // names
  db.pragma("legacy_alter_table = ON");
  for (const table of [...COMMON.filter((name) => tables.includes(name)), ...tables.filter((name) => !COMMON.includes(name)), ...last]) {
    if (!takeAway(table)) continue;
    try {
      for (const [where, door] of todo) {
        // Of an act without its fields only whom it is about is looked up.
        if (door.isAct && table !== "children" && !last.includes(table)) continue;
        look(where, await door.ask());
        if (failed.has(where)) todo.delete(where);
      }
    } finally {
      db.exec(`alter table "${table}_away" rename to "${table}"`);
    }
    if (todo.size === 0) break;
  }
  expect([...wrong]).toEqual([]);
  expect([...todo.keys()].filter((where) => !READ_NOTHING.includes(where) && !where.includes("(open)"))).toEqual([]);
});

/** False where SQLite refuses, because a check of the table's own names it. */
function takeAway(table: string): boolean {
  try {
    db.exec(`alter table "${table}" rename to "${table}_away"`);
    return true;
  } catch {
    return false;
  }
}

/** Tables that many pages read, so that few walks are needed. */
const COMMON = ["children", "photo_sets", "families", "group_sessions", "care_links", "cues"];

test("pictures without their folder are not there, and nothing is said of why", async () => {
  const media = join(practice.dataDir, "media");
  renameSync(media, `${media}-away`);
  const path = pathTo(cast, "/media/[childId]/[photoId]/[kind]");
  const answer = await asked("guardian", withQuery(path));
  renameSync(`${media}-away`, media);
  expect(answer.status).toBeGreaterThanOrEqual(400);
  look(path, { ...answer, status: 500 });
  expect([...wrong]).toEqual([]);
  expect((await asked("guardian", withQuery(path))).status).toBe(200);
});

test("the server goes on, and its log names nobody, no query and no word of what was read", async () => {
  expect((await practice.ask("/api/health", "")).status).toBe(200);
  db.close();
  const said = await practice.end("SIGTERM");
  const logs = join(practice.dataDir, "logs");
  const text = [said, ...(existsSync(logs) ? readdirSync(logs).map((name) => readFileSync(join(logs, name), "utf8")) : [])].join("\n");
  // The search finds what is there: each failed request has a line with its route.
  expect(text).toContain('"event":"request-failed"');
  expect(text.split('"event":"request-failed"').length).toBeGreaterThan(100);
  expect(canariesIn(text, planted.canaries).map(({ column }) => column)).toEqual([]);
  expect(text).not.toContain(QUERY);
  expect(text).not.toMatch(/no such table|_away|select .{1,200} from|@(?:families|people|walk)\.example/i);
  expect(text).not.toContain(cast.childId);
  await practice.start();
  db = practice.openDatabase();
});
