import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { auditEntries } from "@/db/schema/machinery";
import { mediaFiles } from "@/db/schema/photos";
import { voiceNotes } from "@/db/schema/voice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { answerAsDraft } from "@/lib/records/amendments";
import { deskOf } from "@/lib/records/answering";
import { historyOf } from "@/lib/records/answers-read";
import { mediaStore } from "@/lib/records/media";
import { takeBackAnswer } from "@/lib/records/take-back";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addVoiceNote, attachVoiceNote, heardNote, mayRecord, ownVoiceNote, removeVoiceNote } from "@/lib/records/voice-notes";
import { takeInVoice } from "@/lib/voice/intake";
import type { PreparedVoice } from "@/lib/voice/prepared";
import { addSet, answeringWorld, decide, EXERCISE, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";
import { browserWebm, toneMp4 } from "@/tests/voice/recordings";

let prepared: PreparedVoice;
let other: PreparedVoice;
let world: ReturnType<typeof answeringWorld>;
beforeAll(async () => {
  prepared = done(await takeInVoice(browserWebm()));
  other = done(await takeInVoice(toneMp4()));
});
afterAll(() => closeDecoders());
beforeEach(() => {
  world = answeringWorld();
  addSet("set");
  addSet("set-b", { childId: "child-3" });
});
afterEach(() => world.close());

/** When no answer can be taken back any more. */
const LATER = NOW + HOUR;
const writing = (who: Actor, once: string | null = null, childId = "child-1") => grant(who, "answer.write", childId, once);
const add = async (who: Actor = world.therapist, note = prepared, once: string | null = null, now = NOW) => addVoiceNote(await writing(who, once), "set", note, now);
const hear = async (who: Actor, voiceNoteId: string, now = NOW, childId = "child-1") => heardNote(await grant(who, "child.read", childId), voiceNoteId, now);
const filesOnDisk = async (): Promise<string[]> => {
  const found: string[] = [];
  for await (const { fileId } of mediaStore().list()) found.push(fileId);
  return found;
};
const fileRows = () => database().select().from(mediaFiles).where(eq(mediaFiles.kind, "voice")).all();

describe("a spoken note that is not sent", () => {
  it("is stored sealed, and its recorder alone hears it, byte for byte", async () => {
    const { voiceNoteId, durationMs } = done(await add());
    expect(durationMs).toBe(prepared.durationMs);
    const heard = await hear(world.therapist, voiceNoteId);
    expect(heard).toMatchObject({ container: "webm", byteLength: prepared.bytes.length });
    expect(await heard?.read({ start: 0, end: prepared.bytes.length })).toEqual(prepared.bytes);
    for (const who of [world.colleague, world.lead, world.mother, world.father]) expect(await hear(who, voiceNoteId), who.personId).toBeNull();
    await expect(hear(world.stranger, voiceNoteId)).rejects.toThrow();
    await expect(hear(world.outsider, voiceNoteId)).rejects.toThrow();
    expect(await ownVoiceNote(await writing(world.therapist), "set")).toEqual({ voiceNoteId, durationMs });
    expect(await ownVoiceNote(await writing(world.colleague), "set")).toBeNull();
    expect((await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, LATER))[0]?.answer).toBeNull();
  });

  it("is not another child's, even for whom both children are open", async () => {
    const { voiceNoteId } = done(await add());
    expect(await hear(world.therapist, voiceNoteId, NOW, "child-2")).toBeNull();
  });

  it("gives way to a later one of the same person, file and all, and to nobody else's", async () => {
    const first = done(await add());
    done(await add(world.colleague, other));
    const second = done(await add(world.therapist, other, null, NOW + 1));
    expect(await hear(world.therapist, first.voiceNoteId)).toBeNull();
    expect((await hear(world.therapist, second.voiceNoteId))?.container).toBe("mp4");
    expect(database().select().from(voiceNotes).where(eq(voiceNotes.id, first.voiceNoteId)).get()?.removedAt).toBe(NOW + 1);
    expect((await filesOnDisk()).sort()).toEqual(fileRows().map((row) => row.fileId).sort());
    expect(fileRows()).toHaveLength(2);
  });

  it("arrives once under one key, however often it is sent", async () => {
    const key = "11111111-1111-4111-8111-111111111111";
    const first = done(await add(world.therapist, prepared, key));
    const again = done(await add(world.therapist, prepared, key, NOW + 1));
    expect(again).toEqual(first);
    expect(await filesOnDisk()).toHaveLength(1);
    expect(await hear(world.therapist, first.voiceNoteId)).not.toBeNull();
  });

  it("is thrown away with its file, as often as one likes", async () => {
    const { voiceNoteId } = done(await add());
    for (let time = 0; time < 2; time += 1) done(await removeVoiceNote(await writing(world.therapist), "set", NOW));
    expect(await hear(world.therapist, voiceNoteId)).toBeNull();
    expect(await filesOnDisk()).toEqual([]);
    expect(fileRows()).toEqual([]);
  });

  it("has no place where there is no such set, or a void one", async () => {
    expect(codeOf(await addVoiceNote(await writing(world.therapist), "set-b", prepared, NOW))).toBe("form-invalid");
    expect(codeOf(await mayRecord(await writing(world.therapist), "nowhere"))).toBe("form-invalid");
    done(await voidPhotoSet(await writing(world.therapist), "set", NOW));
    expect(codeOf(await add())).toBe("set-voided");
    expect(await filesOnDisk()).toEqual([]);
  });
});

describe("a spoken note in an answer", () => {
  it("is the family's and the staff's from then on, and shows where the answer shows", async () => {
    const note = done(await add());
    done(await send(world.therapist, "set", { voiceNoteId: note.voiceNoteId }));
    for (const who of [world.mother, world.father, world.colleague, world.therapist]) expect(await hear(who, note.voiceNoteId, LATER), who.personId).not.toBeNull();
    await expect(hear(world.stranger, note.voiceNoteId)).rejects.toThrow();
    expect((await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, LATER))[0]?.answer?.voice).toEqual(note);
    expect((await deskOf(await writing(world.colleague), "set", NOW))?.answered?.voice).toEqual(note);
    expect(await ownVoiceNote(await writing(world.therapist), "set")).toBeNull();
  });

  it("must be one's own, of this set and not thrown away", async () => {
    const { voiceNoteId } = done(await add());
    expect(codeOf(await send(world.colleague, "set", { voiceNoteId }))).toBe("voice-gone");
    expect(codeOf(await send(world.therapist, "set", { voiceNoteId: "no-such-note" }))).toBe("voice-gone");
    addSet("later", { sentAt: NOW - 1 });
    expect(codeOf(await send(world.therapist, "later", { voiceNoteId }))).toBe("voice-gone");
    done(await removeVoiceNote(await writing(world.therapist), "set", NOW));
    expect(await send(world.therapist, "set", { voiceNoteId })).toMatchObject({ problem: { code: "voice-gone", field: "voice" } });
    expect(database().select().from(answers).all()).toEqual([]);
  });

  it("needs its words in writing all the same", async () => {
    const { voiceNoteId } = done(await add());
    expect(codeOf(await send(world.therapist, "set", { voiceNoteId, summary: " " }))).toBe("summary-missing");
  });

  it("cannot be thrown away or replaced any more", async () => {
    const { voiceNoteId } = done(await add());
    done(await send(world.therapist, "set", { voiceNoteId }));
    done(await removeVoiceNote(await writing(world.therapist), "set", NOW));
    done(await add(world.therapist, other));
    expect((await hear(world.mother, voiceNoteId, LATER))?.container).toBe("webm");
  });

  it("is not heard before its answer is published, and by its recorder alone once that is taken back", async () => {
    const { voiceNoteId } = done(await add());
    const { answerId } = done(await send(world.therapist, "set", { voiceNoteId }));
    // The product contract's 30 seconds (section 5).
    expect(await hear(world.mother, voiceNoteId, NOW + 29_999)).toBeNull();
    expect(await hear(world.mother, voiceNoteId, NOW + 30_000)).not.toBeNull();
    done(await takeBackAnswer(await writing(world.therapist), answerId, NOW + 10));
    expect(await hear(world.mother, voiceNoteId, LATER)).toBeNull();
    expect(await hear(world.colleague, voiceNoteId, LATER)).toBeNull();
    expect(await hear(world.therapist, voiceNoteId, LATER)).not.toBeNull();
    expect(await ownVoiceNote(await writing(world.therapist), "set")).toMatchObject({ voiceNoteId });
    done(await send(world.therapist, "set", { voiceNoteId }, NOW + 20));
    expect(await hear(world.mother, voiceNoteId, LATER)).not.toBeNull();
  });

  it("stays when photo consent is withdrawn, as the words do, and goes when the set is void", async () => {
    const { voiceNoteId } = done(await add());
    done(await send(world.therapist, "set", { voiceNoteId }));
    decide("child-1", "family-a", "withdrawn", 2);
    expect(await hear(world.mother, voiceNoteId, LATER)).not.toBeNull();
    done(await voidPhotoSet(await writing(world.therapist), "set", NOW));
    for (const who of [world.mother, world.therapist]) expect(await hear(who, voiceNoteId, LATER)).toBeNull();
    expect((await historyOf(await grant(world.mother, "child.read", "child-1"), EXERCISE, LATER))[0]?.answer?.voice).toBeNull();
  });
});

describe("a later version of an answer", () => {
  it("may go on with the note of the one before, whoever writes it", async () => {
    const { voiceNoteId } = done(await add());
    done(await send(world.therapist, "set", { voiceNoteId }));
    const [first] = database().select().from(answers).all();
    if (!first) throw new Error("no answer");
    database().insert(answers).values({ ...first, id: "amended", version: 2, amendReason: "clearer", answeredBy: "colleague", voiceNoteId: null }).run();
    const colleague = await writing(world.colleague);
    // The form that changes the answer begins with it: leaving it out is the therapist's choice.
    expect(await answerAsDraft(colleague, first.id)).toMatchObject({ voice: voiceNoteId });
    done(database().transaction((tx) => attachVoiceNote(tx, colleague, "amended", "set", voiceNoteId)));
    expect(database().select().from(answers).where(eq(answers.id, "amended")).get()?.voiceNoteId).toBe(voiceNoteId);
  });
});

describe("the audit", () => {
  const acts = () => database().select({ act: auditEntries.act, actorId: auditEntries.actorId }).from(auditEntries).all()
    .filter((entry) => entry.act.startsWith("voice-note.")).map((entry) => `${entry.actorId} ${entry.act}`);

  it("holds each listening of staff once, however many ranges it takes, and none of the family", async () => {
    const { voiceNoteId } = done(await add());
    done(await send(world.therapist, "set", { voiceNoteId }));
    for (let range = 0; range < 5; range += 1) await hear(world.colleague, voiceNoteId, NOW + range);
    await hear(world.mother, voiceNoteId);
    expect(acts()).toEqual(["therapist voice-note.added", "colleague voice-note.heard"]);
    await hear(world.lead, voiceNoteId);
    await hear(world.colleague, voiceNoteId, NOW + HOUR);
    await hear({ ...world.colleague, sessionId: "another" }, voiceNoteId, NOW + HOUR);
    expect(acts().slice(2)).toEqual(["lead voice-note.heard", "colleague voice-note.heard", "colleague voice-note.heard"]);
  });
});
