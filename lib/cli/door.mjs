/**
 * The door: a process of its own that takes every connection, and does nothing else. Node takes one new connection a turn of its
 * loop, so a process that also renders pages would leave a rush in the system's queue, uncounted and for long. It is the app's child, has
 * none of its settings but those it is handed, opens no file of the practice's, and does not outlive it.
 */
import { rmSync } from "node:fs";
import { createServer } from "node:http";
import { dirname } from "node:path";
import { forwarder, hasBody } from "./forward.mjs";
import { Gate } from "./gate.mjs";
import { HEALTH, Health } from "./health.mjs";
import { listen } from "./listen.mjs";
import { answering, endSocket, refuseBytes } from "./own-answer.mjs";
import { Refusal } from "./refusal.mjs";
import { kindOf, screen } from "./screen.mjs";
import { bodyPace, keepTime, NODE_LIMITS, TIME } from "./time-limits.mjs";

const RETRY = { "Retry-After": "2" };
/**
 * Pages that the app makes at a time, each until its answer begins; those let in beyond wait for their turn in the order they came. It
 * makes one after the other anyhow: begun all at once they end late together, and whatever else it has to answer waits for all of them.
 */
const PAGES_AT_WORK = 4;
/** Past these a request is turned away at once. Static files are cheap and a page is broken without one. */
const GATES = {
  page: { atOnce: 24, waiting: 40, patienceMs: 100 },
  upload: { atOnce: 24, waiting: 0, patienceMs: 0 },
  share: { atOnce: 4, waiting: 0, patienceMs: 0 },
  health: { atOnce: 4, waiting: 60, patienceMs: 900 },
};

/** @type {{ host: string, port: number, origin: string, trustsProxy: boolean, socket: string }} */
const { host, port, origin, trustsProxy, socket } = JSON.parse(process.argv[2] ?? "");
const publicUrl = new URL(origin);
const answer = answering(publicUrl.protocol === "https:");
const busy = (response) => answer(response, 503, "Busy. Try again in a few seconds.", RETRY);
const gates = Object.fromEntries(Object.entries(GATES).map(([kind, size]) => [kind, new Gate(size)]));
const turns = new Gate({ atOnce: PAGES_AT_WORK, waiting: GATES.page.atOnce, patienceMs: TIME.answer.page });
const forward = forwarder({ socket, isEnding: () => !server.listening, busy });
const health = new Health({ socket, publicUrl }, answer);
let isOpen = false;

const server = createServer(NODE_LIMITS, async (request, response) => {
  const refused = screen(request, publicUrl, trustsProxy);
  if (refused) return answer(response, refused.status, refused.sentence, refused.headers);
  const { method, url } = request;
  const path = url.split("?", 1)[0];
  if (path === HEALTH && (method === "GET" || method === "HEAD")) return health.say(response);
  const kind = kindOf(path, method);
  const leave = gates[kind] ? await gates[kind].enter(givingWay(request, response)) : () => {};
  if (!leave || !isOpen || !server.listening) {
    leave?.();
    return busy(response);
  }
  response.once("close", leave);
  if (response.destroyed) return leave();
  keepTime(request, response, kind, (sentence, status) => answer(response, status, sentence, { Connection: "close" }));
  health.keepFresh();
  const begun = isMade(request, kind, path) ? await turns.enter() : () => {};
  if (!begun || response.destroyed) {
    begun?.();
    return busy(response);
  }
  response.once("close", begun);
  try {
    forward(request, response, begun);
  } catch {
    answer(response, 400, "Bad request.");
  }
});
server.on("upgrade", (_request, line) => endSocket(line, "400 Bad Request"));
server.on("connect", (_request, line) => endSocket(line, "405 Method Not Allowed"));
server.on("clientError", refuseBytes);

/** Not what comes with a body, which may be slow on its way, nor what may have to wait for a disk or a bucket. */
function isMade(request, kind, path) {
  return kind === "page" && !hasBody(request) && !/^\/(?:api|media)\//.test(path);
}

/** Else a few senders of one byte a second would keep everybody's photos out for a minute. */
function givingWay(request, response) {
  const body = bodyPace(request);
  return () => {
    const { ms, pace } = body();
    const isCrawling = !request.complete && ms > TIME.crawlFor && pace < TIME.crawl;
    if (isCrawling) answer(response, 503, "Busy, and this came very slowly. Try again in a few seconds.", { ...RETRY, Connection: "close" });
    return isCrawling;
  };
}

/** Takes no new work, finishes what is in hand, then ends; cuts off what is still there at the limit. */
function end() {
  server.close(() => process.exit(0));
  setTimeout(() => server.closeAllConnections(), TIME.drain);
  // A connection that answered its last meanwhile is kept by its client; nobody waits for it.
  setInterval(() => server.closeIdleConnections(), 200);
}

// Asked to stop, the app asks in turn: a terminal and a service manager tell both at once. When it is gone, whyever, so is the door.
for (const signal of ["SIGTERM", "SIGINT"]) process.on(signal, () => {});
process.on("disconnect", () => process.exit(1));
process.on("exit", () => rmSync(dirname(socket), { recursive: true, force: true }));
process.on("message", (word) => (word === "let in" ? (isOpen = true) : end()));

if (!process.connected) process.exit(1);
try {
  await listen(server, host, port);
  process.send({ isOpen: true });
} catch (error) {
  if (!(error instanceof Refusal)) throw error;
  process.send({ refused: error.message }, () => process.exit(1));
}
