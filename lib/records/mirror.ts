import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { answers, drafts } from "@/db/schema/answers";
import { mediaFiles, photoDecisions, photos } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { flipFinding } from "@/lib/domain/photo/side-card";
import { parseFinding, serialiseFinding } from "@/lib/domain/photo/side-card.schema";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { sideCheck } from "@/lib/domain/setup/side-check";
import { turnPrepared } from "@/lib/photos/intake";
import { act } from "@/lib/records/act";
import { readSet } from "@/lib/records/answering";
import { own } from "@/lib/records/child-facts";
import { AnswerDraft } from "@/lib/records/drafts";
import { firstAnswer } from "@/lib/records/in-force";
import { filesOf, replacePictureRows, storePictures } from "@/lib/records/kept-pictures";
import { eraseUnclaimed, mediaStore } from "@/lib/records/media";
import { isFamilys } from "@/lib/records/sent-photos";

export type MirrorInput = {
  readonly photoSetId: string;
  readonly photoId: string;
  /** Whether the picture, as it came, was mirror-reversed. */
  readonly wasMirrored: boolean;
  readonly reason: string;
};

/**
 * A member of staff settles whether a picture came mirror-reversed: what is stored is flipped where it
 * must be, and its side check computed anew. Said again the other way, it is flipped back. Refused:
 * `reason-missing`, `answered-already`, `set-voided`, and `draft-has-marks` where anyone's draft has
 * marks on it, which would then point at the wrong side; `moments-taken` where pictures were taken from its clip.
 */
export async function settleMirror(grant: ChildGrant<"mirror.settle">, input: MirrorInput, now: number): Promise<Result<null>> {
  const reason = input.reason.trim();
  if (reason.length < 3) return refuse("reason-missing", { field: "reason" });
  const before = database().transaction((tx) => openPhoto(tx, grant, input));
  if (!before.ok) return before;
  const isFlipped = before.value.isTurnedBack !== input.wasMirrored;
  const replaced = isFlipped ? filesOf(grant, input.photoId) : [];
  const flipped = isFlipped ? await flippedPictures(grant, input.photoId) : ok(null);
  if (!flipped.ok) return flipped;
  const settled = act(grant, "photo.mirror-settled", now, (tx) => {
    const found = openPhoto(tx, grant, input);
    if (!found.ok) return found;
    const { row, lieOn, isTurnedBack } = found.value;
    if (isTurnedBack !== before.value.isTurnedBack) return refuse("stale-version");
    const head = row.headX === null || row.headY === null ? null : { x: isFlipped ? 1 - row.headX : row.headX, y: row.headY };
    const card = parseFinding(row.cardReading);
    const said = card && (isFlipped ? flipFinding(card) : card);
    if (flipped.value) replacePictureRows(tx, grant, input.photoId, flipped.value.stored, now);
    tx.update(photos).set({
      isTurnedBack: input.wasMirrored, mirrorSettledBy: "staff", headX: head?.x ?? null, cardReading: said && serialiseFinding(said),
      sideCheck: sideCheck({ view: row.view, head, facing: row.facing, mirrored: "no" }, lieOn),
      ...(flipped.value ? { hash: flipped.value.hash, placeholder: flipped.value.placeholder } : {}),
    }).where(and(own(photos, grant), eq(photos.id, input.photoId))).run();
    insertDecision(tx, grant, input.photoId, input.wasMirrored ? "mirrored" : "not-mirrored", reason, now);
    return ok({ objectId: input.photoId, value: null });
  });
  await eraseUnclaimed([...replaced, ...(flipped.value?.stored ?? []).map(({ media }) => media.fileId)]);
  return settled;
}

/** A therapist looked: the photo shows this child, though another child's card stands in it. */
export async function confirmChild(
  grant: ChildGrant<"answer.write">,
  input: { readonly photoSetId: string; readonly photoId: string },
  now: number,
): Promise<Result<null>> {
  return act(grant, "photo.child-confirmed", now, (tx) => {
    const photo = openPhoto(tx, grant, input, false);
    if (!photo.ok) return photo;
    insertDecision(tx, grant, input.photoId, "right-child", "", now);
    return ok({ objectId: input.photoId, value: null });
  });
}

type Ref = ChildGrant<"mirror.settle"> | ChildGrant<"answer.write">;

/** A photo of a sent set that nobody has answered. */
function openPhoto(tx: Transaction, grant: Ref, { photoSetId, photoId }: { readonly photoSetId: string; readonly photoId: string }, isFlipping = true) {
  const set = readSet(grant, photoSetId);
  const row = tx.select().from(photos).where(and(own(photos, grant), eq(photos.id, photoId), eq(photos.photoSetId, photoSetId), isNull(photos.removedAt), isFamilys)).get();
  if (!set || !row) return refuse("form-invalid", { field: "photoId" });
  if (set.voidReason !== null) return refuse("set-voided");
  if (tx.select({ id: answers.id }).from(answers).where(and(own(answers, grant), eq(answers.photoSetId, photoSetId), firstAnswer())).get()) return refuse("answered-already");
  if (isFlipping && isDrawnOn(tx, grant, photoSetId, photoId)) return refuse("draft-has-marks");
  // They were taken of the clip as it stood, and would stand the other way round beside it.
  if (isFlipping && tx.select({ id: photos.id }).from(photos).where(and(own(photos, grant), eq(photos.momentOf, photoId))).get()) return refuse("moments-taken");
  return ok({ row, isTurnedBack: row.isTurnedBack, lieOn: set.resolution.setup.lieOn });
}

function isDrawnOn(tx: Transaction, grant: Ref, photoSetId: string, photoId: string): boolean {
  const bodies = tx.select({ body: drafts.body }).from(drafts).where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId), isNull(drafts.sentAt))).all();
  return bodies.some(({ body }) => {
    const saved = AnswerDraft.parse(JSON.parse(body))[`marks.${photoId}`] ?? "";
    const drawn = saved === "" ? null : parseMarks(saved);
    // What cannot be read may be marks: better refused than left pointing at the wrong side.
    return drawn !== null && (!drawn.ok || drawn.value.length > 0);
  });
}

async function flippedPictures(grant: Ref, photoId: string) {
  const kept = database().select({ fileId: mediaFiles.fileId }).from(mediaFiles)
    .where(and(own(mediaFiles, grant), eq(mediaFiles.photoId, photoId), eq(mediaFiles.kind, "2048"))).get();
  if (!kept) throw new Error("a sent photo has no picture");
  const made = await turnPrepared(await mediaStore().read(kept.fileId), { quarterTurns: 0, flopped: true });
  if (!made.ok) return made;
  return ok({ stored: await storePictures(made.value), hash: made.value.measures.hash, placeholder: made.value.placeholder.bytes.toString("base64") });
}

function insertDecision(tx: Transaction, grant: Ref, photoId: string, decision: "mirrored" | "not-mirrored" | "right-child", reason: string, now: number): void {
  tx.insert(photoDecisions).values({
    id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, photoId, decision, reason, decidedBy: grant.actor.personId, decidedAt: now,
  }).run();
}
