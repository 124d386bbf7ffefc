import { choiceOf } from "@/app/family/kept/here";
import { addressesIn, arrived, clipsIn, contentsOf, keep, keepClip, noteWhatWaits, type Media } from "@/app/family/kept/store";
import type { Kept } from "@/lib/domain/kept/kept";
import { waitedSince } from "@/lib/domain/sending/waited";

/** A line on which nothing comes in this time is no line. */
const PATIENCE_MS = 20_000;
/** A clip is some megabytes, and nothing waits for it. */
const CLIP_PATIENCE_MS = 300_000;

/** `answered`: the server knows this person. `stranger`: it answered, but they have to sign in. */
export type Contact = "answered" | "stranger" | "silent";

/** Sends what was said without signal, then takes the server's present answer in its place, where this person keeps it. */
export async function sync(personId: string): Promise<Contact> {
  await sendWaiting(personId);
  return choiceOf(personId) === "yes" ? refresh(personId) : "silent";
}

/**
 * One after the other, in the order they were said; each under the key it was given then, so that it counts once. Of two answers to a
 * stop the last to arrive counts: none goes before one that may still be on its way.
 */
export async function sendWaiting(personId: string): Promise<void> {
  const { reports, tries } = await contentsOf(personId);
  for (const { key, childId, noticed, note, photoSetId, writtenAt, sentAt } of reports) {
    const waitedMs = waitedSince(writtenAt, Date.now());
    if (sentAt === null && (await tell(personId, `/api/symptoms/${childId}`, key, { noticed, note, photoSetId, waitedMs })) === "taken") await arrived("reports", key, personId, Date.now());
  }
  for (const { key, childId, stopId, exerciseKey, question, choice, sentAt } of tries) {
    if (sentAt !== null) continue;
    const word = await tell(personId, `/api/read-backs/${childId}`, key, { stopId, exerciseKey, question, choice });
    if (word === "silent") break;
    if (word === "taken") await arrived("tries", key, personId, Date.now());
  }
  await noteWhatWaits(personId);
}

/** `refused`: it will never be taken as it is. `silent`: nobody knows. */
type Word = "taken" | "refused" | "silent";

/** Only the server's own word counts: a public network's sign-in page answers 200 as well. */
async function tell(personId: string, path: string, key: string, said: object): Promise<Word> {
  const response = await ask(path, personId, { method: "POST", headers: { "Content-Type": "application/json", "Idempotency-Key": key }, body: JSON.stringify(said) });
  const answer: unknown = await response?.json().catch(() => null);
  if (!response || typeof answer !== "object" || answer === null) return "silent";
  if ("done" in answer) return answer.done === true ? "taken" : "silent";
  // This child is no longer theirs: nothing of theirs about it is taken any more. They were told to call.
  if (response.status === 404 && "error" in answer) return answer.error === "not-found" ? "taken" : "silent";
  if (!("problem" in answer)) return "silent";
  // The stop is no longer open: there is nothing left to read back.
  if (response.status === 422 && JSON.stringify(answer.problem).includes('"stale-version"')) return "taken";
  return response.status < 500 ? "refused" : "silent";
}

/** Asks for what holds now, fetches the pictures and notes that are new, and keeps both together. */
export async function refresh(personId: string): Promise<Contact> {
  const { media, reports, tries } = await contentsOf(personId);
  const over = [...reports, ...tries].filter((each) => each.sentAt !== null).map((each) => each.key);
  const askedAt = Date.now();
  const response = await ask("/api/kept", personId);
  if (response?.status === 401 || response?.status === 409) return "stranger";
  const kept: unknown = response?.ok ? await response.json().catch(() => null) : null;
  if (!isKept(kept, personId)) return "silent";
  const missing = addressesIn(kept).filter((address) => !media.some((each) => each.address === address));
  const fetched = await Promise.all(missing.map((address) => fetchMedia(personId, address)));
  await keep(kept, askedAt, fetched.filter((each) => each !== null), over);
  // A stop must not wait for a film.
  void keepClips(personId, clipsIn(kept).filter((address) => !media.some((each) => each.address === address))).catch(() => undefined);
  return "answered";
}

/** A page that lies open asks again and again, and a clip may take longer than that. */
const onTheirWay = new Set<string>();

/** One after the other; what does not come, or does not fit on the phone, is asked for again on the next visit. */
async function keepClips(personId: string, addresses: readonly string[]): Promise<void> {
  for (const address of addresses.filter((each) => !onTheirWay.has(each))) {
    onTheirWay.add(address);
    try {
      const clip = await fetchMedia(personId, address, CLIP_PATIENCE_MS);
      if (clip) await keepClip(clip);
    } finally {
      onTheirWay.delete(address);
    }
  }
}

/** Of this person, whatever its version: a newer one is kept for the newer app that comes with it. */
const isKept = (answer: unknown, personId: string): answer is Kept =>
  typeof answer === "object" && answer !== null && "version" in answer && "children" in answer && "personId" in answer && answer.personId === personId;

/** Null when it does not come; its words are kept all the same. */
async function fetchMedia(personId: string, address: string, patienceMs = PATIENCE_MS): Promise<Media | null> {
  const response = await ask(address, personId, {}, patienceMs);
  const bytes = response?.ok ? await response.arrayBuffer().catch(() => null) : null;
  return bytes && response && { personId, address, bytes, type: response.headers.get("Content-Type") ?? "" };
}

/** Says who it was made by, so that it is never taken from another who signed in here meanwhile. Null when nothing answers. */
async function ask(path: string, personId: string, { headers, ...rest }: RequestInit = {}, patienceMs = PATIENCE_MS): Promise<Response | null> {
  try {
    return await fetch(path, { ...rest, headers: { ...headers, "X-Person": personId }, cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(patienceMs) });
  } catch {
    return null;
  }
}
