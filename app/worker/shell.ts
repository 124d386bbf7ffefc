import { BUILD, LATER, worker } from "@/app/worker/scope";
import { assetsIn, SHELL_PATH } from "@/lib/domain/installed/shell";

/** The page that stands without signal and the files it is made of, of one build together. */
const PREFIX = "trueside-shell-";
const CACHE = `${PREFIX}${BUILD}`;

/** Asked for as a stranger would, so that the copy holds nobody's name. Fails as a whole, and is tried again on the next visit. */
async function keepShell(headers: Record<string, string> = {}): Promise<void> {
  const page = await fetch(SHELL_PATH, { credentials: "omit", cache: "reload", headers });
  if (!page.ok || page.redirected) throw new Error("no shell");
  const cache = await caches.open(CACHE);
  await cache.addAll(assetsIn(await page.clone().text()));
  await cache.put(SHELL_PATH, page);
}

/** What the sending page needs once it is open, so that it works without a line. Whatever is kept already is not fetched again. */
async function keepLater(): Promise<void> {
  const cache = await caches.open(CACHE);
  const kept = new Set((await cache.keys()).map(({ url }) => new URL(url).pathname));
  await cache.addAll(LATER.filter((path) => !kept.has(path)));
}

/** The page again, where the phone has dropped it or it is kept in another language than the reader's. */
export async function keepShellIn(language: string): Promise<void> {
  const kept = await (await fromShell(SHELL_PATH))?.text();
  if (!kept?.includes(`<html lang="${language}"`)) await keepShell({ "Accept-Language": language });
  await keepLater();
}

async function forgetOldShells(): Promise<void> {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
}

export const fromShell = async (request: Request | string): Promise<Response | undefined> =>
  (await caches.open(CACHE)).match(request, { ignoreSearch: true, ignoreVary: true });

worker.addEventListener("install", (event) => event.waitUntil(keepShell().then(() => keepLater().catch(() => undefined)))); // the shell stands without them; they are asked for again on the next visit
worker.addEventListener("activate", (event) => event.waitUntil(forgetOldShells().then(() => worker.clients.claim())));
