import { createHash, randomUUID } from "node:crypto";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { startOwn, type OwnServer } from "@/e2e/own-server";
import { found, type FoundAction } from "@/e2e/walk/found";
import { freePort } from "@/e2e/walk/port";
import { actionCall, ask, type Answer, type Sent } from "@/e2e/walk/request";

/** Invented children of the demo whose family may send, who sends for them, and on which side they lie. */
const SENDERS = [
  ["Mira", "Adaeze Okonjo-Lund", "left"], ["Jonas", "Sanna Brandvik", "right"], ["Nia", "Maeve Sorrel", "left"], ["Priya", "Ritu Halvard", "left"],
  ["Lena", "Anouk Vossler", "left"], ["Zuri", "Inti Amaru", "right"], ["Rowan", "Bea Quillon", "left"],
] as const;

export type Sender = { readonly personId: string; readonly childId: string; readonly setupId: string; readonly cookie: string; readonly headX: number };
export type Place = { readonly sender: Sender; readonly setId: string; readonly ordinal: number; readonly key: string };
/** What the server said of a photo it took. */
export type Stored = { readonly photoId: string; readonly receivedBytes: number; readonly sha256: string };

export const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

/** A real server on a demo folder of its own, and its people, who act by the very requests a browser makes. */
export class Practice {
  readonly dataDir = mkdtempSync(join(tmpdir(), "trueside-proof-"));
  #server: OwnServer | null = null;
  #said = "";
  #actions: readonly FoundAction[] = [];

  private constructor(readonly port: number, private readonly settings: Readonly<Record<string, string>>) {}

  /** `fill` may put a demo into the new data folder that was seeded before; else it is seeded now. `settings` may name another public address. */
  static async open(fill: (dataDir: string) => void = () => undefined, settings: Readonly<Record<string, string>> = {}): Promise<Practice> {
    const practice = new Practice(await freePort(), settings);
    fill(practice.dataDir);
    await practice.start();
    return practice;
  }

  get origin(): string {
    return this.settings["PUBLIC_URL"] ?? `http://localhost:${this.port}`;
  }

  get pid(): number {
    const pid = this.#server?.process.pid;
    if (pid === undefined) throw new Error("the server does not run");
    return pid;
  }

  async start(): Promise<void> {
    const server = startOwn({ PORT: String(this.port), DATA_DIR: this.dataDir, DEMO: "1", ...this.settings });
    this.#server = server;
    if (!(await server.ready)) throw new Error(`the server did not start: ${(await server.ended).err}`);
    this.#actions = found().actions;
  }

  /** Ends the server and gives everything it and those before it wrote to the console. */
  async end(signal: "SIGTERM" | "SIGKILL"): Promise<string> {
    const server = this.#server;
    if (server) {
      server.process.kill(signal);
      const { out, err } = await server.ended;
      this.#said += `${out}${err}`;
      this.#server = null;
    }
    return this.#said;
  }

  /** Waits until the server has ended without being asked to. */
  async endedItself(): Promise<{ readonly code: number | null; readonly err: string }> {
    const server = this.#server;
    if (!server) throw new Error("the server does not run");
    const { code, err } = await server.ended;
    this.#server = null;
    return { code, err };
  }

  async close(): Promise<void> {
    await this.end("SIGTERM");
    rmSync(this.dataDir, { recursive: true, force: true });
  }

  /** A connection beside the server's, for whoever looks often. */
  openDatabase(): Database.Database {
    const db = new Database(join(this.dataDir, "trueside.db"));
    db.pragma("busy_timeout = 5000");
    return db;
  }

  /** Reads or changes the database beside the server. */
  sql<T>(use: (db: Database.Database) => T): T {
    const db = this.openDatabase();
    try {
      return use(db);
    } finally {
      db.close();
    }
  }

  rows(query: string, ...values: readonly unknown[]): readonly Readonly<Record<string, unknown>>[] {
    return this.sql((db) => db.prepare(query).all(...values) as Record<string, unknown>[]); // a row is an object of columns
  }

  /** The cookies of an invented person signed in by the demo's own button. */
  async signIn(name: string): Promise<string> {
    const [person] = this.rows("select id from people where name = ?", name);
    const answer = await this.act("app/(open)/sign-in/actions.ts#demoAction", "/sign-in", "", { person: String(person?.["id"]) });
    const cookies = answer.headers["set-cookie"]?.map((each) => each.split(";", 1)[0] ?? "").filter((each) => /=./.test(each)) ?? [];
    if (cookies.length === 0) throw new Error(`${name} cannot sign in: ${answer.status}`);
    return cookies.join("; ");
  }

  async senders(): Promise<readonly Sender[]> {
    return Promise.all(SENDERS.map(async ([child, guardian, side]) => {
      const [row] = this.rows("select c.id as childId, s.id as setupId from children c join setups s on s.child_id = c.id where c.given_name = ? order by s.confirmed_at desc limit 1", child);
      const [person] = this.rows("select id from people where name = ?", guardian);
      // Seen from behind with the floor down, a child on their left has the head on the picture's left.
      return { personId: String(person?.["id"]), childId: String(row?.["childId"]), setupId: String(row?.["setupId"]), cookie: await this.signIn(guardian), headX: side === "left" ? 0.15 : 0.85 };
    }));
  }

  /** One request as the signed-in person's browser makes it; `by` another port leads to the same server. */
  ask(path: string, cookie: string, sent: Sent = {}, by = this.port): Promise<Answer> {
    return ask(`http://localhost:${by}`, path, { ...sent, headers: { Host: new URL(this.origin).host, Origin: this.origin, ...(cookie ? { Cookie: cookie } : {}), ...sent.headers } });
  }

  act(key: string, path: string, cookie: string, fields: Readonly<Record<string, string>>, more: Readonly<Record<string, string>> = {}, by = this.port): Promise<Answer> {
    const action = this.#actions.find((each) => each.key === key);
    if (!action) throw new Error(`there is no action ${key}`);
    const { headers, ...call } = actionCall(action.id, fields);
    return this.ask(path, cookie, { ...call, headers: { ...headers, ...more } }, by);
  }

  /** Sends one photo's bytes as the phone does. */
  upload({ sender, setId, ordinal, key }: Place, photo: Buffer, by = this.port): Promise<Answer> {
    const query = new URLSearchParams({ set: setId, exercise: "side-lying", ordinal: String(ordinal), view: "behind" });
    const headers = { "Idempotency-Key": key, "X-Photo-Length": String(photo.length), "X-Photo-Sha256": sha256(photo), "Content-Type": "application/octet-stream" };
    return this.ask(`/api/photos/${sender.childId}?${query}`, sender.cookie, { method: "POST", headers, body: photo }, by);
  }

  /** Finishes a set of photos taken from behind; nothing hurts. */
  finish(sender: Sender, setId: string, photoIds: readonly string[], once: string, by = this.port): Promise<Answer> {
    const none = { noticed: [], isNone: true };
    const set = {
      setId, exerciseKey: "side-lying", setupId: sender.setupId, taken: "just-now", waitedMs: 0, symptoms: { urgent: none, today: none }, note: "",
      photos: photoIds.map((photoId) => ({ photoId, view: "behind", head: { x: sender.headX, y: 0.5 }, facing: "back", isSeenTurnedBack: null })),
    };
    const headers = { "Idempotency-Key": once, "Content-Type": "application/json" };
    return this.ask(`/api/photo-sets/${sender.childId}`, sender.cookie, { method: "POST", headers, body: JSON.stringify(set) }, by);
  }

  /** Answers a set: everything in place. */
  answer(cookie: string, { childId, headX }: Sender, photoSetId: string, once: string, voice = ""): Promise<Answer> {
    const fields = {
      once, childId, photoSetId, summary: `All in place, lying on the ${headX < 0.5 ? "LEFT" : "RIGHT"}.`, nextStep: "keep-going", nextView: "any",
      rest: "yes", voice, "verdict.side-down": "in-place", "verdict.prop-low-back": "in-place",
    };
    return this.act("app/desk/children/[childId]/sets/[photoSetId]/actions.ts#sendAnswerAction", `/desk/children/${childId}/sets/${photoSetId}`, cookie, fields);
  }

  /** What the last start's own log says of its sweep of the media folder. */
  swept(): { readonly removed: number; readonly missing: number; readonly held: number } {
    const line = readFileSync(join(this.dataDir, "logs", "prepare.log"), "utf8").split("\n").find((each) => each.includes("media-swept"));
    return JSON.parse(line ?? "null") as { removed: number; missing: number; held: number }; // the line is written by prepare.ts
  }

  /** Paths of the media files on disk, half-written ones too. */
  mediaOnDisk(): readonly string[] {
    return this.#filesIn("media");
  }

  /** Paths of the parts of archives on disk, half-written ones too. */
  archivesOnDisk(): readonly string[] {
    return existsSync(join(this.dataDir, "exports")) ? this.#filesIn("exports") : [];
  }

  #filesIn(folder: string): readonly string[] {
    const path = join(this.dataDir, folder);
    return readdirSync(path, { recursive: true, encoding: "utf8" }).filter((name) => /[0-9a-f]{32}$/.test(name)).map((name) => join(path, name));
  }

  /** Everybody who is signed in showed just now who they are. */
  letAllProve(): void {
    this.sql((db) => db.prepare("update sessions set mail_proved_at = @now, proved_at = case when proved_at is null then null else @now end").run({ now: Date.now() }));
  }

  /** A day passes for the limit on photos a day; nothing else moves. */
  letADayPass(): void {
    this.sql((db) => db.prepare("update photos set stored_at = stored_at - 86400000").run());
  }
}

export const isTaken = ({ status }: Answer): boolean => status === 201;
/** The door's own word that a set is finished. */
export const isDone = ({ status, body }: Answer): boolean => status === 200 && body === '{"done":true}';
/** An act that leads on to another page. */
export const isLedOn = ({ status, location }: Answer): boolean => [200, 303].includes(status) && /\/desk/.test(location);
export const storedIn = ({ body }: Answer): Stored => {
  const { photo, receivedBytes, sha256: hash } = JSON.parse(body) as { photo: { photoId: string }; receivedBytes: number; sha256: string }; // our own route's answer
  return { photoId: photo.photoId, receivedBytes, sha256: hash };
};
/** The code of a refusal, from a machine answer or a form's. */
export const refusedAs = ({ body }: Answer): string | null => /"problem":\{"code":"([\w-]+)"/.exec(body)?.[1] ?? null;
export const newId = (): string => randomUUID();
