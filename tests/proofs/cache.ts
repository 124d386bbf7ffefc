import { spawn } from "node:child_process";
import { chmodSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { canariesIn, mayRead, plant, readerNamed, type Planted, type Reader } from "@/e2e/walk/canaries";
import { pathTo } from "@/e2e/walk/paths";
import type { Cast } from "@/e2e/walk/people";
import type { Answer, Sent } from "@/e2e/walk/request";
import { PAGES } from "@/e2e/walk/table";
import { freePort } from "@/e2e/walk/port";
import { whyNoNginx } from "@/tests/proofs/nginx";
import { newId, type Practice } from "@/tests/proofs/practice";
import { pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

/** Two families, by their guardians. */
const PEOPLE = ["Adaeze Okonjo-Lund", "Sanna Brandvik"] as const;

/**
 * The app behind an nginx that keeps whatever it may: what says nothing about keeping for ten minutes, under the address
 * alone. Two people and a stranger ask for the same addresses by turns; nobody gets what was kept of another's.
 */
export async function cache(practice: Practice): Promise<Report> {
  const why = whyNoNginx();
  if (why) return { figures: { asked: 0 }, losses: [why] };
  const db = practice.openDatabase();
  const cookies = await Promise.all(PEOPLE.map((name) => practice.signIn(name)));
  const readers: readonly Reader[] = [...PEOPLE.map((name) => readerNamed(db, name)), null];
  const casts = readers.flatMap((reader) => (reader?.childIds[0] ? [castOf(practice, reader.childIds[0])] : []));
  db.prepare("update people set demo_order = null").run();
  const planted = plant(db);
  const nginx = await startCaching(practice.port);
  const losses: string[] = [];
  const count = { asked: 0, fromTheCache: 0, private: 0 };
  const ask = async (who: number, path: string, sent: Sent = {}): Promise<Answer> => {
    const answer = await practice.ask(path, cookies[who] ?? "", sent, nginx.port);
    count.asked += 1;
    const isKept = answer.headers["x-kept"] === "HIT";
    if (isKept) count.fromTheCache += 1;
    if (isKept && !isPublic(path)) losses.push(`${path.replaceAll(/[0-9a-f-]{36}/g, "ID")} was kept`);
    count.private += lookAt(answer, readers[who] ?? null, planted, db, losses, path);
    return answer;
  };
  try {
    const addresses = [...Object.keys(PAGES).filter((route) => route !== "/demo-mail" && !route.startsWith("/desk")), "/api/kept", "/api/health", "/media/[childId]/[photoId]/[kind]"].flatMap((route) => (route.includes("[") ? casts.map((cast) => pathTo(cast, route)) : [route]));
    // As a page of another kind, and as a stream: a cache that goes by an ending or by the address alone is led astray by it.
    const more = ["/family/history/x.css", "/family/x.js", "/family%2fhistory.css", "/family?_rsc=abc", "/family/history?_rsc=abc", "/api/kept?x.json"];
    for (const path of [...addresses, ...more]) {
      for (const who of [0, 1, 2, 0, 2, 1]) await ask(who, path);
      for (const who of [0, 1, 2]) await ask(who, path, { headers: { RSC: "1" } });
      for (const who of [2, 1]) await ask(who, path);
    }
    // It does keep what may be kept, or all this would say nothing.
    const script = /src="(\/_next\/static\/[^"]+\.js)"/.exec((await ask(2, "/sign-in")).body)?.[1] ?? "";
    await ask(0, script);
    if ((await ask(2, script)).headers["x-kept"] !== "HIT") losses.push("the cache keeps nothing, so it proves nothing");
    if (count.private === 0) losses.push("nobody read anything of their own");
  } finally {
    await nginx.stop();
    db.close();
  }
  return { figures: { ...count, lost: losses.length }, losses };
}

const isPublic = (path: string): boolean => /^\/(?:_next\/static\/|icons\/|worker\.js|manifest|icon|favicon)/.test(path);

/** How much of it is somebody's own; what is another's is a loss. */
function lookAt({ body, headers }: Answer, reader: Reader, planted: Planted, db: ReturnType<Practice["openDatabase"]>, losses: string[], path: string): number {
  const found = canariesIn(`${JSON.stringify(headers["set-cookie"] ?? "")} ${body}`, planted.canaries).filter(({ run }) => !path.includes(run));
  for (const canary of found) if (!mayRead(reader, canary, db)) losses.push(`${reader ? "another family" : "a stranger"} reads ${canary.column} at ${path.replaceAll(/[0-9a-f-]{36}/g, "ID")}`);
  return found.filter(({ readers }) => readers === "child").length;
}

function castOf(practice: Practice, childId: string): Cast {
  const [row] = practice.rows("select s.family_id as familyId, s.id as photoSetId, p.id as photoId from photo_sets s join photos p on p.photo_set_id = s.id where s.child_id = ? and s.sent_at is not null limit 1", childId);
  const ids = { familyId: String(row?.["familyId"]), photoSetId: String(row?.["photoSetId"]), photoId: String(row?.["photoId"]) };
  return { childId, ...ids, exerciseKey: "side-lying", voiceNoteId: newId(), uploadId: newId(), questionId: newId(), sessionId: newId(), exportId: newId(), secret: "", disabledId: "", buttons: {} as Cast["buttons"] }; // nobody signs in by them
}

async function startCaching(app: number): Promise<{ readonly port: number; stop(): Promise<void> }> {
  const dir = mkdtempSync(join(tmpdir(), "trueside-cache-"));
  chmodSync(dir, 0o755); // the workers are another account
  const port = await freePort();
  const temporary = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"].map((name) => `${name}_temp_path ${dir}/${name};`).join(" ");
  writeFileSync(join(dir, "nginx.conf"), `daemon off; pid ${dir}/pid; error_log ${dir}/error.log; events {} http { access_log off; ${temporary}
    proxy_cache_path ${dir}/kept keys_zone=kept:4m max_size=200m;
    server { listen 127.0.0.1:${port}; location / {
      proxy_pass http://127.0.0.1:${app}; proxy_set_header Host $http_host; proxy_http_version 1.1; proxy_set_header Connection "";
      proxy_cache kept; proxy_cache_valid any 10m; proxy_cache_key $request_uri; add_header X-Kept $upstream_cache_status always; } } }`);
  const child = spawn("nginx", ["-p", dir, "-c", join(dir, "nginx.conf")], { stdio: "ignore" });
  const ended = new Promise<void>((resolve) => child.once("close", () => resolve()));
  while (!(await isOpen(port)) && child.exitCode === null) await pause(50);
  return {
    port,
    stop: async () => {
      child.kill("SIGTERM");
      await ended;
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

const isOpen = (port: number): Promise<boolean> => new Promise((resolve) => {
  const probe = connect(port, "127.0.0.1", () => {
    probe.destroy();
    resolve(true);
  }).on("error", () => resolve(false));
});
