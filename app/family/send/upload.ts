import type { View } from "@/lib/domain/setup/vocabulary";

/** What the server says of a stored photo. */
export type Uploaded = {
  readonly photoId: string;
  readonly width: number;
  readonly height: number;
  readonly sharpness: number;
  readonly exposure: { readonly mean: number; readonly darkShare: number; readonly lightShare: number };
  readonly takenAt: number | null;
};
export type Failure = { readonly code: string; readonly values?: Readonly<Record<string, string | number>> };
export type Outcome = { readonly photo: Uploaded } | { readonly failure: Failure };

const WAITS_MS = [1000, 2000, 4000, 8000, 16_000];
const pause = (ms: number) => new Promise((done) => setTimeout(done, ms));

/**
 * Sends one photo's bytes as they are. The same key however often it is tried, so that it arrives once;
 * a lost line or a full queue is tried again with growing waits. `progress` is 0 to 1.
 */
export async function uploadPhoto(
  place: { readonly childId: string; readonly setId: string; readonly exerciseKey: string; readonly ordinal: number; readonly view: View },
  file: Blob, key: string, progress: (share: number) => void, waiting: (isWaiting: boolean) => void,
): Promise<Outcome> {
  const query = new URLSearchParams({ set: place.setId, exercise: place.exerciseKey, ordinal: String(place.ordinal), view: place.view });
  const bytes = await file.arrayBuffer();
  const hash = await sha256(bytes);
  for (const wait of [...WAITS_MS, null]) {
    const outcome = await once(`/api/photos/${place.childId}?${query}`, bytes, { key, hash }, progress);
    const isPassing = outcome === null || ("failure" in outcome && outcome.failure.code === "photo-queue-full");
    if (!isPassing) return outcome;
    if (wait === null) break;
    waiting(true);
    await pause(wait);
    waiting(false);
  }
  return { failure: { code: "line" } };
}

async function sha256(bytes: ArrayBuffer): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Null when the line was lost or the server was not there. */
function once(url: string, bytes: ArrayBuffer, { key, hash }: { readonly key: string; readonly hash: string }, progress: (share: number) => void): Promise<Outcome | null> {
  return new Promise((settle) => {
    const request = new XMLHttpRequest();
    request.open("POST", url);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.setRequestHeader("Idempotency-Key", key);
    request.setRequestHeader("X-Photo-Length", String(bytes.byteLength));
    request.setRequestHeader("X-Photo-Sha256", hash);
    request.upload.addEventListener("progress", (event) => progress(event.lengthComputable ? event.loaded / event.total : 0));
    request.addEventListener("error", () => settle(null));
    request.addEventListener("abort", () => settle(null));
    request.addEventListener("load", () => settle(request.status >= 500 ? null : read(request.status, request.responseText)));
    request.send(bytes);
  });
}

function read(status: number, text: string): Outcome {
  if (status === 401) return { failure: { code: "signed-out" } };
  try {
    // Our own route's answer; a body that is not its JSON is a failure below.
    const body = JSON.parse(text) as { readonly photo?: Uploaded; readonly problem?: Failure };
    if (status < 300 && body.photo) return { photo: body.photo };
    return { failure: body.problem ?? { code: "other" } };
  } catch {
    return { failure: { code: "other" } };
  }
}

/** Quarter turns clockwise. The new size, or null when it did not work. */
export async function turnPhoto(childId: string, photoId: string, quarters: 1 | 3): Promise<{ readonly width: number; readonly height: number } | null> {
  try {
    const response = await fetch(`/api/photos/${childId}/${photoId}/turn?quarters=${quarters}`, {
      method: "POST", headers: { "Idempotency-Key": crypto.randomUUID() },
    });
    if (!response.ok) return null;
    const { photo } = (await response.json()) as { readonly photo: { readonly width: number; readonly height: number } }; // our own route's answer
    return photo;
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
