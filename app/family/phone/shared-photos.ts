import { sniff } from "@/lib/domain/photo/sniff";
import { MOST_BYTES, MOST_SHARED, SHARE_PATH, toForget, type Shared, type SharedPhoto } from "@/lib/domain/installed/shared";

/**
 * Photos shared from the gallery, on this phone alone: kept by the worker, shown by the sending page.
 * Each is a response in a cache of its own, with whose it is and when it came in two headers.
 */
const CACHE = "trueside-shared";
const WHO = `${SHARE_PATH}/who`;
const OF = "X-Shared-Of";
const AT = "X-Shared-At";
/** Enough to tell a picture that moves from one that does not. */
const OPENING_BYTES = 65_536;

let tell = (_personId: string): void => {};
/** Whose page this is; until that is said nothing is shown that may be another's. */
let whose = new Promise<string>((resolve) => (tell = resolve));

/** Who is signed in here, for the worker, which cannot see the session. What others shared goes. */
export async function rememberWho(personId: string): Promise<void> {
  tell(personId);
  whose = Promise.resolve(personId);
  const cache = await caches.open(CACHE);
  await cache.put(WHO, new Response(personId));
  await sweep(cache, personId, Date.now());
}

/** Keeps what was shared for the person signed in here. Kinds are told by content; no file's name is kept. */
export async function keepShared(files: readonly Blob[], now: number): Promise<Shared> {
  const cache = await caches.open(CACHE);
  const personId = await (await cache.match(WHO))?.text();
  if (!personId) return "nobody";
  let kept = 0;
  for (const file of files.slice(0, MOST_SHARED)) {
    const kind = sniff(new Uint8Array(await file.slice(0, OPENING_BYTES).arrayBuffer()));
    if (!kind.accepted || file.size > MOST_BYTES) continue;
    const headers = { "Content-Type": `image/${kind.kind}`, [OF]: personId, [AT]: String(now) };
    // No room on the phone: it is still in the gallery.
    kept += await cache.put(`${SHARE_PATH}/${crypto.randomUUID()}`, new Response(file, { headers })).then(() => 1, () => 0);
  }
  await sweep(cache, personId, now);
  return kept === 0 ? "none" : kept < files.length ? "some" : "kept";
}

/** Where each file that this page was given is kept. */
const keyOf = new WeakMap<Blob, string>();

/** What this person shared in the last day, oldest first. */
export async function sharedPhotos(): Promise<readonly File[]> {
  const personId = await whose;
  const cache = await caches.open(CACHE);
  await sweep(cache, personId, Date.now());
  const mine = (await listed(cache)).toSorted((one, other) => one.at - other.at);
  return Promise.all(mine.map(async ({ key }) => {
    const blob = await (await cache.match(key))?.blob() ?? new Blob();
    const file = new File([blob], "photo", { type: blob.type });
    keyOf.set(file, key);
    return file;
  }));
}

/** Once it is taken up, or taken away. A file from elsewhere is none of ours. */
export async function forgetShared(file: Blob): Promise<void> {
  const key = keyOf.get(file);
  if (key) await (await caches.open(CACHE)).delete(key);
}

async function sweep(cache: Cache, personId: string, now: number): Promise<void> {
  await Promise.all(toForget(await listed(cache), personId, now).map(({ key }) => cache.delete(key)));
}

async function listed(cache: Cache): Promise<readonly SharedPhoto[]> {
  const keys = (await cache.keys()).map(({ url }) => new URL(url).pathname).filter((key) => key !== WHO);
  return Promise.all(keys.map(async (key) => {
    const headers = (await cache.match(key))?.headers;
    return { key, personId: headers?.get(OF) ?? "", at: Number(headers?.get(AT) ?? 0) };
  }));
}
