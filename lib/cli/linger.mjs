/**
 * A connection that closes with bytes unread is reset, and its sender may lose the answer that came before (RFC 9112, section 9.6).
 * So what still comes is read for a while, and thrown away.
 */
const LINGER = { ms: 10_000, restMs: 1000, atOnce: 64 };
let lingering = 0;

/** @param {import("node:http").IncomingMessage} request @param {() => void} close called once: when all has come, none comes any more, or there is no time or place for it */
export function linger(request, close) {
  if (lingering >= LINGER.atOnce) return close();
  lingering += 1;
  const end = () => {
    clearTimeout(whole);
    clearTimeout(rest);
    request.off("data", more).off("close", end);
    lingering -= 1;
    close();
  };
  const whole = setTimeout(end, LINGER.ms);
  const rest = setTimeout(end, LINGER.restMs);
  const more = () => void rest.refresh();
  request.on("data", more).once("close", end);
}
