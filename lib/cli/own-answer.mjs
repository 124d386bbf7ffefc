import { FIXED_HEADERS, HSTS, NO_PAGE_POLICY } from "./fixed-headers.mjs";
import { linger } from "./linger.mjs";

/** @param {import("node:http").ServerResponse} response @param {boolean} hasHsts */
export function putHeaders(response, hasHsts) {
  for (const [name, value] of Object.entries(FIXED_HEADERS)) response.setHeader(name, value);
  if (hasHsts) response.setHeader("Strict-Transport-Security", HSTS);
}

/**
 * For what the server says itself instead of the app. Where an answer has begun already the connection is cut,
 * so that nobody takes half of it for all.
 * @param {boolean} hasHsts
 */
export function answering(hasHsts) {
  /** @param {import("node:http").ServerResponse} response @param {number} status @param {string} words @param {Record<string, string>} [headers] */
  return (response, status, words, headers = {}) => {
    if (response.headersSent || response.destroyed) return void response.destroy();
    putHeaders(response, hasHsts);
    response.setHeader("Content-Security-Policy", NO_PAGE_POLICY);
    response.setHeader("Cache-Control", "private, no-store");
    const body = `${words}\n`;
    const { req: request } = response;
    // What was not read would be taken for the next request.
    if (!request.complete) response.setHeader("Connection", "close");
    response.writeHead(status, { "Content-Type": "text/plain; charset=utf-8", "Content-Length": Buffer.byteLength(body), ...headers });
    // Who crawls is not waited for.
    if (request.complete || "Connection" in headers) return void response.end(body);
    response.write(body);
    linger(request, () => response.end());
  };
}

const CLIENT_ERRORS = { HPE_HEADER_OVERFLOW: "431 Request Header Fields Too Large", ERR_HTTP_REQUEST_TIMEOUT: "408 Request Timeout" };

/** For what is no HTTP, or comes too slowly to be. @param {Error & { code?: string }} error @param {import("node:stream").Duplex} socket */
export function refuseBytes(error, socket) {
  endSocket(socket, CLIENT_ERRORS[error.code] ?? "400 Bad Request");
}

/** @param {import("node:stream").Duplex} socket @param {string} status */
export function endSocket(socket, status) {
  if (!socket.writable) return void socket.destroy();
  const fixed = Object.entries(FIXED_HEADERS).map(([name, value]) => `${name}: ${value}\r\n`).join("");
  socket.end(`HTTP/1.1 ${status}\r\n${fixed}Cache-Control: no-store\r\nContent-Length: 0\r\nConnection: close\r\n\r\n`);
}
