import { sendClip } from "@/app/family/queue/clip";
import type { Store } from "@/app/family/queue/store";
import { sha256 } from "@/app/ui/send-bytes";
import { CLIP_PLACE, firstOf, isDue, nextStep, noticedIn, type Entry, type Step } from "@/lib/domain/sending/entry";
import { after, nextDue, stepsOf } from "@/lib/domain/sending/queue";
import { outcomeOf, type Outcome, type Reply } from "@/lib/domain/sending/reply";
import { waitedSince } from "@/lib/domain/sending/waited";

/** A POST where nothing else is said. */
export type Asked = { readonly method?: "POST" | "PATCH" | "DELETE"; readonly path: string; readonly headers: Readonly<Record<string, string>>; readonly body: ArrayBuffer | string };

/** What a pass needs of the world: one request, told how much of it went (0 to 1), and the clock. */
export type World = {
  ask(asked: Asked, progress: (share: number) => void): Promise<Reply>;
  now(): number;
};

/** How far the set in hand has come, 0 to 1, for whoever looks. */
export type Telling = (entry: Entry, share: number) => void;

/**
 * Sends all that is due, step by step, until nothing is; gives the moment at which more will be, or null.
 * With `personId` only what that person made. Two passes at once harm nothing, since every step has its
 * key; one at a time is kinder to the line.
 */
export async function pass(store: Store, world: World, personId: string | null, tell: Telling): Promise<number | null> {
  for (;;) {
    const entries = (await store.all()).filter((entry) => personId === null || entry.personId === personId);
    const entry = firstOf(entries.filter((each) => isDue(each, world.now())));
    const step = entry && nextStep(entry);
    if (!entry || !step) return nextDue(entries);
    const { done, of, now } = stepsOf(entry);
    const outcome = await outcomeFor(store, world, entry, step, (share) => tell(entry, (done + share * now) / of));
    await store.change(entry.id, (current) => after(current, step, outcome, { now: world.now(), chance: Math.random(), newKey: () => crypto.randomUUID() }));
  }
}

async function outcomeFor(store: Store, world: World, entry: Entry, step: Step, progress: (share: number) => void): Promise<Outcome> {
  progress(0);
  if (step.kind === "clip") {
    const bytes = await store.picture(entry.id, CLIP_PLACE);
    return bytes ? sendClip(world, { personId: entry.personId, childId: entry.childId, photoId: step.photoId, clip: step.clip }, bytes, progress) : { kind: "refused", code: "clip-gone", values: {} };
  }
  const asked = await askedBy(store, entry, step, world.now());
  if (!asked) return { kind: "refused", code: "photo-gone", values: {} };
  return outcomeOf(await world.ask({ ...asked, headers: { ...asked.headers, "Idempotency-Key": step.key, "X-Person": entry.personId } }, progress));
}

/** The request of a step; null when the phone has dropped the photo. */
async function askedBy(store: Store, entry: Entry, step: Exclude<Step, { readonly kind: "clip" }>, now: number): Promise<Asked | null> {
  const { id: setId, childId, exerciseKey, setupId, symptoms, note, taken, photos } = entry;
  const asJson = (path: string, body: unknown): Asked => ({ path: `${path}/${childId}`, headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  if (step.kind === "take-out") return { method: "DELETE", path: `/api/photo-sets/${childId}?set=${setId}`, headers: {}, body: "" };
  if (step.kind === "remove") return { method: "DELETE", path: `/api/photos/${childId}/${step.photoId}`, headers: {}, body: "" };
  const waitedMs = waitedSince(entry.madeAt, now);
  if (step.kind === "report") return asJson("/api/symptoms", { noticed: noticedIn(entry), note, photoSetId: setId, waitedMs });
  if (step.kind === "finish") {
    return asJson("/api/photo-sets", {
      setId, exerciseKey, setupId, symptoms, note, taken, waitedMs,
      photos: photos.map(({ photoId, view, head, facing, isSeenTurnedBack }) => ({ photoId, view, head, facing, isSeenTurnedBack })),
    });
  }
  const { ordinal, view, prepared } = step.photo;
  const body = await store.picture(setId, ordinal);
  return body && photoAsked({ childId, setId, exerciseKey, ordinal, view }, body, prepared);
}

type Place = { readonly childId: string; readonly setId: string; readonly exerciseKey: string; readonly ordinal: number; readonly view: string };

/** One photo's bytes, with what its metadata would have said where they were made ready here. */
export async function photoAsked({ childId, setId, exerciseKey, ordinal, view }: Place, body: ArrayBuffer, prepared: string | null): Promise<Asked> {
  const query = new URLSearchParams({ set: setId, exercise: exerciseKey, ordinal: String(ordinal), view });
  return {
    path: `/api/photos/${childId}?${query}`, body,
    headers: {
      "Content-Type": "application/octet-stream", "X-Photo-Length": String(body.byteLength), "X-Photo-Sha256": await sha256(body),
      ...(prepared === null ? {} : { "X-Photo-Prepared": prepared }),
    },
  };
}
