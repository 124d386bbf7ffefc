import { BUILD, LATER, worker } from "@/app/worker/scope";
import { assetsIn, languageAsked, SHELL_PATH, shellIn } from "@/lib/domain/installed/shell";
import { LOCALES, type Locale } from "@/lib/domain/words/reader";

/** The page that stands without signal and the files it is made of, of one build together. */
const PREFIX = "trueside-shell-";
const CACHE = `${PREFIX}${BUILD}`;

/** Asked for as a stranger would, so that the copy holds nobody's name. Fails as a whole, and is tried again on the next visit. */
async function keepShell(headers: Record<string, string> = {}): Promise<void> {
  const page = await fetchShell(headers);
  const text = await page.clone().text();
  const others = await Promise.all(LOCALES.map(async (locale) => (
    [locale, isIn(text, locale) ? page.clone() : await fetchShell({ "Accept-Language": locale })] as const
  )));
  const cache = await caches.open(CACHE);
  await cache.addAll(assetsIn(text));
  for (const [locale, other] of others) await cache.put(shellIn(locale, ""), other);
  await cache.put(SHELL_PATH, page);
}

async function fetchShell(headers: Record<string, string>): Promise<Response> {
  const page = await fetch(SHELL_PATH, { credentials: "omit", cache: "reload", headers });
  if (!page.ok || page.redirected) throw new Error("no shell");
  return page;
}

const isIn = (page: string, language: string): boolean => page.includes(`<html lang="${language}"`);

/** The page in the language its address asks for, else in the reader's. */
export async function shellFor({ search }: URL): Promise<Response | undefined> {
  const language = languageAsked(search);
  const cache = await caches.open(CACHE);
  return (language && await cache.match(shellIn(language, ""), { ignoreVary: true })) || await cache.match(SHELL_PATH, { ignoreVary: true });
}

/** What those pages fetch only when they need it, so that they find it without a line. Whatever is kept already is not fetched again. */
async function keepLater(): Promise<void> {
  const cache = await caches.open(CACHE);
  const kept = new Set((await cache.keys()).map(({ url }) => new URL(url).pathname));
  await cache.addAll(LATER.filter((path) => !kept.has(path)));
}

/** The page in the reader's language, from this phone where it has it; fetched again where the phone has dropped it. */
export async function keepShellIn(language: Locale): Promise<void> {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(shellIn(language, ""), { ignoreVary: true });
  if (kept) await cache.put(SHELL_PATH, kept);
  else await keepShell({ "Accept-Language": language });
  await keepLater();
}

async function forgetOldShells(): Promise<void> {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
}

/** A built file that is kept beside the page. */
export const fromShell = async (request: Request): Promise<Response | undefined> =>
  (await caches.open(CACHE)).match(request, { ignoreSearch: true, ignoreVary: true });

worker.addEventListener("install", (event) => event.waitUntil(keepShell().then(() => keepLater().catch(() => undefined)))); // the shell stands without them; they are asked for again on the next visit
worker.addEventListener("activate", (event) => event.waitUntil(forgetOldShells().then(() => worker.clients.claim())));
