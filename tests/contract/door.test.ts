import { mkdtempSync } from "node:fs";
import { createServer, request, type IncomingMessage, type RequestListener, type Server, type ServerResponse } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { RawConnection, rawRequest } from "@/e2e/raw-http";
import { freePort } from "@/e2e/walk/port";
import { Health } from "@/lib/cli/health.mjs";
import { answering } from "@/lib/cli/own-answer.mjs";
import { openDoor } from "@/lib/cli/open-door.mjs";

// The real door before an app of the test's own. Where a standard is meant: HTTP, RFC 9110 and RFC 9112.
const MB = 1024 * 1024;
let app: Server;
let answers: RequestListener;
let door: Awaited<ReturnType<typeof openDoor>>;
let port: number;
const seen: IncomingMessage[] = [];
const host = (): string => `Host: localhost:${port}`;

beforeEach(async () => {
  seen.length = 0;
  answers = (_request, response) => void response.end("said");
  const socket = join(mkdtempSync(join(tmpdir(), "trueside-door-")), "app");
  app = createServer({ keepAliveTimeout: 0 }, (incoming, response) => {
    if (incoming.url !== "/api/health") seen.push(incoming);
    answers(incoming, response);
  });
  await new Promise<void>((resolve) => app.listen(socket, resolve));
  port = await freePort();
  door = await openDoor({ host: "127.0.0.1", port, origin: `http://localhost:${port}`, trustsProxy: false, socket });
  door.letIn();
  await vi.waitFor(async () => expect((await rawRequest(port, ["GET /_next/static/x HTTP/1.1", host()])).status).toBe(200), 10_000);
  seen.length = 0;
});

afterEach(async () => {
  app.closeAllConnections();
  await door.close();
  app.close();
});

/** One request whose answer's raw headers are wanted, or whose body is sent by hand. */
const open = (path: string, options: object = {}) => request({ port, path, headers: { Host: `localhost:${port}` }, agent: false, ...options });

test("an answer's headers come name for name, those twice too; those of one connection stay where they are", async () => {
  answers = (_request, response) => void response.writeHead(200, "Fine", ["Set-Cookie", "a=1", "X-Own", "é", "Set-Cookie", "b=2", "Date", "then", "Keep-Alive", "timeout=9", "Content-Length", "4"]).end(Buffer.from("said"));
  const answer = await new Promise<IncomingMessage>((resolve) => open("/page").once("response", resolve).end());
  expect([answer.statusCode, answer.statusMessage]).toEqual([200, "Fine"]);
  expect(answer.rawHeaders).toEqual(["Set-Cookie", "a=1", "X-Own", "é", "Set-Cookie", "b=2", "Date", "then", "Content-Length", "4", "Connection", "close"]);
  answer.resume();
});

test("the app learns who asks from the door alone, whatever a request claims and calls its connection's own", async () => {
  const answer = await rawRequest(port, ["GET /page?a=%2F..&b HTTP/1.1", host(), "X-Client-Network: 203.0.113.9", "X-Forwarded-For: 203.0.113.9", "Connection: x-client-network, x-forwarded-proto", "Accept: one", "Accept: two", "Upgrade: h2c"]);
  expect(answer.status).toBe(200);
  expect(seen[0]?.url).toBe("/page?a=%2F..&b");
  expect(seen[0]?.headers).toEqual({ host: `localhost:${port}`, accept: "one, two", "x-client-network": "127.0.0.1", "x-forwarded-proto": "http", connection: "keep-alive" });
});

// Node sends the body of a GET without a frame unless told how it is framed: the app would read it as the next request.
test.each(["GET", "DELETE", "POST"])("the body of a %s is never the next request", async (method) => {
  const inner = "GET /desk HTTP/1.1\r\nHost: evil.example\r\n\r\n";
  answers = (incoming, response) => void incoming.setEncoding("latin1").toArray().then((parts) => response.end(parts.join("")));
  const ways = [["Transfer-Encoding: chunked", `${inner.length.toString(16)}\r\n${inner}\r\n0\r\n\r\n`], [`Content-Length: ${inner.length}`, inner]] as const;
  for (const [frame, body] of ways) {
    const answer = await new RawConnection(port, `${method} /page HTTP/1.1\r\n${host()}\r\n${frame}\r\nConnection: close\r\n\r\n${body}`).answer();
    expect([answer.status, answer.body.includes(inner)]).toEqual([200, true]);
  }
  expect(seen.map(({ url }) => url)).toEqual(["/page", "/page"]);
});

test("a body waits while the app does not take it, and then comes whole", async () => {
  let go = (): void => {};
  let bytes = 0;
  answers = (incoming, response) => {
    go = () => void incoming.on("data", (part: Buffer) => (bytes += part.length)).on("end", () => response.end(String(bytes)));
  };
  const total = 60 * MB;
  const sending = open("/family/send/shared", { method: "POST", headers: { Host: `localhost:${port}`, "Content-Length": total } });
  const answer = new Promise<IncomingMessage>((resolve, reject) => sending.once("response", resolve).once("error", reject));
  let sent = 0;
  const more = (): void => {
    while (sent < total && sending.write(Buffer.alloc(MB))) sent += MB;
  };
  sending.on("drain", () => {
    sent += MB;
    more();
  });
  more();
  await vi.waitFor(() => expect(seen).toHaveLength(1), 10_000);
  // Until both sides stand still: what is on the way is what the sockets hold, and not the photo.
  let before = -1;
  await vi.waitFor(() => {
    const moved = sent !== before;
    before = sent;
    expect(moved).toBe(false);
  }, { timeout: 20_000, interval: 300 });
  expect(sent).toBeLessThan(total / 2);
  go();
  await vi.waitFor(() => expect(sent).toBeGreaterThanOrEqual(total), 30_000);
  sending.end();
  expect(await text(await answer)).toBe(String(total));
});

test("who goes away is gone for the app too, and an answer that the app breaks off is never taken for whole", async () => {
  const gone: string[] = [];
  answers = (incoming, response) => void response.once("close", () => gone.push(incoming.url ?? ""));
  const left = new RawConnection(port, `GET /page HTTP/1.1\r\n${host()}\r\n\r\n`);
  await vi.waitFor(() => expect(seen).toHaveLength(1), 10_000);
  left.end();
  await vi.waitFor(() => expect(gone).toEqual(["/page"]), 10_000);
  answers = (_request, response) => {
    response.writeHead(200, { "Content-Length": 10 });
    response.write("half", () => response.destroy());
  };
  const half = await new Promise<IncomingMessage>((resolve) => open("/page").once("response", resolve).end());
  await expect(text(half)).rejects.toThrow("aborted");
  answers = (_request, response) => void response.destroy();
  await expect(new Promise((_resolve, reject) => open("/page").once("error", reject).end())).rejects.toThrow();
});

test("an answer comes before its request is whole, and the connection takes another", async () => {
  answers = (_request, response) => void response.writeHead(413, { "Content-Length": 0 }).end();
  const both = new RawConnection(port, `POST /page HTTP/1.1\r\n${host()}\r\nContent-Length: 100000\r\n\r\na`);
  await vi.waitFor(() => expect(seen).toHaveLength(1), 10_000);
  both.write("a".repeat(99_999));
  both.write(`GET /after HTTP/1.1\r\n${host()}\r\nConnection: close\r\n\r\n`);
  await both.answer();
  expect(seen.map(({ url }) => url)).toEqual(["/page", "/after"]);
});

test("past its places the door turns away at once, whatever the app does, and whom it let in is answered", async () => {
  const held: ServerResponse[] = [];
  answers = (incoming, response) => void (incoming.url === "/api/health" ? response.end("well") : held.push(response));
  const inside = Array.from({ length: 24 }, () => rawRequest(port, ["GET /media/picture HTTP/1.1", host()]));
  await vi.waitFor(() => expect(held).toHaveLength(24), 10_000);
  const outside = await Promise.all(Array.from({ length: 80 }, () => rawRequest(port, ["GET /page HTTP/1.1", host()])));
  for (const { status, headers, body } of outside) expect([status, headers.get("retry-after"), body]).toEqual([503, "2", expect.stringContaining("Busy")]);
  expect(held).toHaveLength(24);
  for (const response of held) response.end("said");
  expect((await Promise.all(inside)).map(({ status }) => status)).toEqual(Array.from({ length: 24 }, () => 200));
});

// RFC 9112, section 9.6: a server that closes while bytes come lets its answer be lost. The client here is Node's own.
test("who is still sending a photo when it is turned away reads why, and nothing of it is kept", async () => {
  const held: ServerResponse[] = [];
  answers = (_request, response) => void held.push(response);
  const photo = (path: string) => open(path, { method: "POST", headers: { Host: `localhost:${port}`, "Content-Length": 20 * MB } });
  const inside = Array.from({ length: 24 }, (_, at) => photo(`/api/photos/${at}`).on("error", () => undefined));
  for (const each of inside) each.write("a");
  await vi.waitFor(() => expect(held).toHaveLength(24), 10_000);
  const late = photo("/api/photos/late");
  const answer = new Promise<IncomingMessage>((resolve, reject) => late.once("response", resolve).once("error", reject));
  // All at once, far more than the sockets on the way hold.
  late.end(Buffer.alloc(20 * MB));
  const { statusCode, headers } = await answer;
  expect([statusCode, headers["retry-after"], headers.connection]).toEqual([503, "2", "close"]);
  expect(await text(await answer)).toContain("Busy");
  expect(held).toHaveLength(24);
  for (const each of inside) each.destroy();
  // Nobody is waited for who sends nothing: the answer is read to the end of the connection.
  const silent = await new RawConnection(port, `POST /page HTTP/1.1\r\n${host()}\r\nContent-Length: ${30 * MB}\r\n\r\n`).answer();
  expect(silent.status).toBe(413);
});

test("pages reach the app four at a time, in the order they came, each until its answer begins; pictures and forms do not wait for them", async () => {
  const held: ServerResponse[] = [];
  answers = (incoming, response) => void (/page/.test(incoming.url ?? "") ? held.push(response) : response.end("said"));
  const asked = Array.from({ length: 6 }, async (_, at) => {
    await vi.waitFor(() => expect(held.length).toBe(Math.min(at, 4)), 10_000);
    return rawRequest(port, [`GET /page/${at} HTTP/1.1`, host()]);
  });
  await vi.waitFor(() => expect(held).toHaveLength(4), 10_000);
  expect((await rawRequest(port, ["GET /media/picture HTTP/1.1", host()])).status).toBe(200);
  expect((await new RawConnection(port, `POST /form HTTP/1.1\r\n${host()}\r\nContent-Length: 1\r\nConnection: close\r\n\r\na`).answer()).status).toBe(200);
  expect(held).toHaveLength(4);
  held[2]?.write("begun");
  await vi.waitFor(() => expect(held).toHaveLength(5), 10_000);
  held[2]?.end();
  held[0]?.destroy();
  await vi.waitFor(() => expect(held).toHaveLength(6), 10_000);
  for (const response of held) response.end("said");
  expect((await Promise.all(asked)).map(({ status }) => status)).toEqual([0, 200, 200, 200, 200, 200]);
});

test("health is in the app's own words; a busy app's hold for a while; old ones say that it is not well", async () => {
  const address = app.address();
  const health = new Health({ socket: typeof address === "string" ? address : "", publicUrl: new URL("http://localhost") }, answering(false));
  const asked = createServer((_request, response) => void health.say(response));
  await new Promise<void>((resolve) => asked.listen(0, "127.0.0.1", resolve));
  const at = asked.address();
  const said = async () => {
    const { status, headers, body } = await rawRequest(at && typeof at === "object" ? at.port : 0, ["GET /api/health HTTP/1.1", "Host: x"]);
    return [status, headers.get("x-own") ?? headers.get("content-type"), /\{.*\}/.exec(body)?.[0]];
  };
  try {
    const now = vi.spyOn(performance, "now").mockReturnValue(1000);
    answers = (_request, response) => void response.writeHead(503, { "X-Own": "yes" }).end('{"ok":false,"sound":false}');
    expect(await said()).toEqual([503, "yes", '{"ok":false,"sound":false}']);
    answers = (_request, response) => void response.writeHead(200, { "X-Own": "yes" }).end('{"ok":true,"alarm":true}');
    expect(await said()).toEqual([200, "yes", '{"ok":true,"alarm":true}']);
    const held: ServerResponse[] = [];
    answers = (_request, response) => void held.push(response);
    now.mockReturnValue(11_000);
    expect(await Promise.all([said(), said()])).toEqual(Array.from({ length: 2 }, () => [200, "yes", '{"ok":true,"alarm":true}']));
    expect(held).toHaveLength(1);
    now.mockReturnValue(21_001);
    expect(await said()).toEqual([503, "application/json", '{"ok":false}']);
    held[0]?.end('{"ok":true}');
    await vi.waitFor(async () => expect((await said())[0]).toBe(200), 10_000);
  } finally {
    vi.restoreAllMocks();
    asked.close();
  }
});

test("asked to stop, the door answers what is in hand and takes nothing new", async () => {
  const held: ServerResponse[] = [];
  answers = (_request, response) => void held.push(response);
  const inHand = rawRequest(port, ["GET /page HTTP/1.1", host()]);
  await vi.waitFor(() => expect(held).toHaveLength(1), 10_000);
  const closed = door.close();
  await vi.waitFor(async () => expect((await rawRequest(port, ["GET /page HTTP/1.1", host()])).status).toBe(0), 10_000);
  held[0]?.end("said");
  expect(await inHand).toMatchObject({ status: 200, body: expect.stringContaining("said") });
  await closed;
});

test("a port that is taken is said in the starter's own words", async () => {
  await expect(openDoor({ host: "127.0.0.1", port, origin: `http://localhost:${port}`, trustsProxy: false, socket: join(mkdtempSync(join(tmpdir(), "trueside-door-")), "app") }))
    .rejects.toThrow(`Port ${port} is already in use`);
});

async function text(answer: IncomingMessage): Promise<string> {
  return (await answer.setEncoding("latin1").toArray()).join("");
}
