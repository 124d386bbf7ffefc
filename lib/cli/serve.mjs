import { EventEmitter } from "node:events";
import { createServer } from "node:http";
import { FIXED_HEADERS, HSTS, NO_PAGE_POLICY } from "./fixed-headers.mjs";
import { Gate } from "./gate.mjs";
import { listen } from "./listen.mjs";
import { kindOf, screen } from "./screen.mjs";
import { bodyPace, keepTime, NODE_LIMITS, TIME } from "./time-limits.mjs";

const RETRY_SECONDS = 2;
/** Past these a request is turned away at once. Static files are cheap and a page is broken without one. */
const GATES = {
  page: { atOnce: 24, waiting: 40, patienceMs: 100 },
  upload: { atOnce: 24, waiting: 0, patienceMs: 0 },
  share: { atOnce: 4, waiting: 0, patienceMs: 0 },
  health: { atOnce: 4, waiting: 60, patienceMs: 900 },
};

/**
 * Serves the built app on the settings' host and port, in this process, until `stop` is called.
 * @param {{ root: string, settings: import("./settings.mjs").Settings }} what
 * @returns {Promise<{ stop(): Promise<void> }>} `stop` finishes the work in hand, up to `TIME.drain`
 */
export async function serve({ root, settings }) {
  const { host, port, publicUrl, trustsProxy } = settings;
  const { default: next } = await import("next");
  // By its address: what counts inside the app lies there too, and a path upwards is refused everywhere.
  const { tally } = await import(new URL("../jobs/tally.mjs", import.meta.url).href);
  // Next listens for upgrades on the server it is given; a bare emitter keeps WebSockets away from it.
  // Host and port are the public ones: the addresses a request has inside the app are made from them.
  const hasHsts = publicUrl.protocol === "https:";
  const publicPort = Number(publicUrl.port || (hasHsts ? 443 : 80));
  const app = next({ dev: false, dir: root, hostname: publicUrl.hostname, port: publicPort, httpServer: new EventEmitter() });
  let isReady = false;
  const gates = Object.fromEntries(Object.entries(GATES).map(([kind, size]) => [kind, new Gate(size)]));

  const server = createServer(NODE_LIMITS, async (request, response) => {
    putHeaders(response, hasHsts);
    const refused = screen(request, publicUrl, trustsProxy);
    if (refused) return answer(response, refused.status, refused.sentence, refused.headers);
    const kind = kindOf(request.url.split("?", 1)[0], request.method);
    keepPrivate(response, kind);
    const body = bodyPace(request);
    // Else a few senders of one byte a second would keep everybody's photos out for a minute.
    const givesWay = () => {
      const { ms, pace } = body();
      const isCrawling = !request.complete && ms > TIME.crawlFor && pace < TIME.crawl;
      if (isCrawling) answer(response, 503, "Busy, and this came very slowly. Try again in a few seconds.", { "Retry-After": String(RETRY_SECONDS), Connection: "close" });
      return isCrawling;
    };
    const leave = gates[kind] ? await gates[kind].enter(givesWay) : () => {};
    if (!leave || !isReady || !server.listening) {
      leave?.();
      return answer(response, 503, "Busy. Try again in a few seconds.", { "Retry-After": String(RETRY_SECONDS) });
    }
    response.once("close", leave);
    if (kind !== "static") tally("answered");
    if (response.destroyed) return leave();
    keepTime(request, response, kind, (sentence, status) => answer(response, status, sentence, { Connection: "close" }));
    try {
      await app.getRequestHandler()(request, response);
    } catch {
      tally("failed");
      answer(response, 500, "Something went wrong.");
    }
  });
  server.on("upgrade", (_request, socket) => endSocket(socket, "400 Bad Request"));
  server.on("connect", (_request, socket) => endSocket(socket, "405 Method Not Allowed"));
  server.on("clientError", (error, socket) => endSocket(socket, CLIENT_ERRORS[error.code] ?? "400 Bad Request"));

  // The port first: a busy one should be said before the app is loaded.
  await listen(server, host, port);
  await app.prepare();
  isReady = true;
  return { stop: () => stop(server, app) };
}

const CLIENT_ERRORS = { HPE_HEADER_OVERFLOW: "431 Request Header Fields Too Large", ERR_HTTP_REQUEST_TIMEOUT: "408 Request Timeout" };

/** Takes no new work, finishes what is in hand, then closes; cuts off what is still there at the limit. */
async function stop(server, app) {
  const closed = new Promise((resolve) => server.close(resolve));
  const cut = setTimeout(() => server.closeAllConnections(), TIME.drain);
  await closed;
  clearTimeout(cut);
  await app.close();
}

/** @param {import("node:http").ServerResponse} response @param {boolean} hasHsts */
function putHeaders(response, hasHsts) {
  for (const [name, value] of Object.entries(FIXED_HEADERS)) response.setHeader(name, value);
  if (hasHsts) response.setHeader("Strict-Transport-Security", HSTS);
}

/**
 * What says nothing about caching is not to be kept, and what has no policy of its own may do nothing.
 * Filled in last, because a header set before Next would win over what a route says.
 */
function keepPrivate(response, kind) {
  const writeHead = response.writeHead;
  response.writeHead = (...head) => {
    // A worker is bound by the policy its script came with, so the files of a build bring none.
    if (kind === "static" && head[0] < 400) return writeHead.apply(response, head);
    if (!response.hasHeader("Cache-Control")) response.setHeader("Cache-Control", "private, no-store");
    if (!response.hasHeader("Content-Security-Policy")) response.setHeader("Content-Security-Policy", NO_PAGE_POLICY);
    return writeHead.apply(response, head);
  };
}

/** @param {import("node:http").ServerResponse} response */
function answer(response, status, sentence, headers = {}) {
  if (response.headersSent) return response.destroy();
  response.setHeader("Content-Security-Policy", NO_PAGE_POLICY);
  response.setHeader("Cache-Control", "private, no-store");
  // What was not read would be taken for the next request.
  if (!response.req.complete) response.setHeader("Connection", "close");
  response.writeHead(status, { "Content-Type": "text/plain; charset=utf-8", ...headers });
  response.end(response.req.method === "HEAD" ? undefined : `${sentence}\n`);
}

/** @param {import("node:stream").Duplex} socket @param {string} status */
function endSocket(socket, status) {
  if (!socket.writable) return socket.destroy();
  const fixed = Object.entries(FIXED_HEADERS).map(([name, value]) => `${name}: ${value}\r\n`).join("");
  socket.end(`HTTP/1.1 ${status}\r\n${fixed}Cache-Control: no-store\r\nContent-Length: 0\r\nConnection: close\r\n\r\n`);
}
