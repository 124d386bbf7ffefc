/** Times in milliseconds. Source of the method: OWASP Denial of Service Cheat Sheet, slow HTTP; the figures are ours. */
export const TIME = {
  headers: 10_000,
  /** Any body within this, however slow. */
  body: 60_000,
  /** And past it only as long as it comes at `pace`; a large photo on a weak signal does. */
  pace: 50 * 1024,
  whole: 600_000,
  /** Where no place is left for somebody else's, a body gives its own up that has come at less than `crawl` bytes a second for so long. */
  crawl: 10 * 1024,
  crawlFor: 10_000,
  /** From the last byte of the request to the first of the answer. */
  answer: { page: 30_000, static: 30_000, health: 10_000, upload: 90_000, share: 10_000 },
  idle: 30_000,
  drain: 20_000,
  look: 2_000,
};

/** Node's own limits, for the server's options. */
export const NODE_LIMITS = {
  headersTimeout: TIME.headers,
  requestTimeout: TIME.whole,
  keepAliveTimeout: TIME.idle,
  // Node looks for late headers only this often; its own 30 s would make ten seconds forty.
  connectionsCheckingInterval: TIME.look,
  maxHeaderSize: 16 * 1024,
};

/**
 * How a request's body comes, from now on.
 * @param {import("node:http").IncomingMessage} request
 * @returns {() => { ms: number, pace: number }} for how long it has been coming, and at how many bytes a second
 */
export function bodyPace(request) {
  const began = Date.now();
  const before = request.socket.bytesRead;
  return () => {
    const ms = Date.now() - began;
    return { ms, pace: (request.socket.bytesRead - before) / (ms / 1000) };
  };
}

/**
 * Ends a request whose body crawls, or whose answer does not begin in time.
 * @param {import("node:http").IncomingMessage} request
 * @param {import("node:http").ServerResponse} response
 * @param {keyof typeof TIME.answer} kind
 * @param {(sentence: string, status: number) => void} refuse
 */
export function keepTime(request, response, kind, refuse) {
  const body = bodyPace(request);
  let bodyEnded = request.complete ? Date.now() : 0;
  const timer = setInterval(() => {
    const now = Date.now();
    if (request.complete) bodyEnded ||= now;
    const { ms, pace } = body();
    const isCrawling = !request.complete && ms > TIME.body && pace < TIME.pace;
    const isLate = bodyEnded > 0 && now - bodyEnded > TIME.answer[kind] && !response.headersSent;
    if (isCrawling) refuse("Sending took too long.", 408);
    else if (isLate) refuse("Busy. Try again in a few seconds.", 503);
  }, TIME.look);
  timer.unref();
  response.once("close", () => clearInterval(timer));
}
