import { CLIENT_NETWORK, networkOf } from "./client-network.mjs";
import { isLoopback } from "./settings.mjs";

const METHODS = new Set(["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"]);
const KB = 1024;
const MB = 1024 * KB;

/** What kind of request it is decides its gate and its limits. */
const KINDS = [
  { kind: "static", test: (path) => path.startsWith("/_next/static/") },
  { kind: "health", test: (path) => path === "/api/health" || path === "/api/ready" },
  { kind: "upload", test: (path, method) => (/^\/api\/(?:photos|voice)\//.test(path) && method === "POST") || (path.startsWith("/api/clips/") && method === "PATCH") },
  // Four photos from a phone's share sheet, where no worker answers it: let through unread, to be led to a page.
  { kind: "share", test: (path, method) => path === "/family/send/shared" && method === "POST" },
];
/** Bytes of a body: a photo of 25 MB with its envelope, a form of 1 MB with its own. */
const MOST_BYTES = { static: 0, health: 0, upload: 27 * MB, share: 108 * MB, page: MB + 64 * KB };

/**
 * Headers by which a request could pass for one that Next or a proxy made. Next strips some itself;
 * none has any business here, since the public address is a setting.
 */
const FORGED = /^(?:x-forwarded-(?:for|host|proto|port|server|prefix)|forwarded|x-real-ip|x-client-.*|x-middleware-.*|x-nextjs-.*|x-invoke-.*|x-matched-path|x-now-.*|x-vercel-.*|x-original-url|x-rewrite-url|x-http-method(?:-override)?|next-resume|x-nonce|content-security-policy(?:-report-only)?)$/;

/** @param {string} path @param {string} method @returns {"static" | "health" | "upload" | "share" | "page"} */
export function kindOf(path, method) {
  return KINDS.find(({ test }) => test(path, method))?.kind ?? "page";
}

/**
 * Reads a request before anything else does. Returns what to answer at once, or null to go on, with the
 * forged headers gone, Host and X-Forwarded-Proto saying the public address, and who asks in a header of
 * our own.
 * @param {import("node:http").IncomingMessage} request
 * @param {URL} publicUrl
 * @param {boolean} trustsProxy whether every request comes through a proxy that says who it is from
 * @returns {{ status: number, sentence: string, headers?: Record<string, string> } | null}
 */
export function screen(request, publicUrl, trustsProxy) {
  const { method = "", url = "", headers } = request;
  if (!METHODS.has(method)) return { status: 405, sentence: "Method not allowed.", headers: { Allow: [...METHODS].join(", ") } };
  // An absolute address names another host, `//host` reads as one in a redirect, and browsers take a backslash for a slash.
  if (!url.startsWith("/") || url.startsWith("//") || /[\\\s]/.test(url)) return { status: 400, sentence: "Bad address." };
  const path = url.split("?", 1)[0] ?? "";
  // Pictures are private and sized by us: Next's resizer never sees one.
  if (path.startsWith("/_next/image")) return { status: 404, sentence: "Not found." };
  const kind = kindOf(path, method);
  if (Number(headers["content-length"] ?? 0) > MOST_BYTES[kind]) return { status: 413, sentence: "Too large." };
  const elsewhere = kind === "health" ? null : wrongHost(request, publicUrl);
  if (elsewhere) return elsewhere;
  // Next throws on a foreign form, which would be logged, and alarm somebody, as a fault of ours.
  if (kind === "page" && method === "POST" && !path.startsWith("/api/") && (headers.origin ?? publicUrl.origin) !== publicUrl.origin) return { status: 403, sentence: "This form came from another page." };
  const network = networkOf(request, trustsProxy);
  for (const name of Object.keys(headers)) if (FORGED.test(name)) delete headers[name];
  headers.host = publicUrl.host;
  headers["x-forwarded-proto"] = publicUrl.protocol.slice(0, -1);
  headers[CLIENT_NETWORK] = network;
  return null;
}

/**
 * A page on another name could be steered here by its own DNS and read what this server shows, so only
 * the public address is served. This machine's own names pass: a reverse proxy beside us may use them.
 */
function wrongHost({ headers, method, url }, publicUrl) {
  if (headers.host === publicUrl.host) return null;
  const name = URL.canParse(`http://${headers.host}`) ? new URL(`http://${headers.host}`).hostname : "";
  if (!isLoopback(name)) return { status: 421, sentence: `This server answers for ${publicUrl.origin} only.` };
  const isBrowsing = isLoopback(publicUrl.hostname) && (method === "GET" || method === "HEAD");
  // Cookies and origin checks are for one name: 127.0.0.1 and localhost are two.
  return isBrowsing ? { status: 307, sentence: "Moved.", headers: { Location: `${publicUrl.origin}${url}` } } : null;
}
