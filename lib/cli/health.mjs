import { Agent, request } from "node:http";
import { setTimeout as pause } from "node:timers/promises";
import { answerHeaders } from "./hop-headers.mjs";

/** Where the app says how it is. */
export const HEALTH = "/api/health";
/** Milliseconds; the figures are ours. */
const [PATIENCE, LATELY, AGAIN] = [500, 10_000, 2000];

/**
 * How the app is, said by the door: in the app's own words, fresh where they come within half a second, else those of the last ten
 * seconds, since an app that is busy with others is not ill; and that it is not well once it has left the question open for ten. The door never calls the app
 * well of its own: that this process lives says nothing of the one that keeps the photos. It asks once for all who ask, over a connection of its own.
 */
export class Health {
  #agent = new Agent({ keepAlive: true, maxSockets: 1 });
  /** @type {{ status: number, headers: string[], body: string, at: number } | null} */
  #last = null;
  /** @type {Promise<void> | null} */
  #asking = null;
  #askedAt = -Infinity;

  /** @param {{ socket: string, publicUrl: URL }} where @param {ReturnType<typeof import("./own-answer.mjs").answering>} answer */
  constructor({ socket, publicUrl }, answer) {
    this.to = { socketPath: socket, path: HEALTH, headers: { host: publicUrl.host, "x-forwarded-proto": publicUrl.protocol.slice(0, -1) }, agent: this.#agent };
    this.answer = answer;
  }

  /** Called while others are served, so that there are words when a rush keeps the app from speaking. */
  keepFresh() {
    if (performance.now() - this.#askedAt > AGAIN) void this.#ask();
  }

  /** @param {import("node:http").ServerResponse} response */
  async say(response) {
    const [asked, known] = [this.#ask(), this.#recent()];
    await Promise.race([asked, pause(known ? PATIENCE : Math.max(0, this.#askedAt + LATELY - performance.now()))]);
    const said = this.#recent() ?? known;
    if (!said) return this.answer(response, 503, '{"ok":false}', { "Content-Type": "application/json" });
    if (response.destroyed) return;
    response.writeHead(said.status, said.headers);
    response.end(response.req.method === "HEAD" ? undefined : said.body);
  }

  #recent() {
    return this.#last && performance.now() - this.#last.at <= LATELY ? this.#last : null;
  }

  #ask() {
    if (this.#asking) return this.#asking;
    this.#askedAt = performance.now();
    this.#asking = this.#listen().then(() => void (this.#asking = null));
    return this.#asking;
  }

  /** Resolves once the app has spoken, or cannot. @returns {Promise<void>} */
  #listen() {
    return new Promise((resolve) => {
      request(this.to, (incoming) => {
        let body = "";
        incoming.setEncoding("utf8").on("data", (text) => (body += text)).on("error", resolve).on("end", () => {
          this.#last = { status: incoming.statusCode, headers: answerHeaders(incoming.rawHeaders), body, at: performance.now() };
          resolve();
        });
      }).on("error", resolve).end();
    });
  }
}
