import { randomUUID } from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import Database from "better-sqlite3";
import { startOwn, type OwnServer } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { found, type FoundAction } from "@/e2e/walk/found";
import { castIn, KINDS, signInAs, type Cast, type Kind } from "@/e2e/walk/people";
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

test.beforeAll(async ({ browser }) => {
  const port = await freePort();
  origin = `http://localhost:${port}`;
  own = startOwn({ PORT: String(port), DATA_DIR: dataDir });
  const isServing = await own.ready;
  expect(isServing ? "" : (await own.ended).err).toBe("");
  db = new Database(join(dataDir, "trueside.db"));
  cast = castIn(db);
  for (const [kind, name] of Object.entries(cast.buttons) as [Kind, string][]) cookies.set(kind, await signInAs(browser, origin, name));
  // A stranger with a made-up session: whatever turns strangers away for comfort lets it pass to the gate.
  const cookieName = (cookies.get("lead") ?? "").split("; ").find((each) => /session-token=/.test(each))?.split("=")[0];
  expect(cookieName).toBeTruthy();
  cookies.set("stranger", `${cookieName}=${randomUUID()}`);
  db.prepare("update people set disabled_at = ? where id = ?").run(Date.now(), cast.disabledId);
});

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

/** The door's path with the ids of the cast, or with ids of nobody. */
function pathTo(route: string, isNobody = false): string {
  const ids: Readonly<Record<string, string>> = { childId: cast.childId, familyId: cast.familyId, photoId: cast.photoId, photoSetId: cast.photoSetId };
  return route.replace(/\[(?:\.\.\.)?(\w+)\]/g, (_whole, name: string) => {
    if (name === "kind") return "320";
    const id = ids[name];
    if (id === undefined) throw new Error(`the walk knows no ${name} for ${route}`);
    return isNobody ? randomUUID() : id;
  });
}

const asked = (kind: Kind, path: string, sent: Sent = {}): Promise<Answer> =>
  ask(origin, path, { ...sent, headers: { Origin: origin, ...(cookies.get(kind) ? { Cookie: cookies.get(kind) ?? "" } : {}), ...sent.headers } });

// The framework answers a redirecting action with 200 or 303 and names the place in a header.
const isToSignIn = ({ status, location }: Answer): boolean => [200, 303, 307].includes(status) && /^\/sign-in(?:[?;]|$)/.test(location.replace(origin, ""));
const isUnknown = (kind: Kind): boolean => kind === "stranger" || kind === "disabled therapist";

/** What a reader sees of a page: words without markup, scripts, nonces and the ids of the address. */
const readable = ({ body }: Answer, path: string): string => path.split("/").filter((part) => part.length > 20)
  .reduce((text, id) => text.replaceAll(id, "ID"), body.replace(/<script\b[\s\S]*?<\/script>/g, "").replace(/nonce="[^"]*"/g, "").replace(/\s+/g, " "));

const counts = (): Readonly<Record<string, number>> => {
  const tables = db.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' order by name").pluck().all() as string[]; // names are text
  return Object.fromEntries(tables.map((table) => [table, db.prepare(`select count(*) from "${table}"`).pluck().get() as number])); // a count
};

test("pages open for whom they are, and for nobody else", async () => {
  const wrong: string[] = [];
  for (const route of doors.pages) {
    const audience = PAGES[route];
    if (!audience) continue;
    for (const kind of KINDS) {
      cells += 1;
      const path = pathTo(route);
      const answer = await asked(kind, path);
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
      if (!mayPass("the child's guardian and staff", kind) && answer.body.includes(cast.secret)) wrong.push(`${tell}: reads the child's name`);
    }
  }
  expect(wrong).toEqual([]);
});

test("machine routes answer whom they should, and refuse all others alike", async () => {
  const wrong: string[] = [];
  for (const route of doors.handlers) {
    const audience = HANDLERS[route];
    const [method = "", template = ""] = route.split(" ");
    if (!audience || route === SIGN_OUT) continue;
    for (const kind of KINDS) {
      cells += 1;
      const isOut = !mayPass(audience, kind);
      const before = counts();
      const answer = await asked(kind, pathTo(template), { method, headers: { "Idempotency-Key": randomUUID() } });
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

test("a view by staff is written down, a guardian's own is not", async () => {
  const viewed = (): number => db.prepare("select count(*) from audit_entries where act = 'photo.viewed' and object_id = ?").pluck().get(cast.photoId) as number; // a count
  const path = pathTo("/media/[childId]/[photoId]/[kind]");
  const before = viewed();
  expect((await asked("therapist", path)).status).toBe(200);
  expect(viewed()).toBe(before + 1);
  expect((await asked("guardian", path)).status).toBe(200);
  expect(viewed()).toBe(before + 1);
});

const call = ({ id }: FoundAction, childId = cast.childId, familyId = cast.familyId): Sent => actionCall(id, { once: randomUUID(), childId, familyId });

test("acts from another origin, from none and from an opaque one are refused before anything happens", async () => {
  const wrong: string[] = [];
  const before = JSON.stringify(counts());
  for (const from of ["https://evil.example", "null", null]) {
    const headers = (sent: Sent, kind: Kind) => ({ ...sent.headers, Cookie: cookies.get(kind) ?? "", ...(from === null ? {} : { Origin: from }) });
    for (const door of doors.actions) {
      for (const kind of ["guardian", "lead"] as const) {
        cells += 1;
        const sent = call(door);
        const answer = await ask(origin, pathTo(door.pages[0] ?? ""), { ...sent, headers: headers(sent, kind) });
        if (answer.status < 400) wrong.push(`${kind}, ${door.key} from ${from}: ${answer.status} ${answer.location}`);
      }
    }
    for (const route of doors.handlers.filter((each) => !each.startsWith("GET "))) {
      cells += 1;
      const [method = "", template = ""] = route.split(" ");
      const answer = await ask(origin, pathTo(template), { method, headers: headers({}, "guardian") });
      if (answer.status !== 403) wrong.push(`${route} from ${from}: ${answer.status}`);
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
      cells += 1;
      const before = JSON.stringify(counts());
      const answer = await asked(kind, path, call(door));
      const tell = `${kind}, ${door.key}: ${answer.status} ${answer.location}`;
      if (mayPass(audience, kind)) {
        if (![200, 303].includes(answer.status) || (audience !== "everyone" && isToSignIn(answer))) wrong.push(tell);
        continue;
      }
      if (JSON.stringify(counts()) !== before) wrong.push(`${tell}: changed something`);
      if (isUnknown(kind) ? !isToSignIn(answer) : answer.status !== 404) wrong.push(tell);
      if (!mayPass("the child's guardian and staff", kind) && answer.body.includes(cast.secret)) wrong.push(`${tell}: reads the child's name`);
    }
  }
  expect(wrong).toEqual([]);
});

test("signing out ends the session itself, so that its cookie opens nothing afterwards", async () => {
  for (const kind of KINDS) {
    cells += 1;
    expect(await asked(kind, "/sign-out", { method: "POST" })).toMatchObject({ status: 303, location: "/sign-in" });
    expect(isToSignIn(await asked(kind, "/")), kind).toBe(true);
  }
});

test("the walk was walked", () => {
  const expected = KINDS.length * (doors.pages.length + doors.handlers.length + doors.actions.length)
    + 3 * (2 * doors.actions.length + doors.handlers.filter((each) => !each.startsWith("GET ")).length);
  expect(cells).toBe(expected);
  process.stderr.write(`${JSON.stringify({ event: "access-walk", cells, kinds: KINDS.length, pages: doors.pages.length, handlers: doors.handlers.length, actions: doors.actions.length })}\n`);
});
