import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { randomBytes } from "node:crypto";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import sharp from "sharp";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test, vi } from "vitest";
import { database, dataDir } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { drafts } from "@/db/schema/answers";
import { actsDone, notices } from "@/db/schema/machinery";
import { photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant, type GrantOf } from "@/lib/access/grant";
import { checkChain } from "@/lib/audit/chain";
import { restoreBackup } from "@/lib/backup/restore";
import { takeBackup } from "@/lib/backup/take";
import type { Ability } from "@/lib/domain/policy/policy";
import type { Mark } from "@/lib/domain/marks/marks";
import { photoPoint } from "@/lib/domain/marks/geometry";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { openFolderStore } from "@/lib/media/folder-store";
import { openSecrets } from "@/lib/media/secrets";
import { askFamily } from "@/lib/records/back-questions";
import { saveDraft } from "@/lib/records/drafts";
import { eraseFamily, eraseNow } from "@/lib/records/erasures";
import { addClip } from "@/lib/records/clips";
import { addPhoto } from "@/lib/records/photo-sets";
import { askQuestion } from "@/lib/records/questions";
import { sendPhotoSet } from "@/lib/records/sending";
import { placeStop } from "@/lib/records/stops";
import { reportSymptoms } from "@/lib/records/symptoms";
import { applyTombstones } from "@/lib/records/tombstones";
import { addVoiceNote } from "@/lib/records/voice-notes";
import { takeInVoice } from "@/lib/voice/intake";
import type { PreparedVoice } from "@/lib/voice/prepared";
import { answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { done } from "@/tests/records/desk-scene";
import { FILMS } from "@/tests/clips/films";
import { photoWithGps } from "@/tests/photos/sources";
import { browserWebm } from "@/tests/voice/recordings";

// ATTACKS A-71: a canary in every place, erased, then looked for in every byte that is left.
const CANARY = "Zephyrine-Quillfeather";
/** Two photos that no other kept picture equals; the sound is a recording of a browser's own fake microphone. */
let prepared: PreparedPhoto, sound: PreparedVoice, film: PreparedClip;
let world: ReturnType<typeof answeringWorld>;
let logged: string[];

beforeAll(async () => {
  prepared = done(await takeIn(photoWithGps()));
  sound = done(await takeInVoice(browserWebm()));
  film = done(await takeInClip(FILMS.vp8()));
});
afterAll(() => closeDecoders());
beforeEach(async () => {
  logged = [];
  vi.spyOn(process.stderr, "write").mockImplementation((line) => { logged.push(String(line)); return true; });
  world = answeringWorld();
  writeFileSync(join(dataDir(), "kind"), "real\n");
  await plant();
});
afterEach(() => {
  vi.restoreAllMocks();
  world.close();
});

const on = <A extends Ability>(who: Actor, ability: A): Promise<GrantOf<A>> => grant(who, ability, "child-1", crypto.randomUUID());
const said = (what: string): string => `${what} ${CANARY}`;

/** Names, words, pictures, sound, marks, drafts, mail and remembered answers of one child, through the records that make them. */
async function plant(): Promise<void> {
  const db = database();
  db.update(children).set({ givenName: said("name") }).where(eq(children.id, "child-1")).run();
  db.update(families).set({ name: said("family") }).where(eq(families.id, "family-a")).run();
  db.update(people).set({ name: said("father"), email: `${CANARY.toLowerCase()}@people.example`, phone: said("phone") }).where(eq(people.id, "father")).run();
  const set = crypto.randomUUID();
  const views = ["behind", "front", "head-end"] as const;
  const sent = [];
  for (const [at, view] of views.entries()) {
    const place = { setId: set, exerciseKey: EXERCISE, ordinal: ([1, 2, 3] as const)[at] ?? 1, view };
    const { photoId } = done(await addPhoto(await on(world.mother, "photo-set.send"), place, prepared, NOW - HOUR, NOW));
    sent.push({ photoId, view, head: null, facing: "unsure" } as const);
  }
  const photoId = sent[0]?.photoId ?? "";
  done(await addClip(await on(world.mother, "photo-set.send"), { uploadId: crypto.randomUUID(), photoId }, film, NOW));
  const none = { noticed: [], isNone: true } as const;
  done(await sendPhotoSet(await on(world.mother, "photo-set.send"), {
    setId: set, exerciseKey: EXERCISE, setupId: "setup-child-1", photos: sent, taken: null, symptoms: { urgent: none, today: none }, note: said("note"),
  }, NOW));
  done(await askFamily(await on(world.therapist, "back-question.ask"), { photoSetId: set, words: said("asked back"), sideReason: "", wordsConfirmed: false }, NOW));
  done(await saveDraft(await on(world.colleague, "answer.write"), set, { fields: { summary: said("draft"), [`marks.${photoId}`]: said("drawn") }, version: 0 }, NOW));
  const voice = done(await addVoiceNote(await on(world.therapist, "answer.write"), set, sound, NOW));
  const mark: Mark = { id: "n", kind: "note", itemKey: null, at: photoPoint(0.5, 0.5), text: said("mark") };
  const judged = verdictsOf("in-place").map((each, at) => (at === 0 ? { ...each, cue: said("cue") } : each));
  const { answerId } = done(await send(world.therapist, set, { verdicts: judged, summary: `${said("summary")}. Lie on the left side.`, marks: [{ photoId, marks: [mark] }], voiceNoteId: voice.voiceNoteId }));
  done(await askQuestion(await on(world.mother, "question.ask"), { answerId, words: said("question") }, NOW + HOUR));
  done(await reportSymptoms(await on(world.mother, "symptom.report"), { noticed: ["dizzy"], note: said("symptom"), photoSetId: null }, NOW));
  done(await placeStop(await on(world.therapist, "stop.place"), { exerciseKey: null, reason: said("stop"), sideReason: "", wordsConfirmed: false }, NOW));
}

type Found = { readonly text: readonly string[]; readonly media: number };

/** Where the canary stands in the bytes of a data folder as they lie there, in any case and encoding, and how many of the child's own files open. */
async function search(dir: string): Promise<Found> {
  const bytes = new Map(files(dir).map((name) => [name, readFileSync(join(dir, name))]));
  const needles = [CANARY, CANARY.toLowerCase()].flatMap((word) => [Buffer.from(word), Buffer.from(word, "utf16le"), Buffer.from(word).toString("base64").slice(0, 24)].map((each) => Buffer.from(each)));
  const text = [...bytes].filter(([, content]) => needles.some((needle) => content.includes(needle))).map(([name]) => name);
  // Every kept size of the photo, the picture with its marks, the sound, the clip: by what is in them once opened.
  const store = openFolderStore(join(dir, "media"), { current: openSecrets(dir).mediaKey });
  const planted = [...prepared.sizes.map((size) => size.bytes), sound.bytes, film.bytes];
  let media = 0;
  for await (const { fileId } of store.list()) {
    const opened = await store.read(fileId);
    const isMarked = !planted.some((each) => opened.equals(each)) && (await sharp(opened).metadata()).width === prepared.sizes[0].width;
    if (isMarked || planted.some((each) => opened.equals(each))) media += 1;
  }
  return { text, media };
}

const files = (dir: string): readonly string[] =>
  readdirSync(dir, { recursive: true }).map(String).filter((name) => statSync(join(dir, name)).isFile());

/** The child's tiny pictures are in the database itself. */
const placeholders = (dir: string): boolean => files(dir).some((name) => name.startsWith("trueside.db") && readFileSync(join(dir, name)).includes(prepared.placeholder.bytes.toString("base64").slice(0, 60)));

async function nextBackup(): Promise<Found & { readonly placeholder: boolean }> {
  const place = mkdtempSync(join(tmpdir(), "trueside-canary-"));
  const [backups, target] = [join(place, "backups"), join(place, "restored")];
  const key = randomBytes(32);
  const from = dataDir();
  await takeBackup(from, backups, { key, isKept: true }, NOW + HOUR);
  mkdirSync(target);
  process.env["DATA_DIR"] = target;
  await restoreBackup(backups, target, key, applyTombstones, NOW + HOUR);
  const found = { ...(await search(target)), placeholder: placeholders(target) };
  process.env["DATA_DIR"] = from;
  rmSync(place, { recursive: true });
  return found;
}

describe("before anything is erased", () => {
  test("the search finds the canary in the database and every file of the child, and in the next backup", async () => {
    const found = await search(dataDir());
    expect(found.text.filter((name) => name.startsWith("trueside.db")).length).toBeGreaterThan(0);
    // Three photos in three sizes, one with marks drawn in, one clip, one spoken note.
    expect([found.media, placeholders(dataDir())]).toEqual([12, true]);
    expect(database().select().from(drafts).all().some(({ body }) => body.includes(CANARY))).toBe(true);
    expect(database().select().from(notices).all().length).toBeGreaterThan(3);
    expect(database().select().from(actsDone).all().length).toBeGreaterThan(5);
    expect(await nextBackup()).toMatchObject({ media: 12, placeholder: true, text: ["trueside.db"] });
  });
});

describe("after the erasure", () => {
  test.each(["child", "family"] as const)("of a %s, nothing of it is left in database, log, files or the next backup", async (kind) => {
    if (kind === "child") done(await eraseNow(await grant(world.lead, "erasure.settle", "child-1"), { kind, typedName: said("name") }, NOW + HOUR));
    else done(await eraseFamily(await grant(world.lead, "family.erase", "family-a"), { typedName: said("family"), isNow: true }, NOW + HOUR));
    // The family's own name stays with its other child.
    if (kind === "child") database().update(families).set({ name: "x" }).where(eq(families.id, "family-a")).run();
    if (kind === "child") database().$client.pragma("wal_checkpoint(TRUNCATE)");
    expect(await search(dataDir())).toEqual({ text: [], media: 0 });
    expect(placeholders(dataDir())).toBe(false);
    expect(logged.join("")).not.toContain(CANARY);
    expect(checkChain(database().$client).brokenAt).toBeNull();
    expect(await nextBackup()).toEqual({ text: [], media: 0, placeholder: false });
  });

  test("of the photos alone, their bytes, marks and drafts of marks are gone, and the words stay", async () => {
    for (const { id } of database().select({ id: photos.id }).from(photos).all()) done(await eraseNow(await grant(world.lead, "erasure.settle", "child-1"), { kind: "photo", objectId: id }, NOW + HOUR));
    expect([(await search(dataDir())).media, placeholders(dataDir())]).toEqual([1, false]);
    const bytes = files(dataDir()).filter((name) => name.startsWith("trueside.db")).map((name) => readFileSync(join(dataDir(), name), "latin1")).join("");
    expect([bytes.includes(said("mark")), bytes.includes(said("drawn")), bytes.includes(said("summary")), bytes.includes(said("draft"))]).toEqual([false, false, true, true]);
  });
});
