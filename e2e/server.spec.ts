import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import { fillWithDemo } from "./journey/pristine-demo";
import { startOwn } from "./own-server";
import { freePort } from "@/e2e/walk/port";
import { doorOf } from "@/tests/proofs/processes";
import { RawConnection, rawRequest, type RawAnswer } from "./raw-http";

const port = Number(process.env["E2E_PORT"]);
const host = `Host: localhost:${port}`;
const get = (path: string, ...headers: string[]) => rawRequest(port, [`GET ${path} HTTP/1.1`, host, ...headers]);

/** OWASP HTTP Headers Cheat Sheet and ASVS 5.0 V3.4, with `same-origin` for Referrer-Policy as decided. */
const EXPECTED = {
  "x-content-type-options": "nosniff",
  "x-frame-options": "DENY",
  "referrer-policy": "same-origin",
  "cross-origin-opener-policy": "same-origin",
  "cross-origin-resource-policy": "same-origin",
};

function expectFixedHeaders(answer: RawAnswer): void {
  for (const [name, value] of Object.entries(EXPECTED)) expect.soft(answer.headers.get(name), name).toBe(value);
  expect.soft(answer.headers.get("permissions-policy")).toMatch(/camera=\(self\), microphone=\((?:self)?\),.*geolocation=\(\)/);
  expect.soft(answer.headers.has("x-powered-by")).toBe(false);
  expect.soft(answer.headers.has("server")).toBe(false);
  // Plain http on loopback: a browser would refuse it for a year afterwards.
  expect.soft(answer.headers.has("strict-transport-security")).toBe(false);
}

const CLASSES: readonly [string, number, () => Promise<RawAnswer>][] = [
  ["a page", 200, () => get("/sign-in")],
  ["a redirect to sign-in", 303, () => get("/family")],
  ["a page that is not there", 404, () => get("/no-such-page")],
  ["a picture that is not there", 404, () => get("/media/no-such-picture")],
  ["a build file that is not there", 404, () => get("/_next/static/no-such-file.js")],
  ["the picture resizer", 404, () => get("/_next/image?url=%2Fmedia%2Fx&w=640&q=75")],
  ["a machine route that is not there", 404, () => get("/api/no-such-route")],
  ["health", 200, () => get("/api/health")],
  ["a method not allowed on a route", 405, () => rawRequest(port, ["DELETE /api/health HTTP/1.1", host])],
  ["TRACE", 405, () => rawRequest(port, ["TRACE / HTTP/1.1", host])],
  ["an address of another host", 400, () => rawRequest(port, ["GET http://169.254.169.254/ HTTP/1.1", host])],
  ["an address that reads as another host", 400, () => get("//evil.example/x")],
  ["a backslash address", 400, () => get("/\\evil.example")],
  ["another host's name", 421, () => rawRequest(port, ["GET /sign-in HTTP/1.1", "Host: evil.example"])],
  ["an upgrade", 400, () => rawRequest(port, ["GET / HTTP/1.1", host, "Upgrade: websocket", "Connection: Upgrade", "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==", "Sec-WebSocket-Version: 13"])],
  ["headers past 16 KB", 431, () => get("/", `X-Long: ${"a".repeat(20_000)}`)],
  ["a form past its size", 413, () => rawRequest(port, ["POST /sign-in HTTP/1.1", host, "Content-Length: 2000000"])],
  ["what is not HTTP", 400, () => rawRequest(port, ["NONSENSE"])],
];

for (const [name, status, ask] of CLASSES) {
  test(`the full header set stands on ${name}`, async () => {
    const answer = await ask();
    expect(answer.status).toBe(status);
    expectFixedHeaders(answer);
    expect(answer.headers.get("cache-control")).toContain("no-store");
  });
}

test("a build file is kept for good and a page never", async () => {
  const page = await get("/sign-in");
  const file = /src="(\/_next\/static\/[^"]+\.js)"/.exec(page.body)?.[1];
  expect(file).toBeTruthy();
  const script = await get(file ?? "");
  expect(script.status).toBe(200);
  expect(script.headers.get("cache-control")).toBe("public, max-age=31536000, immutable");
  expectFixedHeaders(script);
  expect(page.headers.get("cache-control")).toContain("private, no-store");
});

test("what leads to the answering desk may ask for the microphone, and nothing else may", async () => {
  const microphone = async (path: string) => /microphone=\(([a-z]*)\)/.exec((await get(path)).headers.get("permissions-policy") ?? "")?.[1];
  for (const path of ["/", "/sign-in", "/sign-in/code", "/desk", "/desk/children/x/sets/y", "/join"]) expect(await microphone(path), path).toBe("self");
  for (const path of ["/family", "/family/send", "/privacy", "/media/x/voice/y", "/api/health", "/deskx", "/no-such-page"]) expect(await microphone(path), path).toBe("");
});

test("health says only that it is well", async () => {
  const answer = await get("/api/health");
  // Tests beside this one force errors, which is an alarm.
  expect(answer.body).toMatch(/\{"ok":true(?:,"alarm":true)?\}/);
  expect(answer.headers.get("content-type")).toContain("application/json");
});

test("readiness says whether what is sent could be kept, and nothing else", async () => {
  const answer = await get("/api/ready");
  expect([answer.status, answer.body.trim()]).toEqual([200, expect.stringContaining('{"ok":true}')]);
  expect(answer.headers.get("cache-control")).toContain("no-store");
});

const nonceOf = (policy: string | undefined) => /'nonce-([^']+)'/.exec(policy ?? "")?.[1] ?? "";

test("every load has its own nonce, on every script of the page", async () => {
  const pages = [await get("/sign-in"), await get("/sign-in"), await get("/no-such-page"), await get("/no-such-page")];
  const nonces = pages.map((page) => nonceOf(page.headers.get("content-security-policy")));
  expect(new Set(nonces).size).toBe(pages.length);
  pages.forEach((page, index) => {
    // 128 random bits at least (OWASP Content Security Policy Cheat Sheet).
    expect(Buffer.from(nonces[index] ?? "", "base64").length).toBeGreaterThanOrEqual(16);
    const scripts = page.body.match(/<script\b[^>]*>/g) ?? [];
    expect(scripts.length).toBeGreaterThan(0);
    for (const script of scripts) expect(script).toContain(`nonce="${nonces[index]}"`);
    expect(page.body).not.toMatch(/\sstyle="/);
    expect(page.body).not.toMatch(/<style\b/);
  });
});

test("the page policy allows no inline script, style, frame, plugin or foreign form", async () => {
  const policy = (await get("/sign-in")).headers.get("content-security-policy") ?? "";
  const directives = new Map(policy.split("; ").map((part) => [part.split(" ")[0], part.slice(part.indexOf(" ") + 1)]));
  expect(directives.get("default-src")).toBe("'self'");
  expect(directives.get("script-src")).toMatch(/^'self' 'nonce-[\w+/=]+' 'strict-dynamic'$/);
  expect(directives.get("style-src")).toBe("'self'");
  expect(directives.get("img-src")).toBe("'self' blob: data:");
  for (const name of ["object-src", "base-uri", "frame-ancestors"]) expect(directives.get(name)).toBe("'none'");
  expect(directives.get("form-action")).toBe("'self'");
  expect(directives.get("worker-src")).toBe("'self'");
});

test("a policy or nonce sent by the browser is not reflected", async () => {
  const hostile = "aG9zdGlsZS1ub25jZS1oZXJl";
  for (const path of ["/sign-in", "/no-such-page", "/api/health"]) {
    const answer = await get(path, `Content-Security-Policy: script-src 'nonce-${hostile}'`, `Content-Security-Policy-Report-Only: script-src 'nonce-${hostile}'`, `X-Nonce: ${hostile}`);
    expect([...answer.headers.values()].join("\n")).not.toContain(hostile);
    expect(answer.body).not.toContain(hostile);
  }
});

test("forged proxy headers move no redirect and open no door", async () => {
  const forged = ["X-Forwarded-Host: evil.example", "X-Forwarded-Proto: https", "Forwarded: host=evil.example", "X-Middleware-Subrequest: proxy:proxy:proxy:proxy:proxy", "X-Original-URL: /desk", "X-Rewrite-URL: /desk"];
  const answer = await get("/family", ...forged);
  // CVE-2025-29927: with the header unstripped the proxy would be skipped.
  expect(answer.status).toBe(303);
  expect(answer.headers.get("location")).toBe("/sign-in?then=%2Ffamily");
});

test("127.0.0.1 leads to the one name that cookies are for", async () => {
  const answer = await rawRequest(port, ["GET /sign-in?x=1 HTTP/1.1", `Host: 127.0.0.1:${port}`]);
  expect(answer.status).toBe(307);
  expect(answer.headers.get("location")).toBe(`http://localhost:${port}/sign-in?x=1`);
});

test("a page raises no policy violation in the browser, found or not", async ({ page }) => {
  const complaints: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error" && !/status of 404/.test(message.text())) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  await page.addInitScript(() => document.addEventListener("securitypolicyviolation", (event) => console.error(`violation ${event.violatedDirective}`)));
  const foreign: string[] = [];
  page.on("request", (request) => {
    if (!request.url().startsWith(`http://localhost:${port}/`)) foreign.push(request.url());
  });
  for (const path of ["/", "/sign-in", "/no-such-page"]) {
    await page.goto(path, { waitUntil: "load" });
    await expect(page.locator("h1").first()).toBeVisible();
    // Long enough for the scripts of the page to run.
    await page.waitForTimeout(1000);
  }
  expect(complaints).toEqual([]);
  expect(foreign).toEqual([]);
});

test.describe("a server of its own", () => {
  test.describe.configure({ mode: "serial" });
  let own: ReturnType<typeof startOwn>;
  let ownPort: number;
  const dataDir = mkdtempSync(join(tmpdir(), "trueside-own-"));
  const hold = (path = "/sign-in") => new RawConnection(ownPort, `POST ${path} HTTP/1.1\r\nHost: localhost:${ownPort}\r\nOrigin: http://localhost:${ownPort}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 4\r\nConnection: close\r\n\r\n`);

  test.beforeAll(async () => {
    ownPort = await freePort();
    fillWithDemo(dataDir);
    own = startOwn({ PORT: String(ownPort), DATA_DIR: dataDir });
    expect(await own.ready).toBe(true);
  });
  test.afterAll(async () => {
    own.process.kill("SIGKILL");
    await own.ended;
    rmSync(dataDir, { recursive: true, force: true });
  });

  test("a second process on the same data folder refuses in one sentence", async () => {
    const second = await startOwn({ PORT: String(await freePort()), DATA_DIR: dataDir }).ended;
    expect(second.code).toBe(1);
    expect(second.out).toBe("");
    expect(second.err).toContain(`Another process (${own.process.pid}) is using ${dataDir}`);
    expect(second.err).not.toMatch(/\n\s+at /);
  });

  test("a busy port is said in one sentence", async () => {
    const elsewhere = mkdtempSync(join(tmpdir(), "trueside-busy-"));
    const second = await startOwn({ PORT: String(ownPort), DATA_DIR: elsewhere }).ended;
    rmSync(elsewhere, { recursive: true, force: true });
    expect(second.code).toBe(1);
    expect(second.err).toContain(`Port ${ownPort} is already in use`);
    expect(second.err).not.toMatch(/\n\s+at /);
  });

  test("past the gate requests are turned away, health still answers, and it recovers", async () => {
    const ask = () => rawRequest(ownPort, ["GET /sign-in HTTP/1.1", `Host: localhost:${ownPort}`]);
    expect((await ask()).status).toBe(200);
    // As many as are let in, whose bodies never come.
    const held = Array.from({ length: 24 }, () => hold());
    await expect.poll(async () => (await ask()).status).toBe(503);
    const shed = await Promise.all(Array.from({ length: 80 }, ask));
    for (const answer of shed) {
      expect(answer.status).toBe(503);
      expect(Number(answer.headers.get("retry-after"))).toBeGreaterThan(0);
    }
    shed.slice(0, 1).forEach(expectFixedHeaders);
    const health = await rawRequest(ownPort, ["GET /api/health HTTP/1.1", `Host: localhost:${ownPort}`]);
    expect(health.status).toBe(200);
    for (const connection of held) connection.end();
    await expect.poll(async () => (await ask()).status, { timeout: 20_000 }).toBe(200);
  });

  test("while the app does nothing at all, the door turns away whom it has no place for, speaks of health, and loses nobody it let in", async () => {
    const ask = (path: string) => rawRequest(ownPort, [`GET ${path} HTTP/1.1`, `Host: localhost:${ownPort}`]);
    expect((await ask("/api/health")).status).toBe(200);
    own.process.kill("SIGSTOP");
    const answers: RawAnswer[] = [];
    const all = Array.from({ length: 88 }, async () => void answers.push(await ask("/manifest.webmanifest")));
    // Twenty-four are inside; everybody else is answered, by a process that is not stopped.
    await expect.poll(() => answers.length).toBe(64);
    for (const { status, headers } of answers) expect([status, Number(headers.get("retry-after")) > 0]).toEqual([503, true]);
    // Well by what the app said a moment ago, not well once that is old: said in any case.
    expect([200, 503]).toContain((await ask("/api/health")).status);
    expect(answers).toHaveLength(64);
    own.process.kill("SIGCONT");
    await Promise.all(all);
    expect(answers.slice(64).map(({ status }) => status)).toEqual(Array.from({ length: 24 }, () => 200));
    await expect.poll(async () => (await ask("/api/health")).status).toBe(200);
  });

  test("a header that crawls is cut within 15 seconds", async () => {
    const slow = new RawConnection(ownPort, "GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: ");
    const drip = setInterval(() => slow.write("a"), 500);
    const answer = await slow.answer();
    clearInterval(drip);
    expect(answer.status).toBe(408);
    expect(answer.ms).toBeLessThan(15_000);
  });

  test("SIGTERM finishes the request in hand, takes no new one, and leaves the folder free", async () => {
    const inHand = hold("/no-such-page");
    await new Promise((resolve) => setTimeout(resolve, 200));
    own.process.kill("SIGTERM");
    await new Promise((resolve) => setTimeout(resolve, 300));
    const late = await rawRequest(ownPort, ["GET /api/health HTTP/1.1", `Host: localhost:${ownPort}`]);
    expect(late.status).toBe(0);
    inHand.write("a=bc");
    expect((await inHand.answer()).status).toBe(404);
    const { code, out } = await own.ended;
    expect(code).toBe(0);
    expect(out).toMatch(/^Trueside \(demo\) is at http:\/\/localhost:\d+\n$/);
  });

  test("after kill -9 the next start takes the folder over", async () => {
    own = startOwn({ PORT: String(ownPort), DATA_DIR: dataDir });
    expect(await own.ready).toBe(true);
    own.process.kill("SIGKILL");
    await own.ended;
    own = startOwn({ PORT: String(ownPort), DATA_DIR: dataDir });
    expect(await own.ready).toBe(true);
    expect((await rawRequest(ownPort, ["GET /api/health HTTP/1.1", `Host: localhost:${ownPort}`])).status).toBe(200);
  });

  test("the door killed, the app ends too, and the next start takes over", async () => {
    process.kill(doorOf(own.process.pid ?? 0), "SIGKILL");
    const { code, err } = await own.ended;
    expect(code).toBe(1);
    expect(err).toContain('"event":"door-lost"');
    own = startOwn({ PORT: String(ownPort), DATA_DIR: dataDir });
    expect(await own.ready).toBe(true);
  });

  test("npm start, asked to stop, takes the server down with it", async () => {
    const folder = mkdtempSync(join(tmpdir(), "trueside-npm-"));
    fillWithDemo(folder);
    const settings = { PORT: String(await freePort()), DATA_DIR: folder };
    const npm = startOwn(settings, "npm", ["start", "--silent"]);
    expect(await npm.ready).toBe(true);
    npm.process.kill("SIGTERM");
    const next = async () => {
      const again = startOwn(settings);
      const isFree = await again.ready;
      again.process.kill("SIGTERM");
      await again.ended;
      return isFree;
    };
    await expect.poll(next, { timeout: 60_000 }).toBe(true);
    rmSync(folder, { recursive: true, force: true });
  });

  test("the demo folder refuses to become a real practice", async () => {
    const { code, err } = await startOwn({ PORT: String(await freePort()), DATA_DIR: dataDir, DEMO: "0" }).ended;
    expect(code).toBe(1);
    expect(err).toContain("can never become a real practice");
  });
});
