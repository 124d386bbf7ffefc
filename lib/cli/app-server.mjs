import { EventEmitter } from "node:events";
import { createServer } from "node:http";
import { setImmediate as nextTurn } from "node:timers/promises";
import { NO_PAGE_POLICY } from "./fixed-headers.mjs";
import { answering, putHeaders } from "./own-answer.mjs";
import { kindOf } from "./screen.mjs";

/**
 * The door counts and keeps time. This side never ends a connection that rests, or a request already on its way in
 * would be lost; and it takes headers a little longer than the door does, which adds some.
 */
const LIMITS = { headersTimeout: 0, requestTimeout: 0, keepAliveTimeout: 0, maxHeaderSize: 32 * 1024 };

/**
 * The built app behind a Unix socket, for the door alone: what comes there is screened, and says who asks.
 * @param {{ root: string, publicUrl: URL, socket: string }} what
 * @returns {Promise<{ stop(): Promise<void> }>}
 */
export async function serveApp({ root, publicUrl, socket }) {
  const { default: next } = await import("next");
  // By its address: what counts inside the app lies there too, and a path upwards is refused everywhere.
  const { tally } = await import(new URL("../jobs/tally.mjs", import.meta.url).href);
  // Next listens for upgrades on the server it is given; a bare emitter keeps WebSockets away from it.
  // Host and port are the public ones: the addresses a request has inside the app are made from them.
  const hasHsts = publicUrl.protocol === "https:";
  const publicPort = Number(publicUrl.port || (hasHsts ? 443 : 80));
  const app = next({ dev: false, dir: root, hostname: publicUrl.hostname, port: publicPort, httpServer: new EventEmitter() });
  const answer = answering(hasHsts);
  await app.prepare();

  const server = createServer(LIMITS, async (request, response) => {
    // That somebody went away while this process was busy is known a turn later; nothing is made for them.
    await nextTurn();
    if (request.destroyed) return;
    putHeaders(response, hasHsts);
    const kind = kindOf(request.url.split("?", 1)[0], request.method);
    keepPrivate(response, kind);
    if (kind !== "static") tally("answered");
    try {
      await app.getRequestHandler()(request, response);
    } catch {
      tally("failed");
      answer(response, 500, "Something went wrong.");
    }
  });
  await new Promise((resolve, reject) => server.once("error", reject).listen(socket, resolve));
  return {
    async stop() {
      server.close();
      server.closeAllConnections();
      await app.close();
    },
  };
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
