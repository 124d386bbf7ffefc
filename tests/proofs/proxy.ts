import { existsSync, readdirSync, readFileSync } from "node:fs";
import { connect as connectHttp2 } from "node:http2";
import { connect } from "node:net";
import { networkInterfaces } from "node:os";
import { join } from "node:path";
import { RawConnection, rawRequest } from "@/e2e/raw-http";
import { freePort } from "@/e2e/walk/port";
import { FILES } from "@/lib/trust/data-map";
import { noiseJpeg, photo24Mp } from "@/tests/photos/sources";
import { openTlsLine, startNginx, tlsFrom, whyNoNginx } from "@/tests/proofs/nginx";
import { isShed } from "@/tests/proofs/acts";
import { pause } from "@/tests/proofs/random";
import { isTaken, newId, Practice, sha256, storedIn } from "@/tests/proofs/practice";
import type { Report } from "@/tests/proofs/report";

const MB = 1024 * 1024;
/** Each may hold 50 connections. */
const [RUSH_FROM, RUSH_EACH] = [["127.0.0.4", "127.0.0.5", "127.0.0.6", "127.0.0.7", "127.0.0.8"], 45] as const;
const HSTS = "max-age=31536000; includeSubDomains";
const FORGED = {
  "X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "http", "X-Real-IP": "203.0.113.9", Forwarded: "host=evil.example;for=203.0.113.9",
  "x-middleware-subrequest": "proxy:proxy:proxy:proxy:proxy", "X-Original-URL": "/desk", "x-client-network": "203.0.113.9",
};
const ASK = "app/(open)/sign-in/actions.ts#askForCodeAction";
const CODE_IN_MAIL = /sign-in code: (\d{4})[ -]?(\d{4})/;
const CODE = "app/(open)/sign-in/actions.ts#codeAction";

/** The app behind a real nginx with the file that administrators copy: what a request claims has no effect, and what is sent arrives whole. */
export async function proxy(): Promise<Report> {
  const why = whyNoNginx();
  if (why) return { figures: { checks: 0 }, losses: [why] };
  const [tls, plain] = [await freePort(), await freePort()];
  const practice = await Practice.open(undefined, { PUBLIC_URL: `https://localhost:${tls}`, TRUST_PROXY: "1" });
  try {
    const nginx = await startNginx({ tls, plain, app: practice.port });
    const lines = await Promise.all(["127.0.0.2", "127.0.0.3"].map((from) => openTlsLine(tls, nginx.certificate, from)));
    try {
      return await check(practice, { tls, plain, nginx, here: lines[0]?.port ?? 0, there: lines[1]?.port ?? 0 });
    } finally {
      for (const line of lines) line.close();
      await nginx.stop();
    }
  } finally {
    await practice.close();
  }
}

type Front = { readonly tls: number; readonly plain: number; readonly nginx: Awaited<ReturnType<typeof startNginx>>; readonly here: number; readonly there: number };

async function check(practice: Practice, { tls, plain, nginx, here, there }: Front): Promise<Report> {
  const losses: string[] = [];
  let checks = 0;
  const expect = (what: string, isSo: boolean, seen: unknown = ""): void => {
    checks += 1;
    if (!isSo) losses.push(`${what}: ${String(seen)}`);
  };
  const host = `Host: localhost:${tls}`;
  const raw = (...lines: readonly string[]) => rawRequest(here, lines);

  // What a request claims.
  const stranger = await practice.ask("/desk", "", { headers: FORGED }, here);
  expect("a forged internal header leads a stranger past sign-in", stranger.status === 303 && /^(?:https:\/\/localhost:\d+)?\/sign-in/.test(stranger.location), `${stranger.status} ${stranger.location}`);
  expect("another host's name is answered", (await raw("GET /sign-in HTTP/1.1", "Host: evil.example")).status === 0);
  for (const address of ["http://169.254.169.254/", `https://localhost:${tls}/sign-in`]) {
    const { status } = await raw(`GET ${address} HTTP/1.1`, host);
    expect(`a whole address is answered (${address})`, status === 400 || status === 0, status);
  }
  const upgrade = await rawRequest(here, ["GET / HTTP/1.1", host, "Upgrade: websocket", "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==", "Sec-WebSocket-Version: 13"]);
  expect("a websocket is not refused", upgrade.status === 400, upgrade.status);
  const both = await raw("POST /sign-in HTTP/1.1", host, "Content-Length: 5", "Transfer-Encoding: chunked");
  expect("two lengths of one body are not refused", both.status === 400, both.status);
  expect("TRACE is answered", (await raw("TRACE / HTTP/1.1", host)).status === 405);

  for (const path of ["/.git/HEAD", "/.env", "/package.json", "/trueside.db", "/data/trueside.db", "/keys/mediaKey", "/_next/../package.json", "/_next/static/..%2f..%2fpackage.json"]) {
    const { status } = await practice.ask(path, "", {}, here);
    expect(`a file that is nobody's is given (${path})`, status === 404 || status === 400, status);
  }
  const scripts = [...(await practice.ask("/sign-in", "", {}, here)).body.matchAll(/src="(\/_next\/static\/[^"]+\.js)"/g)].map(([, script = ""]) => script);
  const maps = await Promise.all(scripts.map(async (script) => (await practice.ask(`${script}.map`, "", {}, here)).status));
  expect("a source map is given", maps.length > 0 && maps.every((status) => status === 404), maps.join(" "));

  // Sign-in by mailed code through it; the mail names our address alone.
  const email = String(practice.rows("select email from people where name = 'Adaeze Okonjo-Lund'")[0]?.["email"]);
  const asked = await practice.act(ASK, "/sign-in", "", { email }, { ...FORGED, "X-Forwarded-For": "203.0.113.1" }, here);
  const mail = await mailTo(practice, email);
  const addresses = mail.match(/https?:\/\/[^/\s>]+/g) ?? [];
  expect("a mail names another address", addresses.length > 0 && addresses.every((address) => address === practice.origin), addresses.join(" "));
  const waiting = asked.headers["set-cookie"]?.map((each) => each.split(";", 1)[0]).join("; ") ?? "";
  const signedIn = await practice.act(CODE, "/sign-in/code", waiting, { code: CODE_IN_MAIL.exec(mail)?.slice(1).join("") ?? "" }, {}, here);
  const set = signedIn.headers["set-cookie"] ?? [];
  const cookie = set.map((each) => each.split(";", 1)[0]).filter((each) => /=./.test(each ?? "")).join("; ");
  expect("the session cookie is not bound to host and TLS", set.some((each) => /^__Host-.*session-token=.+Secure/.test(each)), set.length);

  // Private pages: never kept, never another's; HSTS once, on nginx's own answers too.
  const page = await practice.ask("/family", cookie, {}, here);
  expect("the signed-in page does not come", page.status === 200, page.status);
  expect("a private page may be kept", /no-store/.test(page.headers["cache-control"] ?? ""), page.headers["cache-control"]);
  expect("the next stranger gets a kept page", (await practice.ask("/family", "", {}, there)).status === 303);
  expect("HSTS is not there once", page.headers["strict-transport-security"] === HSTS, page.headers["strict-transport-security"]);

  // Photos, by both versions of HTTP, past the size at which the framework would cut them.
  const sender = (await practice.senders())[0];
  if (!sender) throw new Error("nobody may send");
  const mine = { ...sender, cookie };
  const photo = photo24Mp();
  const place = () => ({ sender: mine, setId: newId(), ordinal: 1, key: newId() });
  const taken = await practice.upload(place(), photo, here);
  expect("a photo of 24 megapixels does not arrive whole", isTaken(taken) && storedIn(taken).sha256 === sha256(photo), `${taken.status} ${taken.body.slice(0, 200)}`);
  const large = await noiseJpeg(2400, 1800);
  expect("the large photo is not of the size wanted", large.length > 10.2 * MB && large.length < 25 * MB, large.length);
  const byHttp2 = await upload2(nginx.certificate, tls, mine, large);
  expect("a large photo over HTTP/2 does not arrive whole", byHttp2.status === 201 && byHttp2.body.includes(sha256(large)), `${byHttp2.status} ${byHttp2.body.slice(0, 200)}`);
  const before = practice.rows("select id from photos").length;
  const over = await rawRequest(here, [`POST /api/photos/${sender.childId} HTTP/1.1`, host, `Content-Length: ${27 * MB + 1}`]);
  expect("27 MB and one byte are not refused", over.status === 413, over.status);
  expect("a refusal of nginx's own is without HSTS", over.headers.get("strict-transport-security") === HSTS);
  const endless = new RawConnection(here, `POST /api/photos/${sender.childId} HTTP/1.1\r\n${host}\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n`);
  for (let sent = 0; sent < 28; sent += 1) endless.write(`${MB.toString(16)}\r\n${"a".repeat(MB)}\r\n`);
  const chunked = await within(30_000, endless.answer().then(({ status }) => status));
  expect("28 MB in pieces are not refused", chunked !== 201 && chunked !== null, chunked);
  expect("something refused was kept", practice.rows("select id from photos").length === before);
  const shared = await practice.ask("/family/send/shared", cookie, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: Buffer.alloc(30 * MB) }, here).then(({ status }) => status, () => 0);
  expect("a share of 30 MB is not led on", shared === 303, shared);

  // Who asks: the connection to nginx, not what it says (TRUST_PROXY).
  for (const [index, line] of [here, here, there, there].entries()) await practice.act(ASK, "/sign-in", "", { email: `nobody-${index}@people.example` }, { ...FORGED, "X-Forwarded-For": `203.0.113.${index}` }, line);
  const networks = practice.rows("select distinct network_hash from sign_in_codes").length;
  expect("two clients are not two networks", networks === 2, networks);
  expect("the app listens beside loopback", !(await isOpenOutside(practice.port)));

  // Plain HTTP and slow clients.
  const moved = await rawRequest(plain, ["GET /family?x=1 HTTP/1.1", "Host: localhost"]);
  expect("plain HTTP is not led to TLS", moved.status === 308 && moved.headers.get("location") === `${practice.origin}/family?x=1`, moved.status);
  expect("the proof of the name is not served", (await rawRequest(plain, ["GET /.well-known/acme-challenge/token HTTP/1.1", "Host: localhost"])).body === "proof");
  const slow = await within(20_000, new RawConnection(here, `GET / HTTP/1.1\r\n${host}\r\nX-Slow: `).answer().then(() => "cut"));
  expect("a header that crawls is not cut within 20 seconds", slow === "cut");

  // A rush from several addresses, each within its own limit, on new connections as they come from the street.
  const lines = await Promise.all(RUSH_FROM.map((from) => openTlsLine(tls, nginx.certificate, from)));
  const rush = await Promise.all(lines.flatMap(({ port }) => Array.from({ length: RUSH_EACH }, async () => {
    const began = performance.now();
    const answer = await practice.ask("/family", cookie, {}, port);
    return { answer, ms: performance.now() - began };
  })));
  for (const line of lines) line.close();
  const shed = rush.filter(({ answer }) => isShed(answer));
  const odd = rush.filter(({ answer }) => answer.status !== 200 && !isShed(answer));
  expect("in a rush somebody is neither answered nor told when to come again", odd.length === 0, odd.map(({ answer }) => answer.status).join(" "));
  expect("a rush is let in whole", shed.length > 0);

  const log = nginx.log();
  expect("nginx writes down who asks, or for what", log.length > 0 && !/127\.0\.0|sign-in|203\.0|key=/.test(log));
  const files = readdirSync(practice.dataDir, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).map(({ parentPath, name }) => join(parentPath, name).slice(practice.dataDir.length + 1));
  const unlisted = files.filter((path) => !FILES.some(({ matches }) => matches.test(path)));
  expect("a file is in no data map", unlisted.length === 0, unlisted.join(" "));
  return { figures: { checks, largest: large.length, files: files.length, "rush: answered, turned away": `${rush.length - shed.length}, ${shed.length}`, "turned away after, p95 ms": p95(shed.map(({ ms }) => ms)), "answered after, p95 ms": p95(rush.filter((each) => !shed.includes(each)).map(({ ms }) => ms)), failed: losses.length }, losses };
}

function p95(ms: readonly number[]): number {
  const sorted = [...ms].sort((a, b) => a - b);
  return Math.round(sorted[Math.floor(sorted.length * 0.95)] ?? 0);
}

/** The newest mail with a code to this address, once the outbox has written it. */
async function mailTo({ dataDir }: Practice, email: string): Promise<string> {
  const folder = join(dataDir, "outbox");
  const mails = (): readonly string[] => (existsSync(folder) ? readdirSync(folder) : []).filter((name) => name.endsWith(".eml")).sort().map((name) => readFileSync(join(folder, name), "utf8"));
  const found = await within(60_000, (async () => {
    for (;;) {
      const newest = mails().findLast((mail) => mail.includes(`To: ${email}`) && CODE_IN_MAIL.test(mail));
      if (newest) return newest;
      await pause(200);
    }
  })());
  if (found === null) throw new Error("no mail with a code was written");
  return found;
}

/** The same upload as `Practice.upload`, as a browser sends it. */
function upload2(ca: Buffer, port: number, { childId, cookie }: { readonly childId: string; readonly cookie: string }, photo: Buffer): Promise<{ readonly status: number; readonly body: string }> {
  const origin = `https://localhost:${port}`;
  const query = new URLSearchParams({ set: newId(), exercise: "side-lying", ordinal: "1", view: "behind" });
  return new Promise((resolve, reject) => {
    // Node's own client holds 10 MB at most unless told, and the photo is handed over at once.
    const session = connectHttp2(origin, { maxSessionMemory: 64, createConnection: () => tlsFrom("127.0.0.2", port, ca, ["h2"]) }).on("error", reject);
    const stream = session.request({
      ":method": "POST", ":path": `/api/photos/${childId}?${query}`, origin, cookie, "content-length": String(photo.length), "content-type": "application/octet-stream",
      "idempotency-key": newId(), "x-photo-length": String(photo.length), "x-photo-sha256": sha256(photo), ...Object.fromEntries(Object.entries(FORGED).map(([name, value]) => [name.toLowerCase(), value])),
    });
    let [status, body] = [0, ""];
    stream.on("response", (headers) => (status = Number(headers[":status"]))).setEncoding("utf8").on("data", (text) => (body += text));
    stream.on("error", reject).on("close", () => {
      session.close();
      resolve({ status, body });
    }).end(photo);
  });
}

const within = <T>(ms: number, what: Promise<T>): Promise<T | null> => Promise.race([what, new Promise<null>((resolve) => { setTimeout(() => resolve(null), ms).unref(); })]);

/** Whether the app's own port can be reached by another address of this machine. */
async function isOpenOutside(port: number): Promise<boolean> {
  const outside = Object.values(networkInterfaces()).flatMap((each) => each ?? []).filter(({ internal, family }) => !internal && family === "IPv4");
  const opened = await Promise.all(outside.map(({ address }) => new Promise<boolean>((resolve) => {
    const socket = connect(port, address, () => {
      socket.destroy();
      resolve(true);
    }).on("error", () => resolve(false));
  })));
  return opened.includes(true);
}
