import { createHash, randomBytes } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { Fhir } from "fhir";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { database } from "@/db/client";
import { answers, staffStops } from "@/db/schema/answers";
import { careLinks, children, families } from "@/db/schema/care";
import { erasedFiles } from "@/db/schema/erasure";
import { childExports, exportParts } from "@/db/schema/exports";
import { auditEntries } from "@/db/schema/machinery";
import { mediaFiles, photoSets } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { backQuestions, questions, replies } from "@/db/schema/questions";
import { voiceNotes } from "@/db/schema/voice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { decideConsent } from "@/lib/records/consents";
import { cutOff } from "@/lib/records/cut-off";
import { eraseRows } from "@/lib/records/erasing";
import { exportStore, readParts, partsOf, sweepExports } from "@/lib/records/export-files";
import { tendExports } from "@/lib/records/export-making";
import { askForExport, EXPORT_LIFE_MS, exportOf, takeExport } from "@/lib/records/exports";
import { setPhotoAside } from "@/lib/records/quarantines";
import { mediaStore } from "@/lib/records/media";
import { addPicture, addSet, addSymptom, answeringWorld, decide, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { readZip } from "@/tests/records/read-zip";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => {
  vi.restoreAllMocks();
  world.close();
});

const SECOND = 1000;
const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
const ask = async (who: Actor, childId = "child-1", now = NOW) => codeOf(await askForExport(await grant(who, "export.ask", childId), now));
const tend = (now = NOW) => tendExports(database(), now);
const view = async (who: Actor, childId = "child-1", now = NOW) => exportOf(await grant(who, "export.read", childId), now);
const take = async (who: Actor, exportId: string, childId = "child-1", now = NOW) => takeExport(await grant(who, "export.take", childId), exportId, now);

async function taken(who: Actor, childId = "child-1", now = NOW): Promise<ReadonlyMap<string, Buffer>> {
  const made = await view(who, childId, now);
  const got = await take(who, made?.exportId ?? "none", childId, now);
  if (got === null || got === "gone") throw new Error(`nothing to take: ${String(got)}, ${made?.state}`);
  const bytes = await got.read({ start: 0, end: got.byteLength });
  expect(createHash("sha256").update(bytes).digest("hex")).toBe(got.sha256);
  return readZip(bytes);
}
async function archive(who: Actor, childId = "child-1"): Promise<ReadonlyMap<string, Buffer>> {
  expect(await ask(who, childId)).toBe("ok");
  await tend();
  return taken(who, childId);
}
const recordIn = (files: ReadonlyMap<string, Buffer>) => ChildRecord.parse(JSON.parse(files.get("data.json")?.toString("utf8") ?? "null"));
const everything = (files: ReadonlyMap<string, Buffer>): string => [...files].map(([path, bytes]) => `${path}\n${bytes.toString("latin1")}`).join("\n");
const exportFiles = async () => { const ids = []; for await (const { fileId } of exportStore().list()) ids.push(fileId); return ids.length; };

/** One child's whole life here, every word marked with whose it is. */
async function lived(childId: string, who: string): Promise<void> {
  const [familyId, sender] = childId === "child-3" ? ["family-b", "stranger"] : ["family-a", "mother"];
  const db = database();
  db.update(children).set({ givenName: `${who}-NAME` }).where(eq(children.id, childId)).run();
  addSet(`${childId}-set`, { childId, sentAt: NOW - 50_000, views: ["behind", "front"] });
  db.update(photoSets).set({ note: `${who}-NOTE` }).where(eq(photoSets.id, `${childId}-set`)).run();
  for (const n of [1, 2]) await addPicture(childId, `${childId}-set-photo-${n}`, Buffer.from(`${who}-PIXELS-${n}`));
  expect((await send(world.therapist, `${childId}-set`, {
    summary: `${who}-SUMMARY LEFT`, verdicts: verdictsOf("in-place", { "bottom-arm-long": "fix" }).map((each) => (each.verdict === "fix" ? { ...each, cue: `=${who}-CUE` } : each)), nextStep: "new-photo",
  }, NOW - 40_000, childId)).ok).toBe(true);
  const answerId = db.select({ id: answers.id }).from(answers).where(eq(answers.childId, childId)).get()?.id ?? "";
  const marked = await mediaStore().put(Buffer.from(`${who}-MARKED`));
  const sound = await mediaStore().put(Buffer.from(`${who}-SOUND`));
  db.insert(voiceNotes).values({ id: `${childId}-voice`, childId, familyId, photoSetId: `${childId}-set`, container: "webm", durationMs: 4200, recordedBy: "therapist", recordedAt: NOW }).run();
  db.insert(mediaFiles).values([
    { ...marked, childId, familyId, photoId: `${childId}-set-photo-1`, answerId, kind: "marked", storedAt: NOW },
    { ...sound, childId, familyId, voiceNoteId: `${childId}-voice`, kind: "voice", storedAt: NOW },
  ]).run();
  db.update(answers).set({ voiceNoteId: `${childId}-voice` }).where(eq(answers.id, answerId)).run();
  db.insert(questions).values({ id: `${childId}-question`, childId, familyId, answerId, words: `${who}-QUESTION`, askedBy: sender, askedAt: NOW - 30_000 }).run();
  db.insert(replies).values({ id: `${childId}-reply`, childId, familyId, questionId: `${childId}-question`, words: `${who}-REPLY`, repliedBy: "therapist", repliedAt: NOW - 20_000 }).run();
  db.insert(backQuestions).values({ id: `${childId}-back`, childId, familyId, photoSetId: `${childId}-set`, words: `${who}-ASKED-BACK`, askedBy: "therapist", askedAt: NOW - 45_000, reply: `${who}-ANSWERED-BACK`, repliedBy: sender, repliedAt: NOW - 44_000 }).run();
  db.insert(staffStops).values({ id: `${childId}-stop`, childId, familyId, reason: `${who}-STOP <script>alert(1)</script>`, placedBy: "therapist", placedAt: NOW - 10_000 }).run();
  addSymptom(`${childId}-symptom`, childId, "today", NOW - 15_000);
}

describe("everything of one child", () => {
  beforeEach(async () => {
    database().update(people).set({ phone: "+44 5550 100" }).run();
    await lived("child-1", "OWN");
    await lived("child-2", "SIBLING");
    await lived("child-3", "STRANGER");
    database().update(families).set({ name: "FAMILYNAME" }).run();
  });

  it("holds all of this child's own, and nothing of another child, of an address or of a telephone", async () => {
    const files = await archive(world.mother);
    expect([...files.keys()].map((path) => path.replace(/\d{4}-\d\d-\d\d/, "DAY")).toSorted()).toEqual([
      "data.json", "fhir.json", "index.html", "pictures/DAY-001-1-behind-marked-v1.jpg", "pictures/DAY-001-1-behind.jpg", "pictures/DAY-001-2-front.jpg", "spoken-notes/DAY-001-v1.webm", "verdicts.csv", "words.csv",
    ]);
    const all = everything(files);
    for (const canary of ["NAME", "NOTE", "PIXELS-1", "PIXELS-2", "MARKED", "SOUND", "SUMMARY", "CUE", "QUESTION", "REPLY", "ASKED-BACK", "ANSWERED-BACK", "STOP"]) expect([canary, all.includes(`OWN-${canary}`)]).toEqual([canary, true]);
    for (const foreign of ["SIBLING", "STRANGER", "child-2", "child-3", "family-b", "FAMILYNAME", "@people.example", "5550", "father@"]) expect([foreign, all.includes(foreign)]).toEqual([foreign, false]);
    const record = recordIn(files);
    expect(record.photoSets[0]?.answers[0]?.verdicts).toHaveLength(10);
    expect(record.setups[0]).toMatchObject({ lieOn: "left", isCurrent: true });
    expect(record.unreadable).toEqual([]);
  });

  it("reads without a script, with sides in words, what anybody typed as text, and no word of today", async () => {
    const page = (await archive(world.mother)).get("index.html")?.toString("utf8") ?? "";
    expect(page).not.toMatch(/<script|javascript:|https?:|\son\w+=/);
    expect(page).toContain("OWN-STOP &lt;script&gt;alert(1)&lt;/script&gt;");
    expect(page).toContain("Lie on the LEFT side.");
    expect(page).toMatch(/Thoracic curve: bulges to the child&#39;s RIGHT/);
    expect(page).toContain("a stop stood");
    expect(page).not.toMatch(/Go, and fix|May practise/);
    const links = [...page.matchAll(/(?:src|href)="([^"#]+)"/g)].map(([, path]) => path ?? "");
    expect(links.length).toBeGreaterThan(4);
    const files = await taken(world.mother);
    for (const path of links) expect(files.has(path)).toBe(true);
  });

  it("speaks the reader's language, and only the page does", async () => {
    database().update(people).set({ language: "es" }).where(eq(people.id, "mother")).run();
    const files = await archive(world.mother);
    expect(files.get("index.html")?.toString("utf8")).toMatch(/<html lang="es"[\s\S]*IZQUIERDO/);
    expect(recordIn(files).language).toBe("es");
  });

  it("guards tables against formulas, and says that they are UTF-8", async () => {
    const files = await archive(world.mother);
    // The Unicode Standard, 23.8.
    expect(["verdicts.csv", "words.csv"].map((name) => files.get(name)?.subarray(0, 3).toString("hex"))).toEqual(["efbbbf", "efbbbf"]);
    const table = files.get("verdicts.csv")?.toString("utf8") ?? "";
    expect(table).toContain("'=OWN-CUE");
    // No cell begins as a formula does (OWASP, CSV injection).
    expect(table.split("\r\n").flatMap((line) => line.split(",")).filter((cell) => /^"?[=+@]/.test(cell))).toEqual([]);
  });

  it("is HL7 FHIR R4 by the judgement of an independent validator, and claims no diagnosis beyond the record", async () => {
    const bundle = JSON.parse((await archive(world.lead)).get("fhir.json")?.toString("utf8") ?? "null");
    const validator = new Fhir();
    const { valid, messages } = validator.validate(bundle, { errorOnUnexpected: true });
    expect(messages.filter(({ severity }) => severity === "error" || severity === "fatal")).toEqual([]);
    expect(valid).toBe(true);
    // The validator can fail: a status that R4 does not have.
    const broken = structuredClone(bundle);
    broken.entry.find((each: { resource: { resourceType: string } }) => each.resource.resourceType === "Media").resource.status = "wonderful";
    delete broken.entry.find((each: { resource: { resourceType: string } }) => each.resource.resourceType === "Condition").resource.subject;
    expect(validator.validate(broken, { errorOnUnexpected: true }).valid).toBe(false);
    const kinds = bundle.entry.map((each: { resource: { resourceType: string } }) => each.resource.resourceType);
    expect([...new Set(kinds)].toSorted()).toEqual(["Communication", "Condition", "Consent", "Media", "Patient", "Practitioner", "QuestionnaireResponse", "RelatedPerson"]);
    const conditions = bundle.entry.filter((each: { resource: { resourceType: string } }) => each.resource.resourceType === "Condition").map((each: { resource: object }) => each.resource);
    // Thoracic right, lumbar left: two curves in the record, and no code, status or certainty that nobody stated.
    expect(conditions.map(({ code }: { code: object }) => Object.keys(code))).toEqual([["text"], ["text"]]);
    for (const condition of conditions) expect(Object.keys(condition)).not.toEqual(expect.arrayContaining(["clinicalStatus"]));
    // Every reference leads to something in the bundle.
    const urls = new Set(bundle.entry.map((each: { fullUrl: string }) => each.fullUrl));
    expect(urls.size).toBe(bundle.entry.length);
    expect([...JSON.stringify(bundle).matchAll(/"reference":"([^"]+)"/g)].filter(([, url]) => !urls.has(url))).toEqual([]);
  });

  it("leaves out a set sent for the wrong child, and the practice's pictures while consent is withdrawn", async () => {
    addSet("wrong", { sentAt: NOW - 5000, views: ["behind"] });
    await addPicture("child-1", "wrong-photo-1", Buffer.from("WRONG-PIXELS"));
    database().update(photoSets).set({ voidedAt: NOW, voidReason: "wrong-child", note: "WRONG-NOTE" }).where(eq(photoSets.id, "wrong")).run();
    const own = everything(await archive(world.mother));
    expect(own).not.toContain("WRONG-PIXELS");
    expect(own).not.toContain("WRONG-NOTE");
    expect(own).toContain("wrong-child");
    decide("child-1", "family-a", "withdrawn", 2);
    const practices = everything(await archive(world.lead));
    expect(practices).not.toContain("OWN-PIXELS");
    expect(practices).not.toContain("OWN-MARKED");
    expect(practices).toContain("OWN-SUMMARY");
    // What is kept of a child is the family's to take, whatever they agree to.
    expect(everything(await archive(world.mother))).toContain("OWN-PIXELS-1");
  });

  it("says which file could not be read, and withholds the rest for it no more than that", async () => {
    const [file] = database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(eq(mediaFiles.photoId, "child-1-set-photo-2")).all();
    await mediaStore().erase(file?.fileId ?? "");
    const files = await archive(world.mother);
    const [missing] = recordIn(files).unreadable;
    expect(missing).toMatch(/2-front\.jpg$/);
    expect(files.has(missing ?? "")).toBe(false);
    expect(files.get("index.html")?.toString("utf8")).toContain("could not be read");
    expect(everything(files)).toContain("OWN-PIXELS-1");
  });

  it("lies encrypted, and no word of it can be read from the disk", async () => {
    await archive(world.mother);
    const folder = join(process.env["DATA_DIR"] ?? "", "exports");
    const onDisk = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((each) => each.isFile()).map((each) => readFileSync(join(each.parentPath ?? each.path, each.name)).toString("latin1"));
    expect(onDisk).toHaveLength(1);
    for (const canary of ["PK\u0003\u0004", "OWN-", "index.html"]) expect(onDisk.join("").includes(canary)).toBe(false);
  });
});

describe("who takes it, and for how long", () => {
  it("is whoever decides for the child, or the lead; and only what they themselves asked for", async () => {
    await ask(world.mother);
    await tend();
    const { exportId } = await view(world.mother) ?? { exportId: "none" };
    expect(await take(world.lead, exportId)).toBeNull();
    expect(await take(world.father, exportId)).toBeNull();
    expect(await view(world.father)).toBeNull();
    expect(await take(world.mother, exportId, "child-2")).toBeNull();
    for (const [who, childId] of [[world.stranger, "child-1"], [world.therapist, "child-1"], [world.father, "child-2"], [world.outsider, "child-1"]] as const) {
      await expect(grant(who, "export.ask", childId)).rejects.toThrow(/404/);
      await expect(grant(who, "export.take", childId)).rejects.toThrow(/404/);
    }
    for (const ability of ["export.ask", "export.take"] as const) {
      expect([null, NOW - 600_001, NOW - 600_000].map((provedAt) => isProofEnough(provedAt, ability, NOW))).toEqual([false, false, true]);
    }
  });

  it("is a young person from the age on which they decide, and a guardian until then", async () => {
    database().insert(people).values({ id: "young", practiceId: "practice", role: "young-person", email: "young@people.example", name: "young", createdAt: 0 }).run();
    database().insert(careLinks).values({ id: "young-link", personId: "young", childId: "child-1", familyId: "family-a", relation: "self", createdAt: 0 }).run();
    const young: Actor = { ...world.mother, personId: "young", role: "young-person" };
    const bornAgo = (years: number) => database().update(children).set({ bornIn: `${new Date().getUTCFullYear() - years}-01` }).where(eq(children.id, "child-1")).run();
    bornAgo(17);
    await expect(grant(young, "export.ask", "child-1")).rejects.toThrow(/404/);
    expect(await ask(world.mother)).toBe("ok");
    bornAgo(20);
    expect(await ask(young)).toBe("ok");
    await expect(grant(world.mother, "export.take", "child-1")).rejects.toThrow(/404/);
    // Asked while she decided, made after she no longer does: nothing is made of it.
    await tend();
    await tend();
    expect(database().select({ by: childExports.askedBy, isMade: childExports.madeAt, gone: childExports.goneAt }).from(childExports).all().map(({ by, isMade, gone }) => [by, isMade !== null, gone !== null]).toSorted())
      .toEqual([["mother", false, true], ["young", true, false]]);
  });

  it("is there for 24 hours and gone a second later, before and after anybody tidied up", async () => {
    await ask(world.mother);
    await tend();
    const { exportId } = await view(world.mother) ?? { exportId: "none" };
    expect(await take(world.mother, exportId, "child-1", NOW + EXPORT_LIFE_MS)).toMatchObject({ byteLength: expect.any(Number) });
    expect(await take(world.mother, exportId, "child-1", NOW + EXPORT_LIFE_MS + SECOND)).toBe("gone");
    expect((await view(world.mother, "child-1", NOW + EXPORT_LIFE_MS + SECOND))?.state).toBe("gone");
    expect(await exportFiles()).toBe(1);
    await tend(NOW + EXPORT_LIFE_MS + SECOND);
    expect([await exportFiles(), database().select().from(exportParts).all().length, database().select().from(erasedFiles).all().length]).toEqual([0, 0, 0]);
    expect(await take(world.mother, exportId, "child-1", NOW + EXPORT_LIFE_MS + SECOND)).toBe("gone");
  });

  it("ends with access, consent, and with what is in it", async () => {
    addSet("set", { sentAt: NOW - 9000, views: ["behind"] });
    await addPicture("child-1", "set-photo-1", Buffer.from("x"));
    const ref = { childId: "child-1", familyId: "family-a" };
    const made = async (): Promise<string> => {
      await ask(world.mother);
      await tend();
      return (await view(world.mother))?.exportId ?? "none";
    };
    const photo = await made();
    database().transaction((tx) => eraseRows(tx, [{ kind: "photo", id: "set-photo-1", erasedAt: NOW }]));
    expect(await take(world.mother, photo)).toBe("gone");
    addSet("aside", { sentAt: NOW - 8000, views: ["behind"] });
    await addPicture("child-1", "aside-photo-1", Buffer.from("UNFIT"));
    const unfit = await made();
    expect((await setPhotoAside(await grant(world.therapist, "photo.set-aside", "child-1"), "aside-photo-1", NOW)).ok).toBe(true);
    expect(await take(world.mother, unfit)).toBe("gone");
    const consented = await made();
    expect(everything(await taken(world.mother))).not.toContain("UNFIT");
    expect((await decideConsent(await grant(world.mother, "consent.give", "child-1"), { purpose: "photos", decision: "withdrawn", standing: null, textVersion: "1" }, NOW)).ok).toBe(true);
    expect(await take(world.mother, consented)).toBe("gone");
    const access = await made();
    database().transaction((tx) => cutOff(tx, { personId: "father", ...ref }, NOW));
    expect(await take(world.mother, access)).not.toBe("gone");
    database().transaction((tx) => cutOff(tx, { personId: "mother", ...ref }, NOW));
    expect(await take(world.mother, access)).toBe("gone");
    await tend();
    expect(await exportFiles()).toBe(0);
  });

  it("leaves its marks in the chain: asked, made, taken, gone", async () => {
    await ask(world.mother);
    await tend();
    await taken(world.mother);
    await tend(NOW + EXPORT_LIFE_MS + SECOND);
    expect(database().select({ act: auditEntries.act }).from(auditEntries).all().map(({ act }) => act).filter((act) => act.startsWith("export."))).toEqual(["export.asked", "export.made", "export.taken", "export.gone"]);
  });
});

describe("making it", () => {
  beforeEach(async () => {
    addSet("set", { sentAt: NOW - 9000, views: ["behind", "front", "other"] });
    for (const n of [1, 2, 3]) await addPicture("child-1", `set-photo-${n}`, randomBytes(1.5 * 1024 * 1024));
  });

  it("is one at a time, in the order in which it was asked for, and once however often it is pressed", async () => {
    expect([await ask(world.mother), await ask(world.mother)]).toEqual(["ok", "export-under-way"]);
    expect(await ask(world.father, "child-1", NOW + 1)).toBe("ok");
    await tend(NOW + 2);
    expect([(await view(world.mother))?.state, (await view(world.father))?.state]).toEqual(["ready", "waiting"]);
    await tend(NOW + 3);
    expect((await view(world.father))?.state).toBe("ready");
    expect(await ask(world.mother, "child-1", NOW + 4)).toBe("ok");
    expect(database().select().from(childExports).where(eq(childExports.askedBy, "mother")).all().map(({ goneAt }) => goneAt === null).toSorted()).toEqual([false, true]);
  });

  it("shows how far it is, begins again after it was stopped in the middle, and leaves nothing of the first time", async () => {
    await ask(world.mother);
    const read = mediaStore().read.bind(mediaStore());
    const seen: (number | null | undefined)[] = [];
    let n = 0;
    vi.spyOn(mediaStore(), "read").mockImplementation(async (fileId, range) => {
      seen.push((await view(world.mother))?.filesDone);
      n += 1;
      if (n === 3) throw new Error("the process was killed");
      return read(fileId, range);
    });
    await expect(tend()).rejects.toThrow("killed");
    expect(seen).toEqual([0, 1, 2]);
    expect(await view(world.mother)).toMatchObject({ state: "making", filesDone: 2, filesToDo: 8 });
    await tend(NOW + SECOND);
    const files = await taken(world.mother);
    expect(files.size).toBe(8);
    expect(await view(world.mother)).toMatchObject({ state: "ready", filesDone: 8 });
    await tend(NOW + 2 * SECOND);
    expect(await exportFiles()).toBe(database().select().from(exportParts).all().length);
    // A file whose row a crash left unwritten goes once it is old enough to be sure of.
    await exportStore().put(Buffer.from("left"));
    const before = await exportFiles();
    await sweepExports(database(), Date.now());
    expect(await exportFiles()).toBe(before);
    await sweepExports(database(), Date.now() + 3_600_000);
    expect(await exportFiles()).toBe(before - 1);
  });

  it("gives up on what fails again and again, says so, and lets it be asked for anew", async () => {
    await ask(world.mother);
    vi.spyOn(mediaStore(), "read").mockRejectedValue(new Error("again"));
    for (let n = 0; n < 4; n += 1) await expect(tend(NOW + n)).rejects.toThrow("again");
    expect((await view(world.mother))?.state).toBe("failed");
    await tend(NOW + 9);
    vi.restoreAllMocks();
    expect(await ask(world.mother, "child-1", NOW + 10)).toBe("ok");
    await tend(NOW + 11);
    expect((await view(world.mother))?.state).toBe("ready");
  });

  it("stops when what it stands on ends in the middle", async () => {
    await ask(world.mother);
    const read = mediaStore().read.bind(mediaStore());
    let n = 0;
    vi.spyOn(mediaStore(), "read").mockImplementation(async (fileId, range) => {
      n += 1;
      if (n === 2) database().transaction((tx) => cutOff(tx, { personId: "mother", childId: "child-1", familyId: "family-a" }, NOW));
      return read(fileId, range);
    });
    await tend();
    await tend();
    expect(database().select().from(childExports).all().map(({ madeAt, goneAt }) => [madeAt, goneAt])).toEqual([[null, NOW]]);
    expect([n, await exportFiles()]).toEqual([2, 0]);
  });

  it("reads any range over the joints of its parts", async () => {
    await ask(world.mother);
    await tend();
    const { exportId = "" } = await view(world.mother) ?? {};
    const parts = partsOf(exportId);
    expect(parts.length).toBeGreaterThan(1);
    const [length, joint] = [parts.reduce((sum, each) => sum + each.byteLength, 0), parts[0]?.byteLength ?? 0];
    const whole = await readParts(parts, { start: 0, end: length });
    for (const [start, end] of [[0, 1], [joint - 1, joint + 1], [joint, joint + 5], [length - 3, length], [5, length - 5]] as const) {
      expect((await readParts(parts, { start, end })).equals(whole.subarray(start, end))).toBe(true);
    }
  });
});

