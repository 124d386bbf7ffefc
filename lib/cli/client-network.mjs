import { isIP } from "node:net";

/** The header in which the app reads it. */
export const CLIENT_NETWORK = "x-client-network";

/**
 * The network address to count by: an IPv4 address, or the 64 bits of an IPv6 one that name its network,
 * because whoever has one such address usually has all that share them (RFC 6177, RFC 8981).
 *
 * Behind a trusted proxy it is the last hop of X-Forwarded-For, which that proxy itself wrote; the hops
 * before it are the client's own words.
 * @param {import("node:http").IncomingMessage} request
 * @param {boolean} trustsProxy
 * @returns {string} empty when the connection is already gone
 */
export function networkOf({ headers, socket }, trustsProxy) {
  const hop = trustsProxy ? String(headers["x-forwarded-for"] ?? "").split(",").at(-1)?.trim() : "";
  const address = hop && isIP(hop) ? hop : (socket.remoteAddress ?? "");
  return isIP(address) === 6 ? ofIPv6(address.split("%", 1)[0] ?? "") : address;
}

/** @param {string} address */
function ofIPv6(address) {
  // The URL parser writes every form of an address alike: hexadecimal, lower case, zeros left out.
  const [front = "", back] = new URL(`http://[${address}]`).hostname.slice(1, -1).split("::");
  const [left, right] = [front, back ?? ""].map((part) => part.split(":").filter((group) => group !== ""));
  const groups = [...left, ...Array.from({ length: 8 - left.length - right.length }, () => "0"), ...right];
  const isMapped = groups.slice(0, 5).every((group) => group === "0") && groups[5] === "ffff";
  if (!isMapped) return `${groups.slice(0, 4).join(":")}::/64`;
  return groups.slice(6).flatMap((group) => [Number.parseInt(group, 16) >> 8, Number.parseInt(group, 16) & 255]).join(".");
}
