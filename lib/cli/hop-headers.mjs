/** What is said of one connection alone (RFC 9110, 7.6.1). */
const HOP = new Set(["connection", "keep-alive", "proxy-connection", "te", "trailer", "upgrade", "expect"]);

/**
 * A request's headers as they go on to the app. How its body is framed goes with it: a body without a frame would be read as the next request.
 * @param {import("node:http").IncomingHttpHeaders} headers as the screen left them
 */
export function requestHeaders(headers) {
  return Object.fromEntries(Object.entries(headers).filter(([name]) => !HOP.has(name)));
}

/** An answer's headers as the app wrote them, name by name, those that come twice too. @param {readonly string[]} raw */
export function answerHeaders(raw) {
  const kept = [];
  for (let at = 0; at < raw.length; at += 2) {
    const name = raw[at].toLowerCase();
    if (!HOP.has(name) && name !== "transfer-encoding") kept.push(raw[at], raw[at + 1]);
  }
  return kept;
}
