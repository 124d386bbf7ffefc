import { randomUUID } from "node:crypto";
import { expect, test } from "@playwright/test";
import type Database from "better-sqlite3";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { canariesIn, mayRead, plant, readerNamed, searchedColumns, unplanted, type Planted, type Reader } from "@/e2e/walk/canaries";
import { fillEmptyTables } from "@/e2e/walk/canary-rows";
import { found } from "@/e2e/walk/found";
import { pathTo } from "@/e2e/walk/paths";
import { castIn, KINDS, type Cast, type Kind } from "@/e2e/walk/people";
import { actionCall, type Answer, type Sent } from "@/e2e/walk/request";
import { HANDLERS, PAGES, SIGN_OUT } from "@/e2e/walk/table";
import { Practice } from "@/tests/proofs/practice";

// every answer of the app, searched for words of every private column that its reader may not see.
test.describe.configure({ mode: "serial", timeout: 600_000 });

const doors = found();
const cookies = new Map<Kind, string>();
const readers = new Map<Kind, Reader>();
let practice: Practice;
let db: Database.Database;
let casts: readonly Cast[];
let planted: Planted;
/** Columns of which a reader who may read them has read something. */
const read = new Set<string>();
const leaks = new Set<string>();
const count = { answers: 0, bytes: 0 };

/** The demo's own mailbox shows every mail to everybody, and is nowhere else. */
const DEMO_ALONE = ["/demo-mail"];

test.beforeAll(async () => {
  test.setTimeout(180_000);
  practice = await Practice.open(fillWithDemo);
  db = practice.openDatabase();
  const cast = castIn(db);
  const other = otherIn(db, cast);
  fillEmptyTables(db, [cast.childId, other.childId], cast.exerciseKey);
  for (const [kind, name] of Object.entries(cast.buttons) as [Kind, string][]) {
    cookies.set(kind, await practice.signIn(name));
    readers.set(kind, readerNamed(db, name));
  }
  db.prepare("update people set disabled_at = ?, demo_order = null where id = ?").run(Date.now(), cast.disabledId);
  readers.set("disabled therapist", null);
  // Whoever has no button is on no page that strangers see.
  db.prepare("update people set demo_order = null").run();
  casts = [withQuestion(cast), withQuestion(other)];
  planted = plant(db);
  // A translation is shown beside the very words it was made from.
  db.prepare("update translations set source = (select json_extract(words, '$.title') from exercise_versions where exercise_key = ?) where about = ?").run(cast.exerciseKey, `title ${cast.exerciseKey}`);
});

test.afterAll(async () => {
  db.close();
  await practice.close();
});

/** The same doors for the child of another family, whose guardian is of the cast too. */
function otherIn(base: Database.Database, cast: Cast): Cast {
  const row = base.prepare(`select a.child_id as childId, a.family_id as familyId, a.photo_set_id as photoSetId, p.id as photoId from answers a join photos p on p.photo_set_id = a.photo_set_id
    join care_links l on l.child_id = a.child_id and l.ended_at is null join people g on g.id = l.person_id where g.name = ? limit 1`).get(cast.buttons["other guardian"]) as Partial<Cast> | undefined; // the columns just named
  if (!row) throw new Error("the other guardian has no answered set");
  return { ...cast, ...row };
}

function withQuestion(cast: Cast): Cast {
  const { id: questionId } = db.prepare("select id from questions where child_id = ? limit 1").get(cast.childId) as { id: string }; // an id
  const { id: exportId } = db.prepare("select id from child_exports where child_id = ? limit 1").get(cast.childId) as { id: string }; // an id
  return { ...cast, questionId, exportId, voiceNoteId: randomUUID(), uploadId: randomUUID() };
}

const asked = (kind: Kind, path: string, sent: Sent = {}): Promise<Answer> => practice.ask(path, cookies.get(kind) ?? "", sent);

/** Looks through one answer, headers and all. */
function look(kind: Kind, where: string, { body, headers, location }: Answer): void {
  count.answers += 1;
  count.bytes += body.length;
  // An address of a file is tagged with its hash for whoever may have it; what was asked for comes back in an address.
  const { etag: _etag, ...rest } = headers;
  const own = new Set(where.match(/[0-9a-f-]{36}/g));
  for (const canary of canariesIn(`${JSON.stringify(rest)} ${location} ${body}`, planted.canaries)) {
    if (mayRead(readers.get(kind) ?? null, canary, db)) read.add(canary.column);
    else if (!own.has(canary.run)) leaks.add(`${kind} reads ${canary.column} at ${where.replaceAll(/[0-9a-f-]{36}/g, "ID")}`);
  }
}

test("no page and no stream of one says what its reader may not know", async () => {
  for (const kind of KINDS) {
    const seen = new Map<string, number>();
    const ways: string[] = [];
    for (const route of Object.keys(PAGES)) {
      if (DEMO_ALONE.includes(route)) continue;
      for (const cast of route.includes("[") ? casts : casts.slice(0, 1)) {
        const path = pathTo(cast, route);
        const page = await asked(kind, path);
        look(kind, path, page);
        ways.push(...linksIn(page.body));
        // The page holds its first stream; what a click asks for is made by the same code.
        if (page.status === 200 && cast === casts[0]) await lookAtStream(kind, path);
      }
    }
    // What a page leads to: one of each kind of address, with what stands behind its question mark.
    for (const path of ways) {
      const form = path.replaceAll(/[0-9a-f-]{36}/g, "ID").replaceAll(/=[^&]*/g, "=");
      const times = seen.get(form) ?? 0;
      seen.set(form, times + 1);
      if (times >= 2 || !form.includes("?")) continue;
      look(kind, path, await asked(kind, path));
    }
  }
  expect([...leaks]).toEqual([]);
});

async function lookAtStream(kind: Kind, path: string): Promise<void> {
  let answer = await asked(kind, path, { headers: { RSC: "1" } });
  if ([302, 303, 307, 308].includes(answer.status) && answer.location.includes("_rsc")) answer = await asked(kind, answer.location, { headers: { RSC: "1" } });
  look(kind, `${path}, its stream`, answer);
}

const linksIn = (html: string): readonly string[] =>
  [...html.matchAll(/(?:href|src|action)="(\/(?!_next)[^"#]*)"/g)].map(([, path = ""]) => path.replaceAll("&amp;", "&"));

test("no machine route, manifest, worker or refusal says what its reader may not know", async () => {
  for (const kind of KINDS) {
    for (const route of Object.keys(HANDLERS)) {
      if (route === SIGN_OUT) continue;
      const [method = "", template = ""] = route.split(" ");
      for (const cast of template.includes("[") ? casts : casts.slice(0, 1)) {
        const path = pathTo(cast, template);
        look(kind, `${method} ${path}`, await asked(kind, path, { method, headers: { "Idempotency-Key": randomUUID() } }));
      }
    }
    for (const path of ["/manifest.webmanifest", "/favicon.ico", "/icon", "/nowhere"]) look(kind, path, await asked(kind, path));
  }
  expect([...leaks]).toEqual([]);
});

test("an archive holds what is of its child, and nothing of another", async () => {
  const wanted = [["guardian", 0], ["other guardian", 1], ["lead", 0], ["lead", 1]] as const;
  const ids = wanted.map(([kind, at]) => {
    const [id, cast] = [randomUUID(), casts[at]];
    db.prepare("insert into child_exports (id, child_id, family_id, asked_by, asked_at, begun, files_done) values (?, ?, ?, ?, 1, 0, 0)").run(id, cast?.childId, cast?.familyId, readers.get(kind)?.personId);
    return id;
  });
  db.prepare("update sessions set mail_proved_at = ?").run(Date.now());
  await expect.poll(() => db.prepare("select count(*) from child_exports where made_at is not null").pluck().get(), { timeout: 60_000 }).toBe(ids.length);
  for (const [at, [kind, which]] of wanted.entries()) {
    const archive = await asked(kind, `/api/exports/${casts[which]?.childId}/${ids[at]}`);
    expect([kind, archive.status]).toEqual([kind, 200]);
    look(kind, `the archive of child ${which}`, archive);
    // Staff may read of both children; an archive is of one.
    const other = casts[1 - which]?.childId;
    expect(canariesIn(archive.body, planted.canaries).filter(({ owner, readers: who }) => owner.childId === other && who === "child").map(({ column }) => column)).toEqual([]);
  }
  expect([...leaks]).toEqual([]);
});

test("no act says in its refusal what its sender may not know", async () => {
  for (const door of doors.actions) {
    for (const kind of ["guardian", "therapist"] as const) {
      for (const cast of casts) {
        // Nothing but whom it is about: whatever the act wants besides is missing, and the page comes back with it.
        const sent = actionCall(door.id, { once: randomUUID(), childId: cast.childId, familyId: cast.familyId });
        look(kind, `${door.key} at ${pathTo(cast, door.pages[0] ?? "")}`, await asked(kind, pathTo(cast, door.pages[0] ?? ""), sent));
      }
    }
  }
  expect([...leaks]).toEqual([]);
});

test("the search was not blind: something was planted in each column, and found where it may be read", () => {
  expect(unplanted(planted)).toEqual([]);
  const shown = searchedColumns().filter(([, who]) => who !== "nobody").map(([column]) => column);
  expect(shown.filter((column) => !read.has(column))).toEqual([]);
  process.stderr.write(`${JSON.stringify({ event: "canaries", planted: planted.canaries.size, columnsRead: read.size, ...count })}\n`);
});
