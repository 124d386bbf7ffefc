import { Agent, request as ask } from "node:http";
import { answerHeaders, requestHeaders } from "./hop-headers.mjs";

/**
 * Hands requests to the app over its socket, and its answers back, as they come and no faster than the other side takes
 * them. What is cut off on one side is cut off on the other. Nothing is sent twice, and nothing need be: the app
 * ends no connection that rests, so that one which was kept is never stale.
 * @param {{ socket: string, isEnding: () => boolean, busy: (response: import("node:http").ServerResponse) => void }} what
 * @returns {(request: import("node:http").IncomingMessage, response: import("node:http").ServerResponse, begun: () => void) => void} `begun` is called when the answer begins
 */
export function forwarder({ socket, isEnding, busy }) {
  const agent = new Agent({ keepAlive: true });
  return (request, response, begun) => {
    const onward = ask({ socketPath: socket, agent, method: request.method, path: request.url, headers: requestHeaders(request.headers) });
    let answer = null;
    onward.once("response", (incoming) => {
      begun();
      answer = incoming.on("error", () => response.destroy());
      response.writeHead(answer.statusCode, answer.statusMessage, [...answerHeaders(answer.rawHeaders), ...(isEnding() ? ["Connection", "close"] : [])]);
      answer.pipe(response);
    });
    // A connection that could not be made has carried nothing. Past that, nobody can know what the app has done.
    onward.on("error", ({ syscall }) => void (syscall === "connect" ? busy(response) : response.destroy()));
    response.once("close", () => {
      if (request.complete && answer?.complete) return;
      onward.destroy();
      // Else what is left of a body that nobody wanted would stand before the next request.
      request.unpipe(onward).resume();
    });
    if (hasBody(request)) request.pipe(onward);
    else onward.end();
  };
}

/** @param {import("node:http").IncomingMessage} request */
export function hasBody({ headers }) {
  return "content-length" in headers || "transfer-encoding" in headers;
}
