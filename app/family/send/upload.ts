import { BROWSER } from "@/app/family/queue/line";
import { photoAsked } from "@/app/family/queue/pass";
import type { View } from "@/lib/domain/setup/vocabulary";
import { waitMs } from "@/lib/domain/sending/queue";
import { outcomeOf } from "@/lib/domain/sending/reply";
import type { StoredPhoto } from "@/lib/records/photo-sets";

/** What the server says of a stored photo. */
export type Uploaded = Omit<StoredPhoto, "mirroredFlag" | "receivedBytes" | "sha256">;
export type Failure = { readonly code: string; readonly values?: Readonly<Record<string, string | number>> };

const MOST_TRIES = 6;
const pause = (ms: number) => new Promise((done) => setTimeout(done, ms));

/**
 * Sends a photo that this browser cannot open as it is, so that it can be looked at on the screen. The
 * same key however often it is tried, so that it arrives once; a lost line or a full queue is tried again
 * with growing waits. `progress` is 0 to 1.
 */
export async function uploadAsItIs(
  place: { readonly personId: string; readonly childId: string; readonly setId: string; readonly exerciseKey: string; readonly ordinal: number; readonly view: View },
  file: Blob, key: string, progress: (share: number) => void, waiting: (isWaiting: boolean) => void,
): Promise<{ readonly photo: Uploaded } | { readonly failure: Failure }> {
  const asked = await photoAsked(place, await file.arrayBuffer(), null);
  const headers = { ...asked.headers, "Idempotency-Key": key, "X-Person": place.personId };
  for (let tries = 0; tries < MOST_TRIES; tries += 1) {
    const reply = await BROWSER.ask({ ...asked, headers }, progress);
    const outcome = outcomeOf(reply);
    if (reply && outcome.kind === "done") return JSON.parse(reply.text) as { readonly photo: Uploaded }; // our own route's answer
    if (outcome.kind === "refused") return { failure: outcome };
    if (outcome.kind === "full") return { failure: { code: "disk-full" } };
    if (outcome.kind !== "line" && outcome.kind !== "server" && outcome.kind !== "busy") return { failure: { code: outcome.kind } };
    waiting(true);
    await pause(outcome.kind === "busy" ? outcome.seconds * 1000 : waitMs(tries, Math.random()) / 2);
    waiting(false);
  }
  return { failure: { code: "line" } };
}

/** Quarter turns clockwise. The new size and what the card now says, or null when it did not work. */
export async function turnPhoto(childId: string, photoId: string, quarters: 1 | 2 | 3): Promise<Pick<Uploaded, "width" | "height" | "card"> | null> {
  try {
    const response = await fetch(`/api/photos/${childId}/${photoId}/turn?quarters=${quarters}`, {
      method: "POST", headers: { "Idempotency-Key": crypto.randomUUID() },
    });
    if (!response.ok) return null;
    const { photo: { width, height, card } } = (await response.json()) as { readonly photo: Pick<Uploaded, "width" | "height" | "card"> }; // our own route's answer
    return { width, height, card };
  } catch {
    return null;
  }
}

export async function removePhoto(childId: string, photoId: string): Promise<boolean> {
  try {
    const response = await fetch(`/api/photos/${childId}/${photoId}`, { method: "DELETE", headers: { "Idempotency-Key": crypto.randomUUID() } });
    return response.ok;
  } catch {
    return false;
  }
}
