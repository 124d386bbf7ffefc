import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { Agent, request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { freePort } from "@/e2e/walk/port";
import { withEmptyPage } from "@/tests/bench/empty-page";
import { spread, type Line, type Section } from "@/tests/bench/section";
import { Practice } from "@/tests/proofs/practice";
import { familyOf } from "@/tests/proofs/processes";

const [PARENT, THERAPIST] = ["Adaeze Okonjo-Lund", "Tom Ferrant"];
/** Fewer than the gate lets in, so that nothing is turned away. */
const LANES = 8;
const [PAGES_EACH, FILES_EACH] = [64, 400];
/** Clock ticks of the processor a second, as Linux counts them for every program. */
const TICKS = 100;

type Subject = {
  readonly what: string;
  readonly origin: string;
  readonly pid: number;
  readonly path: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly expects: number;
  readonly times: number;
  /** What its rate is held against, and how many times that it should reach; the figures are ours. */
  readonly beside: string | null;
  readonly aim: number | null;
};
type Burst = { readonly rate: number; readonly cpuMs: number };

/**
 * Answers a second over eight kept connections, all subjects in turn in each run and every second run the other way round. The
 * machine's rest slows all of them alike; processor time is that of the server's own processes, its door too, and bears it better.
 */
export async function serving(runs: number): Promise<Section> {
  const practice = await Practice.open();
  const folder = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  try {
    const [parent, staff] = [await practice.signIn(PARENT), await practice.signIn(THERAPIST)];
    const picture = await pictureOf(practice, parent);
    const file = join(folder, "picture");
    writeFileSync(file, picture.bytes);
    const bursts = await withPlainServer(file, (plain) => withEmptyPage(async (origin, pid) => {
      const subjects = subjectsOf(practice, { parent, staff, picture }, { origin, pid }, plain);
      const all = new Map(subjects.map(({ what }) => [what, [] as Burst[]]));
      // The first is not counted: every page is loaded, every connection opened.
      for (let run = -1; run < runs; run += 1) {
        for (const subject of run % 2 === 0 ? subjects : subjects.toReversed()) {
          const seen = await burst(subject);
          if (run >= 0) all.get(subject.what)?.push(seen);
        }
      }
      return { all, subjects };
    }, handlerOf(file)));
    const how = `${LANES} connections, nothing compressed; pages ${PAGES_EACH} and files ${FILES_EACH} answers a run, pictures of ${picture.bytes.length} bytes; "by processor": the same ratio by processor time an answer`;
    return { name: "serving", how, lines: bursts.subjects.map((subject) => lineOf(subject, bursts.all)) };
  } finally {
    await practice.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

type Picture = { readonly path: string; readonly bytes: Buffer; readonly tag: string };
type Who = { readonly parent: string; readonly staff: string; readonly picture: Picture };

function subjectsOf(practice: Practice, { parent, staff, picture }: Who, empty: { readonly origin: string; readonly pid: number }, plain: { readonly origin: string; readonly pid: number }): readonly Subject[] {
  const ours = { origin: practice.origin, pid: practice.pid };
  const waiting = practice.rows("select s.id, s.child_id as childId from waiting_sets w join photo_sets s on s.id = w.photo_set_id limit 1")[0];
  const page = (what: string, path: string, cookie: string): Subject =>
    ({ what, ...ours, path, headers: cookie ? { Cookie: cookie } : {}, expects: 200, times: PAGES_EACH, beside: EMPTY, aim: 0.5 });
  const file = (what: string, from: { readonly origin: string; readonly pid: number }, path: string, headers: Subject["headers"], beside: string | null, aim: number | null): Subject =>
    ({ what, ...from, path, headers, expects: headers["If-None-Match"] ? 304 : 200, times: FILES_EACH, beside, aim });
  return [
    { what: EMPTY, ...empty, path: "/", headers: {}, expects: 200, times: PAGES_EACH, beside: null, aim: null },
    page("signing in", "/sign-in", ""),
    page("before you start", "/family", parent),
    page("history", "/family/history", parent),
    page("to answer", "/desk", staff),
    page("answering", `/desk/children/${String(waiting?.["childId"])}/sets/${String(waiting?.["id"])}`, staff),
    file(HANDLER, empty, "/picture", {}, null, null),
    file(PICTURE, ours, picture.path, { Cookie: parent }, HANDLER, 0.7),
    file("the same for staff, audited", ours, picture.path, { Cookie: staff }, HANDLER, 0.7),
    file("the same again: 304", ours, picture.path, { Cookie: parent, "If-None-Match": picture.tag }, PICTURE, 2),
    file("the same bytes, plain Node, from disk", plain, "/", {}, PICTURE, null),
  ];
}

const [EMPTY, HANDLER, PICTURE] = ["an empty page", "the same bytes, a handler of the framework", "a picture, authorised and opened"];

function lineOf({ what, beside, aim }: Subject, all: ReadonlyMap<string, readonly Burst[]>): Line {
  const own = all.get(what) ?? [];
  const other = beside === null ? null : all.get(beside) ?? [];
  const [rate, cpu] = [spread(own.map((each) => each.rate)), spread(own.map((each) => each.cpuMs), 2)];
  // Run by run, so that what else the machine did in one run counts for both.
  const times = other && spread(own.map((each, run) => each.rate / (other[run]?.rate ?? Number.NaN)), 2);
  const byCpu = other && spread(own.map((each, run) => (other[run]?.cpuMs ?? Number.NaN) / each.cpuMs), 2);
  return {
    what, runs: own.length, "a second": rate.median, "least to most": `${rate.least} to ${rate.most}`, beside: beside ?? "",
    times: times?.median ?? "", "times, least to most": times ? `${times.least} to ${times.most}` : "", aim: aim ?? "",
    "processor ms": cpu.median, "by processor": byCpu?.median ?? "",
  };
}

async function burst(subject: Subject): Promise<Burst> {
  const agent = new Agent({ keepAlive: true, maxSockets: LANES });
  let left = subject.times;
  const lane = async (): Promise<void> => {
    while (left > 0) {
      left -= 1;
      await once(subject, agent);
    }
  };
  try {
    const all = [subject.pid, ...familyOf(subject.pid)];
    const cpuNow = (): number => all.reduce((sum, pid) => sum + cpuOf(pid), 0);
    const [cpu, began] = [cpuNow(), performance.now()];
    await Promise.all(Array.from({ length: LANES }, lane));
    const ms = performance.now() - began;
    return { rate: (subject.times / ms) * 1000, cpuMs: (cpuNow() - cpu) / subject.times };
  } finally {
    agent.destroy();
  }
}

function once({ origin, path, headers, expects }: Subject, agent: Agent): Promise<void> {
  return new Promise((resolve, reject) => {
    const outgoing = request(new URL(path, origin), { agent, headers }, (incoming) => {
      incoming.on("data", () => undefined).on("error", reject).on("end", () => {
        if (incoming.statusCode === expects) resolve();
        else reject(new Error(`${path} answered ${incoming.statusCode}`));
      });
    });
    outgoing.on("error", reject);
    outgoing.end();
  });
}

/** Of all threads of a process, in ms; nothing when it is gone. */
function cpuOf(pid: number): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, "latin1").replace(/^.*\) /s, "").split(" ");
    return ((Number(fields[11]) + Number(fields[12])) * 1000) / TICKS;
  } catch {
    return 0;
  }
}

/** A photo of the parent's child, in the size that a family is shown. */
async function pictureOf(practice: Practice, cookie: string): Promise<Picture> {
  const rows = practice.rows(
    "select m.child_id as childId, m.photo_id as photoId from media_files m join photos p on p.id = m.photo_id join care_links c on c.child_id = m.child_id join people who on who.id = c.person_id where m.kind = '1024' and p.removed_at is null and who.name = ?",
    PARENT,
  );
  for (const { childId, photoId } of rows) {
    const path = `/media/${String(childId)}/${String(photoId)}/1024`;
    const answer = await fetch(practice.origin + path, { headers: { Cookie: cookie } });
    if (answer.status === 200) return { path, bytes: Buffer.from(await answer.arrayBuffer()), tag: answer.headers.get("etag") ?? "" };
  }
  throw new Error("the demo has no photo for this parent to see");
}

const handlerOf = (file: string): Readonly<Record<string, string>> => ({
  "app/picture/route.js": `import { readFileSync } from "node:fs";
export const dynamic = "force-dynamic";
const bytes = readFileSync(${JSON.stringify(file)});
export const GET = () => new Response(new Uint8Array(bytes), { headers: { "Content-Type": "image/jpeg", "Content-Length": String(bytes.length), "Cache-Control": "private, no-cache" } });
`,
});

/** A server of a dozen lines that reads the file at each request and asks nobody anything. */
async function withPlainServer<T>(file: string, work: (at: { readonly origin: string; readonly pid: number }) => Promise<T>): Promise<T> {
  const port = await freePort();
  const text = `require("node:http").createServer((_, response) => require("node:fs").readFile(${JSON.stringify(file)}, (error, bytes) => {
    response.writeHead(error ? 500 : 200, { "Content-Type": "image/jpeg", "Content-Length": bytes?.length ?? 0 }).end(bytes);
  })).listen(${port}, "127.0.0.1", () => console.log("ready"))`;
  const child = spawn(process.execPath, ["-e", text], { stdio: ["ignore", "pipe", "inherit"] });
  try {
    await new Promise((resolve, reject) => {
      child.stdout.once("data", resolve);
      child.once("close", () => reject(new Error("the plain server ended")));
    });
    return await work({ origin: `http://127.0.0.1:${port}`, pid: child.pid ?? 0 });
  } finally {
    child.kill("SIGTERM");
  }
}
