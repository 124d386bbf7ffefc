import "server-only";
import { and, asc, desc, eq, isNotNull, isNull, lte, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { answerPairs, answers, marks, verdicts } from "@/db/schema/answers";
import { setups } from "@/db/schema/care";
import { clips } from "@/db/schema/clips";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import { isStaff } from "@/lib/access/actor";
import type { ArchivedAnswer, ArchivedSet, ArchiveFile } from "@/lib/domain/archive/child-record.schema";
import { iso, isoOrNull } from "@/lib/domain/archive/instant";
import type { ChildGrant } from "@/lib/access/grant";
import { FIRST_MOMENT, secondsOf } from "@/lib/domain/clip/moment";
import { spansOf } from "@/lib/records/answer-spans";
import { own, readPhotoConsent } from "@/lib/records/child-facts";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { inForce } from "@/lib/records/in-force";
import { archivedBackQuestions, archivedQuestions, archivedVerdicts } from "@/lib/records/archived-words";
import { isFamilys, isHeldBy } from "@/lib/records/sent-photos";

/** Where a file of the archive lies in the media folder, by its path in the archive. */
export type ArchiveSources = Map<string, string>;

/**
 * Every photo set that was sent, newest first, with every answer the family could read. A set sent for the wrong child
 * may show another one: it says so and holds nothing. With photo consent withdrawn the pictures are closed to the
 * practice; a family takes what is still kept.
 */
export function archivedSets(grant: ChildGrant<"export.ask">, sources: ArchiveSources, now: number): readonly ArchivedSet[] {
  const isOpen = !isStaff(grant.actor.role) || readPhotoConsent(grant, now) === "given";
  const rows = database().select({ set: photoSets, exerciseVersion: setups.exerciseVersion }).from(photoSets)
    .innerJoin(setups, and(eq(setups.id, photoSets.setupId), eq(setups.childId, photoSets.childId)))
    .where(and(own(photoSets, grant), isNotNull(photoSets.sentAt))).orderBy(asc(photoSets.sentAt), asc(photoSets.id)).all();
  return rows.map(({ set, exerciseVersion }, at) => {
    const isOthers = set.voidReason === "wrong-child";
    const names = exerciseWords(grant.practiceId, set.exerciseKey, exerciseVersion, grant.actor.reader.locale);
    const name = `${iso(set.sentAt ?? 0).slice(0, 10)}-${String(at + 1).padStart(3, "0")}`;
    return {
      id: set.id, by: set.sentBy, at: iso(set.sentAt ?? 0), exercise: set.exerciseKey, title: names.title, phase: set.phase, setupId: set.setupId,
      takenAt: isoOrNull(set.takenAt), isOld: set.isOld, note: isOthers ? "" : set.note, voidReason: set.voidReason, photosErasedAt: isoOrNull(set.photosErasedAt),
      photos: isOthers ? [] : photosOf(grant, set.id, name, isOpen ? sources : null, now),
      askedBack: isOthers ? [] : archivedBackQuestions(grant, set.id),
      answers: isOthers ? [] : answersOf(grant, set.id, names, name, { pictures: isOpen ? sources : null, sources }, now),
    };
  }).toReversed();
}

function photosOf(grant: ChildGrant<"export.ask">, photoSetId: string, name: string, sources: ArchiveSources | null, now: number): ArchivedSet["photos"] {
  return database().select().from(photos).where(and(own(photos, grant), eq(photos.photoSetId, photoSetId), isNull(photos.removedAt), isFamilys)).orderBy(asc(photos.ordinal)).all()
    .map((photo) => ({
      id: photo.id, view: photo.view, width: photo.width, height: photo.height, takenAt: isoOrNull(photo.takenAt), sideCheck: photo.sideCheck,
      isTurnedBack: photo.isTurnedBack, isCovered: photo.isCovered, clip: clipFile(grant, photo.id, `pictures/${name}-${photo.ordinal}-${photo.view}-clip`, sources, now),
      file: sources && fileOf(grant, and(eq(mediaFiles.photoId, photo.id), eq(mediaFiles.kind, "2048")), `pictures/${name}-${photo.ordinal}-${photo.view}.jpg`, "image/jpeg", sources),
    }));
}

function clipFile(grant: ChildGrant<"export.ask">, photoId: string, path: string, sources: ArchiveSources | null, now: number): ArchivedSet["photos"][number]["clip"] {
  const clip = database().select({ container: clips.container, durationMs: clips.durationMs, turns: clips.turns }).from(clips).where(and(own(clips, grant), eq(clips.photoId, photoId))).get();
  if (!clip) return null;
  const file = sources && fileOf(grant, and(eq(mediaFiles.photoId, photoId), eq(mediaFiles.kind, "clip")), `${path}.${clip.container}`, `video/${clip.container}`, sources);
  return { seconds: secondsOf(clip.durationMs), turns: clip.turns, file, moments: momentsOf(grant, photoId, path, sources, now) };
}

/** What an answer that the family could read holds; the rest is a draft. */
function momentsOf(grant: ChildGrant<"export.ask">, photoId: string, path: string, sources: ArchiveSources | null, now: number): NonNullable<ArchivedSet["photos"][number]["clip"]>["moments"] {
  const isRead = and(isNull(answers.takenBackAt), lte(answers.publishedAt, now));
  return database().select().from(photos).where(and(own(photos, grant), eq(photos.momentOf, photoId), isNull(photos.removedAt), isHeldBy(isRead))).orderBy(asc(photos.clipMs), asc(photos.ordinal)).all()
    .map(({ id, clipMs, momentBy, storedAt, width, height, ordinal }) => ({
      id, seconds: secondsOf(clipMs ?? 0), width, height, by: momentBy ?? "", at: iso(storedAt),
      file: sources && fileOf(grant, and(eq(mediaFiles.photoId, id), eq(mediaFiles.kind, "2048")), `${path}-moment-${ordinal - FIRST_MOMENT + 1}.jpg`, "image/jpeg", sources),
    }));
}

function answersOf(
  grant: ChildGrant<"export.ask">, photoSetId: string, names: ExerciseNames, name: string,
  { pictures, sources }: { readonly pictures: ArchiveSources | null; readonly sources: ArchiveSources }, now: number,
): ArchivedSet["answers"] {
  const rows = database().select().from(answers)
    .where(and(own(answers, grant), eq(answers.photoSetId, photoSetId), isNull(answers.takenBackAt), lte(answers.publishedAt, now))).orderBy(desc(answers.version)).all();
  const inForceIds = new Set(database().select({ id: answers.id }).from(answers).where(and(own(answers, grant), eq(answers.photoSetId, photoSetId), inForce(now))).all().map(({ id }) => id));
  return rows.map((answer): ArchivedAnswer => ({
    id: answer.id, version: answer.version, by: answer.answeredBy, at: iso(answer.answeredAt), isInForce: inForceIds.has(answer.id), amendReason: answer.amendReason,
    kind: answer.kind, summary: answer.summary, nextStep: answer.nextStep, nextView: answer.nextView,
    verdicts: archivedVerdicts(grant, eq(verdicts.answerId, answer.id), names),
    marked: markedOf(grant, answer, name, pictures),
    marks: database().select({ photoId: marks.photoId, body: marks.body }).from(marks).where(and(own(marks, grant), eq(marks.answerId, answer.id))).all()
      .map(({ photoId, body }) => ({ photoId, body: JSON.parse(body) as unknown })),
    spans: (spansOf(grant, [answer.id]).get(answer.id) ?? []).map(({ photoId, fromMs, toMs }) => ({ photoId, fromSeconds: secondsOf(fromMs), toSeconds: secondsOf(toMs) })),
    pairs: database().select({ thenPhotoId: answerPairs.thenPhotoId, nowPhotoId: answerPairs.nowPhotoId }).from(answerPairs).where(and(own(answerPairs, grant), eq(answerPairs.answerId, answer.id))).all(),
    spokenNote: answer.voiceNoteId === null ? null : noteOf(grant, answer.voiceNoteId, `spoken-notes/${name}-v${answer.version}`, sources),
    questions: archivedQuestions(grant, answer.id),
  }));
}

function markedOf(grant: ChildGrant<"export.ask">, answer: { readonly id: string; readonly version: number }, name: string, sources: ArchiveSources | null): ArchivedAnswer["marked"] {
  const shown = database().select({ photoId: photos.id, ordinal: photos.ordinal, view: photos.view }).from(photos)
    .innerJoin(mediaFiles, and(eq(mediaFiles.photoId, photos.id), eq(mediaFiles.childId, photos.childId)))
    .where(and(own(photos, grant), eq(mediaFiles.answerId, answer.id), eq(mediaFiles.kind, "marked"), isNull(photos.removedAt))).orderBy(asc(photos.ordinal)).all();
  return shown.map(({ photoId, ordinal, view }) => ({
    photoId,
    file: sources && fileOf(grant, and(eq(mediaFiles.photoId, photoId), eq(mediaFiles.answerId, answer.id), eq(mediaFiles.kind, "marked")), `pictures/${name}-${ordinal < FIRST_MOMENT ? ordinal : `moment-${ordinal - FIRST_MOMENT + 1}`}-${view}-marked-v${answer.version}.jpg`, "image/jpeg", sources),
  }));
}

function noteOf(grant: ChildGrant<"export.ask">, voiceNoteId: string, path: string, sources: ArchiveSources): ArchivedAnswer["spokenNote"] {
  const note = database().select({ container: voiceNotes.container, durationMs: voiceNotes.durationMs }).from(voiceNotes)
    .where(and(own(voiceNotes, grant), eq(voiceNotes.id, voiceNoteId), isNull(voiceNotes.removedAt))).get();
  if (!note) return null;
  const file = fileOf(grant, eq(mediaFiles.voiceNoteId, voiceNoteId), `${path}.${note.container === "webm" ? "webm" : "m4a"}`, `audio/${note.container}`, sources);
  return { seconds: Math.round(note.durationMs / 100) / 10, file };
}

function fileOf(grant: ChildGrant<"export.ask">, which: SQL | undefined, path: string, contentType: string, sources: ArchiveSources): ArchiveFile | null {
  const row = database().select({ fileId: mediaFiles.fileId, bytes: mediaFiles.byteLength, sha256: mediaFiles.sha256 }).from(mediaFiles).where(and(own(mediaFiles, grant), which)).get();
  if (!row) return null;
  sources.set(path, row.fileId);
  return { path, contentType, bytes: row.bytes, sha256: row.sha256 };
}
