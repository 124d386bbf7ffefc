import { CacheFirst, ExpirationPlugin, NetworkOnly } from "serwist";
import { worker } from "@/app/worker/scope";
import { fromShell, shellFor } from "@/app/worker/shell";
import { SHELL_PATH, shellAddress } from "@/lib/domain/installed/shell";

/** A bar of signal that brings nothing in this time counts as none. */
const PATIENCE_S = 15;
const DAY_S = 24 * 3600;

/** Pages come from the server or not at all: one that says `go` is never kept. */
const page = new NetworkOnly({
  networkTimeoutSeconds: PATIENCE_S,
  plugins: [{ handlerDidError: async ({ request }) => Response.redirect(shellAddress(new URL(request.url))) }],
});

/** A built file bears its content's hash in its name. */
const built = new CacheFirst({
  cacheName: "trueside-built",
  plugins: [new ExpirationPlugin({ maxEntries: 120, maxAgeSeconds: 30 * DAY_S })],
});

/** Without the address it was kept under: a script that runs in a worker reads what follows its own. */
const asAsked = (kept: Response): Response => new Response(kept.body, kept);

/** Undefined for whatever is not named here: the worker does not touch it. */
function answerTo(event: FetchEvent): Promise<Response> | undefined {
  const { request } = event;
  const url = new URL(request.url);
  const { origin, pathname } = url;
  if (origin !== worker.location.origin || request.method !== "GET") return undefined;
  if (pathname.startsWith("/_next/static/")) return fromShell(request).then((kept) => (kept ? asAsked(kept) : built.handle({ event, request })));
  if (request.mode !== "navigate") return undefined;
  if (pathname === SHELL_PATH) return shellFor(url).then((kept) => kept ?? fetch(request));
  return pathname === "/" || /^\/family(?:\/|$)/.test(pathname) ? page.handle({ event, request }) : undefined;
}

worker.addEventListener("fetch", (event) => {
  const answer = answerTo(event);
  if (answer) event.respondWith(answer);
});
