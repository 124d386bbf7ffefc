import { randomUUID } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import Database from "better-sqlite3";
import sharp from "sharp";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { startOwn, type OwnServer } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { found, type FoundAction } from "@/e2e/walk/found";
import { note, readable as wordsOf } from "@/e2e/walk/noted";
import { pathTo as pathIn } from "@/e2e/walk/paths";
import { castIn, KINDS, signInOver, type Cast, type Kind } from "@/e2e/walk/people";
import { endedIn, steady, streamsOf, type Stream } from "@/e2e/walk/streams";
import { actionCall, ask, type Answer, type Sent } from "@/e2e/walk/request";
import { ACTIONS, HANDLERS, mayPass, PAGES, SIGN_OUT } from "@/e2e/walk/table";

test.describe.configure({ timeout: 300_000 });

const dataDir = mkdtempSync(join(tmpdir(), "trueside-walk-"));
const doors = found();
const cookies = new Map<Kind, string>();
let own: OwnServer;
let origin: string;
let db: Database.Database;
let cast: Cast;
let cells = 0;
let streams = 0;

test.beforeAll(async () => {
  // Ten people sign in, perhaps beside other tests.
  test.setTimeout(300_000);
  const port = await freePort();
  fillWithDemo(dataDir);
  origin = `http://localhost:${port}`;
  own = startOwn({ PORT: String(port), DATA_DIR: dataDir });
  const isServing = await own.ready;
  expect(isServing ? "" : (await own.ended).err).toBe("");
  db = new Database(join(dataDir, "trueside.db"));
  cast = castIn(db);
  const button = doors.actions.find(({ key }) => key === "app/(open)/sign-in/actions.ts#demoAction");
  const idOf = db.prepare<[string], string>("select id from people where name = ?").pluck();
  for (const [kind, name] of Object.entries(cast.buttons) as [Kind, string][]) cookies.set(kind, await signInOver(origin, button, idOf.get(name) ?? ""));
  // A stranger with a made-up session: whatever turns strangers away for comfort lets it pass to the gate.
  const cookieName = (cookies.get("lead") ?? "").split("; ").find((each) => /session-token=/.test(each))?.split("=")[0];
  expect(cookieName).toBeTruthy();
  cookies.set("stranger", `${cookieName}=${randomUUID()}`);
  db.prepare("update people set disabled_at = ? where id = ?").run(Date.now(), cast.disabledId);
  cast = { ...cast, voiceNoteId: await addVoiceNote() };
  cast = { ...cast, uploadId: await addClip() };
  cast = { ...cast, questionId: addQuestion(), exportId: addExport() };
});

/** Recorded through the door itself, then held by an answer to the set. */
async function addVoiceNote(): Promise<string> {
  const body = readFileSync("tests/voice/recordings/browser-opus.webm");
  const added = await asked("therapist", `/api/voice/${cast.childId}/${cast.photoSetId}`, { method: "POST", headers: { "Idempotency-Key": randomUUID() }, body });
  expect(added.status, added.body).toBe(201);
  const { note: { voiceNoteId } } = JSON.parse(added.body) as { readonly note: { readonly voiceNoteId: string } }; // our own route's answer
  db.prepare(`insert into answers (id, child_id, family_id, photo_set_id, kind, summary, next_step, answered_by, answered_at, published_at, voice_note_id)
    select ?, child_id, family_id, photo_set_id, 'answer', 'The same in words.', 'keep-going', recorded_by, recorded_at, recorded_at, id from voice_notes where id = ?`)
    .run(randomUUID(), voiceNoteId);
  return voiceNoteId;
}

/** Sent through the doors themselves, in two pieces, then given to the cast's photo. */
async function addClip(): Promise<string> {
  const film = readFileSync("tests/clips/recordings/phone-vp8.webm");
  const [setId, uploadId] = [randomUUID(), randomUUID()];
  const { exercise_key: exercise } = db.prepare("select exercise_key from photo_sets where id = ?").get(cast.photoSetId) as { readonly exercise_key: string }; // the column just named
  const photo = await asked("guardian", `/api/photos/${cast.childId}?${new URLSearchParams({ set: setId, exercise, ordinal: "1", view: "behind" })}`, { method: "POST", headers: { "Idempotency-Key": randomUUID() }, body: await plainJpeg() });
  expect(photo.status, photo.body).toBe(201);
  const { photo: { photoId } } = JSON.parse(photo.body) as { readonly photo: { readonly photoId: string } }; // our own route's answer
  const tus = { "Tus-Resumable": "1.0.0", "Idempotency-Key": uploadId };
  const begun = await asked("guardian", `/api/clips/${cast.childId}?photo=${photoId}`, { method: "POST", headers: { ...tus, "Upload-Length": String(film.length) } });
  expect([begun.status, begun.location]).toEqual([201, `/api/clips/${cast.childId}/${uploadId}`]);
  for (const [from, to] of [[0, 9000], [9000, film.length]] as const) {
    const piece = await asked("guardian", begun.location, { method: "PATCH", headers: { ...tus, "Upload-Offset": String(from), "Content-Type": "application/offset+octet-stream" }, body: film.subarray(from, to) });
    expect([piece.status, piece.headers["upload-offset"]], piece.body).toEqual([204, String(to)]);
  }
  db.prepare("update clips set photo_id = ? where id = ?").run(cast.photoId, uploadId);
  db.prepare("update media_files set photo_id = ? where photo_id = ? and kind = 'clip'").run(cast.photoId, photoId);
  return uploadId;
}

const plainJpeg = (): Promise<Buffer> => sharp({ create: { width: 640, height: 480, channels: 3, background: "#888" } }).jpeg().toBuffer();

/** About the answer to the cast's set. */
function addQuestion(): string {
  const id = randomUUID();
  const added = db.prepare(`insert into questions (id, child_id, family_id, answer_id, words, asked_by, asked_at)
    select ?, child_id, family_id, id, 'Is this right?', answered_by, answered_at from answers where photo_set_id = ?`).run(id, cast.photoSetId);
  expect(added.changes).toBe(1);
  return id;
}

/** Asked for by the guardian, who has just shown who they are; a day later it is gone, and still nobody else's. */
function addExport(): string {
  const id = randomUUID();
  const { guardian } = cast.buttons;
  const proved = db.prepare("update sessions set mail_proved_at = ? where person_id = (select id from people where name = ?)").run(Date.now() + 600_000, guardian);
  expect(proved.changes).toBeGreaterThan(0);
  const added = db.prepare(`insert into child_exports (id, child_id, family_id, asked_by, asked_at, begun, files_done, gone_at)
    select ?, ?, ?, id, 1, 1, 0, ? from people where name = ?`).run(id, cast.childId, cast.familyId, Date.now(), guardian);
  expect(added.changes).toBe(1);
  return id;
}

test.afterAll(async () => {
  db?.close();
  own.process.kill("SIGTERM");
  await own.ended;
  rmSync(dataDir, { recursive: true, force: true });
});

test("every page, handler and action has its row, and every row its door", () => {
  const names = doors.actions.map(({ key }) => key);
  expect(doors.pages.filter((path) => !(path in PAGES))).toEqual([]);
  expect(doors.handlers.filter((path) => !(path in HANDLERS))).toEqual([]);
  expect(names.filter((key) => !(key in ACTIONS))).toEqual([]);
  expect(Object.keys(PAGES).filter((path) => !doors.pages.includes(path))).toEqual([]);
  expect(Object.keys(HANDLERS).filter((path) => !doors.handlers.includes(path))).toEqual([]);
  expect(Object.keys(ACTIONS).filter((key) => !names.includes(key))).toEqual([]);
  expect(doors.actions.filter(({ pages }) => pages.length === 0)).toEqual([]);
});

const pathTo = (route: string, isNobody = false): string => pathIn(cast, route, isNobody);

const asked = (kind: Kind, path: string, sent: Sent = {}): Promise<Answer> =>
  ask(origin, path, { ...sent, headers: { Origin: origin, ...(cookies.get(kind) ? { Cookie: cookies.get(kind) ?? "" } : {}), ...sent.headers } });

// The framework answers a redirecting action with 200 or 303 and names the place in a header.
const isToSignIn = ({ status, location }: Answer): boolean => [200, 303, 307].includes(status) && /^\/sign-in(?:[?;]|$)/.test(location.replace(origin, ""));
/** In the form itself, with its sentence and nothing else of ours. */
const saysSignedOut = ({ status, body }: Answer): boolean => status === 200 && body.includes('"problem":{"code":"signed-out"}');
const isUnknown = (kind: Kind): boolean => kind === "stranger" || kind === "disabled therapist";

/** A cell of the walk, done. */
const walked = (cell: string, answer: Answer): void => {
  cells += 1;
  note(cell, answer, origin);
};

/** Without the ids of the address. */
const bare = (text: string, path: string): string => path.split("/").filter((part) => part.length > 20).reduce((left, id) => left.replaceAll(id, "ID"), text);
const readable = ({ body }: Answer, path: string): string => bare(wordsOf(body), path);

const counts = (): Readonly<Record<string, number>> => {
  const tables = db.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' and name not like 'alarms%' and name <> 'answer_openings' order by name").pluck().all() as string[]; // names are text
  // That somebody was refused is itself written down, and so are a page that a refusal shows anew, and an alarm about so many refusals.
  return Object.fromEntries(tables.map((table) => [table, db.prepare(`select count(*) from "${table}"${table === "audit_entries" ? " where outcome = 'done' and act not like '%.opened' and act <> 'alarm.raised'" : ""}`).pluck().get() as number])); // a count
};

test("pages open for whom they are, and for nobody else", async () => {
  const wrong: string[] = [];
  for (const route of doors.pages) {
    const audience = PAGES[route];
    if (!audience) continue;
    for (const kind of KINDS) {
      const path = pathTo(route);
      const answer = await asked(kind, path);
      walked(`${kind} at ${route}`, answer);
      const isHome = [303, 307].includes(answer.status) && /^\/(?:$|(?:desk|family)(?:\/|$))/.test(answer.location.replace(origin, ""));
      const tell = `${kind} at ${route}: ${answer.status} ${answer.location}`;
      if (mayPass(audience, kind)) {
        if (answer.status !== 200 && !isHome) wrong.push(tell);
      } else if (isUnknown(kind)) {
        if (!isToSignIn(answer)) wrong.push(tell);
      } else if (route.includes("[")) {
        const nobodys = pathTo(route, true);
        const absent = await asked(kind, nobodys);
        if ((answer.status !== 404 && !isHome) || absent.status !== answer.status || absent.location !== answer.location) wrong.push(`${tell}, absent ${absent.status}`);
        else if (readable(answer, path) !== readable(absent, nobodys)) wrong.push(`${tell}: differs from what is absent`);
      } else if (answer.status !== 404 && !isHome) wrong.push(tell);
      if (!mayPass("the child's carers and staff", kind) && answer.body.includes(cast.secret)) wrong.push(`${tell}: reads the child's name`);
    }
  }
  expect(wrong).toEqual([]);
});

test("who brings no cookie at all is led to sign-in from every page but those for everyone", async () => {
  const wrong: string[] = [];
  for (const route of doors.pages) {
    const answer = await ask(origin, pathTo(route));
    walked(`no cookie at ${route}`, answer);
    if (PAGES[route] === "everyone" ? answer.status !== 200 : !isToSignIn(answer)) wrong.push(`${route}: ${answer.status} ${answer.location}`);
  }
  expect(wrong).toEqual([]);
});

// A page is also asked for by the framework's own addresses; advisories of 2026 name some that led past a proxy.
test("the framework's own addresses of a page let nobody further than the page, and say nothing beforehand", async () => {
  const wrong: string[] = [];
  const buildId = readFileSync(".next/BUILD_ID", "utf8");
  const streamed = (kind: Kind, { path, headers }: Stream): Promise<Answer> => asked(kind, path, { headers });
  const lines = ({ body }: Answer, at: string): string => (body.startsWith("<") ? bare(wordsOf(body), at) : steady(bare(body, at)));
  for (const route of doors.pages.filter((each) => each.includes("["))) {
    const audience = PAGES[route];
    if (!audience) continue;
    const [path, nobodys] = [pathTo(route), pathTo(route, true)];
    const absents = await streamsOf(route, nobodys, buildId);
    for (const [at, stream] of (await streamsOf(route, path, buildId)).entries()) {
      const strangers = await streamed("stranger", stream);
      for (const kind of ["stranger", "other guardian", "therapist elsewhere"] as const) {
        streams += 1;
        const answer = kind === "stranger" ? strangers : await streamed(kind, stream);
        note(`${kind} at ${route}, ${stream.what}`, answer, origin);
        const tell = `${kind} at ${route}, ${stream.what}: ${answer.status} ${answer.location} ${endedIn(answer)}`;
        const isOut = !mayPass("the child's carers and staff", kind);
        if (isOut && answer.body.includes(cast.secret)) wrong.push(`${tell}: reads the child's name`);
        // Led to another address, it was not asked as the framework asks.
        if (answer.location.includes("_rsc")) wrong.push(tell);
        if (stream.gives === "nothing" && ![308, 404].includes(answer.status) && endedIn(answer) === "") wrong.push(tell);
        if (stream.gives === "places" && lines(answer, path) !== lines(strangers, path)) wrong.push(`${tell}: differs from a stranger's`);
        // Where proxy.ts is deleted, an address that the framework keeps for it is no address: to nobody, whoever asks.
        if (stream.isOfProxy && strangers.status === 404) {
          if (answer.status !== 404 || lines(answer, path) !== lines(strangers, path)) wrong.push(`${tell}: differs from a stranger's`);
          continue;
        }
        const isPage = stream.gives === "page" || (stream.gives === "part" && (isUnknown(kind) || (isOut && route.includes("["))));
        if (!isPage || mayPass(audience, kind)) continue;
        const place = endedIn(answer) || answer.location.replace(origin, "") || String(answer.status);
        if (!(isUnknown(kind) ? /^\/sign-in/ : /^(?:404$|\/(?:$|(?:desk|family)(?:\/|$)))/).test(place)) wrong.push(tell);
        const absent = absents[at];
        if (absent && isOut && !isUnknown(kind) && route.includes("[") && lines(await streamed(kind, absent), nobodys) !== lines(answer, path)) wrong.push(`${tell}: differs from what is absent`);
      }
    }
  }
  expect(wrong).toEqual([]);
});

// ASVS 5.0, 8.2.2, and the practice's own requirement: whoever counts up an address finds nothing, and nobody learns how many there are.
test("no page names a row by a number in order, in an address or in a field", async () => {
  /** Sizes of pictures, what is typed or chosen, versions of one row and times: amounts, never rows. */
  const amounts = { paths: /^\/(?:media\/.*\/(?:2048|1024|320)|icons\/.*)$/, names: /^(?:(?:exercise|draft|text)?[Vv]ersion|basedOn|newest|\w+At|ordinal|weeks|months|quarters)$/ };
  const wrong: string[] = [];
  let addresses = 0;
  let fields = 0;
  for (const route of doors.pages) {
    for (const kind of ["guardian", "therapist", "lead"] as const) {
      const { status, body } = await asked(kind, pathTo(route));
      if (status !== 200) continue;
      for (const [, text = ""] of body.matchAll(/\s(?:href|src|action)="([^"]+)"/g)) {
        const address = new URL(text.replaceAll("&amp;", "&"), origin);
        if (address.origin !== origin || address.pathname.startsWith("/_next/")) continue;
        addresses += 1;
        const counted = amounts.paths.test(address.pathname) ? [] : address.pathname.split("/").filter((part) => /^\d+$/.test(part));
        counted.push(...[...address.searchParams].filter(([name, value]) => /^\d+$/.test(value) && !amounts.names.test(name)).map(([name, value]) => `${name}=${value}`));
        if (counted.length > 0) wrong.push(`${kind} at ${route}: ${address.pathname} ${counted.join(" ")}`);
      }
      for (const [tag] of body.matchAll(/<input\b[^>]*type="hidden"[^>]*>/g)) {
        const [name = "", value = ""] = [/\sname="([^"]*)"/.exec(tag)?.[1], /\svalue="([^"]*)"/.exec(tag)?.[1]];
        fields += 1;
        if (/^\d+$/.test(value) && !amounts.names.test(name)) wrong.push(`${kind} at ${route}: field ${name}=${value}`);
      }
    }
  }
  expect(wrong).toEqual([]);
  expect([addresses > 300, fields > 100]).toEqual([true, true]);
  // The only keys of the whole database that are numbers: none of them is looked up by anything that comes from outside.
  const keys = db.prepare(`select t.name || '.' || c.name from sqlite_master t, pragma_table_info(t.name) c
    where t.type = 'table' and t.name not like 'sqlite_%' and t.name not like '\\_\\_%' escape '\\' and c.pk > 0 and lower(c.type) <> 'text' order by 1`).pluck().all();
  expect(keys).toEqual(["audit_entries.sequence", "export_parts.ordinal", "settled_times.week_from", "settled_weeks.week_from", "verdicts.sequence"]);
});

test("machine routes answer whom they should, and refuse all others alike", async () => {
  const wrong: string[] = [];
  for (const route of doors.handlers) {
    const audience = HANDLERS[route];
    const [method = "", template = ""] = route.split(" ");
    if (!audience || route === SIGN_OUT) continue;
    for (const kind of KINDS) {
      const isOut = !mayPass(audience, kind);
      const before = counts();
      const answer = await asked(kind, pathTo(template), { method, headers: { "Idempotency-Key": randomUUID() } });
      walked(`${kind} at ${route}`, answer);
      const tell = `${kind} at ${route}: ${answer.status}`;
      if (!isOut) {
        if ([401, 403, 404].includes(answer.status) || answer.status >= 500) wrong.push(tell);
        continue;
      }
      if (JSON.stringify(counts()) !== JSON.stringify(before)) wrong.push(`${tell}: changed something`);
      if (isUnknown(kind)) {
        if (answer.status !== 401) wrong.push(tell);
        continue;
      }
      const absent = await asked(kind, pathTo(template, true), { method, headers: { "Idempotency-Key": randomUUID() } });
      if (answer.status !== 404 || absent.status !== 404 || answer.body !== absent.body) wrong.push(`${tell}, absent ${absent.status}`);
    }
  }
  expect(wrong).toEqual([]);
});

test("an archive that is past its day is gone for who asked for it, and was never there for others", async () => {
  const path = pathTo("/api/exports/[childId]/[exportId]");
  expect((await asked("guardian", path)).status).toBe(410);
  expect((await asked("guardian", path, { headers: { Range: "bytes=0-9" } })).status).toBe(410);
  for (const kind of ["other guardian", "young person", "removed guardian", "therapist", "lead", "therapist elsewhere"] as const) expect([kind, (await asked(kind, path)).status]).toEqual([kind, 404]);
  for (const kind of ["stranger", "disabled therapist"] as const) expect([kind, (await asked(kind, path)).status]).toEqual([kind, 401]);
  db.prepare("update sessions set mail_proved_at = null").run();
  expect((await asked("guardian", path)).status).toBe(403);
  db.prepare("update sessions set mail_proved_at = ? where person_id = (select id from people where name = ?)").run(Date.now(), cast.buttons.guardian);
});

test("a view by staff is written down, a guardian's own is not", async () => {
  const viewed = (): number => db.prepare("select count(*) from audit_entries where act = 'photo.viewed' and object_id = ?").pluck().get(cast.photoId) as number; // a count
  const path = pathTo("/media/[childId]/[photoId]/[kind]");
  const before = viewed();
  expect((await asked("therapist", path)).status).toBe(200);
  expect(viewed()).toBe(before + 1);
  expect((await asked("guardian", path)).status).toBe(200);
  expect(viewed()).toBe(before + 1);
});

test("a spoken note comes whole or in one part, and to nobody else by any header", async () => {
  const path = pathTo("/media/[childId]/voice/[voiceNoteId]");
  const whole = await asked("guardian", path);
  expect(whole.status).toBe(200);
  const length = Buffer.byteLength(whole.body, "latin1");
  expect(whole.headers).toMatchObject({
    "content-type": "audio/webm", "accept-ranges": "bytes", "cache-control": "private, no-cache", "x-content-type-options": "nosniff",
    "content-security-policy": "sandbox; default-src 'none'", "cross-origin-resource-policy": "same-origin",
  });
  const tag = String(whole.headers["etag"]);
  expect(tag).toMatch(/^"[0-9a-f]{64}"$/);
  // RFC 9110, 14.1.2, 14.2, 13.1.5 and 15.5.17.
  for (const [range, status, from, to] of [
    ["bytes=0-0", 206, 0, 1], ["bytes=10-19", 206, 10, 20], ["bytes=-7", 206, length - 7, length], [`bytes=${length - 1}-`, 206, length - 1, length], ["bytes=0-", 206, 0, length],
    ["items=0-1", 200, 0, length], ["bytes=999999999-", 416, 0, 0], ["bytes=5-2", 416, 0, 0], ["bytes=-0", 416, 0, 0],
    [`bytes=${Array.from({ length: 100 }, (_, at) => `${at}-${at}`).join(",")}`, 416, 0, 0],
  ] as const) {
    const part = await asked("guardian", path, { headers: { Range: range } });
    expect([part.status, part.body], range).toEqual([status, whole.body.slice(from, to)]);
    expect(part.headers["content-range"], range).toBe(status === 206 ? `bytes ${from}-${to - 1}/${length}` : status === 416 ? `bytes */${length}` : undefined);
  }
  expect((await asked("guardian", path, { headers: { Range: "bytes=0-9", "If-Range": tag } })).status).toBe(206);
  expect((await asked("guardian", path, { headers: { Range: "bytes=0-9", "If-Range": '"other"' } })).status).toBe(200);
  expect(await asked("guardian", path, { headers: { "If-None-Match": tag } })).toMatchObject({ status: 304, body: "" });
  for (const kind of KINDS.filter((each) => !mayPass("the child's carers and staff", each))) {
    for (const headers of [{}, { Range: "bytes=0-10" }, { "If-None-Match": tag }, { Range: "bytes=0-10", "If-Range": tag }]) {
      const { status, body } = await asked(kind, path, { headers });
      expect([401, 404], kind).toContain(status);
      expect(body, kind).not.toContain("webm");
    }
  }
});

test("a listening of staff is written down once, whatever ranges it takes", async () => {
  const heard = (): number => db.prepare("select count(*) from audit_entries where act = 'voice-note.heard' and object_id = ?").pluck().get(cast.voiceNoteId) as number; // a count
  const path = pathTo("/media/[childId]/voice/[voiceNoteId]");
  await asked("therapist", path);
  const once = heard();
  expect(once).toBeGreaterThan(0);
  for (const range of ["bytes=0-", "bytes=100-", "bytes=-50"]) expect((await asked("therapist", path, { headers: { Range: range } })).status).toBe(206);
  await asked("guardian", path);
  expect(heard()).toBe(once);
});

/** A share of the phone's own, from no page at all: it reads nothing of what comes, changes nothing, and leads to a page. */
const UNREAD = "POST /family/send/shared";

const call = ({ id }: FoundAction, childId = cast.childId, familyId = cast.familyId): Sent => actionCall(id, { once: randomUUID(), childId, familyId });

const isChange = (route: string): boolean => !/^(?:GET|HEAD) /.test(route);

test("acts from another origin, from none and from an opaque one are refused before anything happens", async () => {
  const wrong: string[] = [];
  const before = JSON.stringify(counts());
  for (const from of ["https://evil.example", "null", null]) {
    const headers = (sent: Sent, kind: Kind) => ({ ...sent.headers, Cookie: cookies.get(kind) ?? "", ...(from === null ? {} : { Origin: from }) });
    for (const door of doors.actions) {
      for (const kind of ["guardian", "lead"] as const) {
        const sent = call(door);
        const answer = await ask(origin, pathTo(door.pages[0] ?? ""), { ...sent, headers: headers(sent, kind) });
        walked(`${kind}, ${door.key} from ${from}`, answer);
        if (answer.status < 400) wrong.push(`${kind}, ${door.key} from ${from}: ${answer.status} ${answer.location}`);
      }
    }
    for (const route of doors.handlers.filter(isChange)) {
      const [method = "", template = ""] = route.split(" ");
      const answer = await ask(origin, pathTo(template), { method, headers: headers({}, "guardian") });
      walked(`${route} from ${from}`, answer);
      if (answer.status !== (route === UNREAD ? 303 : 403)) wrong.push(`${route} from ${from}: ${answer.status}`);
    }
  }
  expect(wrong).toEqual([]);
  expect(JSON.stringify(counts())).toBe(before);
});

test("acts are done for whom they may be, and refused all others alike", async () => {
  const wrong: string[] = [];
  for (const door of doors.actions) {
    const audience = ACTIONS[door.key];
    if (!audience) continue;
    const path = pathTo(door.pages[0] ?? "");
    for (const kind of KINDS) {
      const before = JSON.stringify(counts());
      const answer = await asked(kind, path, call(door));
      walked(`${kind}, ${door.key}`, answer);
      const tell = `${kind}, ${door.key}: ${answer.status} ${answer.location}`;
      if (mayPass(audience, kind)) {
        if (![200, 303].includes(answer.status) || (audience !== "everyone" && (isToSignIn(answer) || saysSignedOut(answer)))) wrong.push(tell);
        // What was asked for is made beside the requests; made later, it would be held against somebody else.
        await expect.poll(() => db.prepare("select count(*) from child_exports where made_at is null and failed_at is null and gone_at is null").pluck().get()).toBe(0);
        continue;
      }
      if (JSON.stringify(counts()) !== before) wrong.push(`${tell}: changed something`);
      if (isUnknown(kind) ? !saysSignedOut(answer) : answer.status !== 404) wrong.push(tell);
      if (!mayPass("the child's carers and staff", kind) && answer.body.includes(cast.secret)) wrong.push(`${tell}: reads the child's name`);
    }
  }
  expect(wrong).toEqual([]);
});

test("signing out ends the session itself, so that its cookie opens nothing afterwards", async () => {
  for (const kind of KINDS) {
    const answer = await asked(kind, "/sign-out", { method: "POST" });
    walked(`${kind} at ${SIGN_OUT}`, answer);
    expect(answer).toMatchObject({ status: 303, location: "/sign-in" });
    expect(isToSignIn(await asked(kind, "/")), kind).toBe(true);
  }
});

test("the walk was walked", () => {
  const expected = doors.pages.length + KINDS.length * (doors.pages.length + doors.handlers.length + doors.actions.length)
    + 3 * (2 * doors.actions.length + doors.handlers.filter(isChange).length);
  expect(cells).toBe(expected);
  expect(streams).toBeGreaterThan(500);
  process.stderr.write(`${JSON.stringify({ event: "access-walk", cells, streams, kinds: KINDS.length, pages: doors.pages.length, handlers: doors.handlers.length, actions: doors.actions.length })}\n`);
});
