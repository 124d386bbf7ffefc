import { existsSync, statSync } from "node:fs";
import { readdir } from "node:fs/promises";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { database, dataDir, isDatabaseFull, onFullDisk } from "@/db/client";
import { auditEntries } from "@/db/schema/machinery";
import { photos, symptomReports } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { problemResponse } from "@/lib/access/handler";
import { isLow } from "@/lib/domain/upkeep/space";
import { diskLook } from "@/lib/jobs/disk-watch";
import { giveHalf, keepReserve, RESERVE_FILE } from "@/lib/media/reserve";
import { DISK, isDiskFull } from "@/lib/media/space";
import { refuse } from "@/lib/domain/result";
import { eraseNow } from "@/lib/records/erasures";
import { askForExport } from "@/lib/records/exports";
import { mediaStore, pictureOf } from "@/lib/records/media";
import { maySend } from "@/lib/records/photo-sets";
import { reportSymptoms } from "@/lib/records/symptoms";
import { upkeepOf } from "@/lib/records/upkeep";
import { mayRecord } from "@/lib/records/voice-notes";
import { addPicture, addSet, answeringWorld, EXERCISE, NOW, send } from "@/tests/records/answering-scene";
import { codeOf } from "@/tests/records/desk-scene";
import { canMount, mountSmall, type SmallVolume } from "@/tests/records/small-volume";

const MB = 1024 * 1024;

let world: ReturnType<typeof answeringWorld>;
let lines: string[];
const begin = async (): Promise<void> => {
  lines = [];
  vi.spyOn(process.stderr, "write").mockImplementation((line) => lines.push(String(line)) > 0);
  world = answeringWorld();
  addSet("set");
  await addPicture("child-1", "set-photo-1", Buffer.from("not looked at"));
};
const end = (): void => {
  onFullDisk(null);
  vi.restoreAllMocks();
  world.close();
};

const sending = async () => codeOf(await maySend(await grant(world.mother, "photo-set.send", "child-1"), EXERCISE, NOW));
const recording = async () => codeOf(await mayRecord(await grant(world.therapist, "answer.write", "child-1"), "set"));
const exporting = async () => codeOf(await askForExport(await grant(world.mother, "export.ask", "child-1"), NOW));
const hurts = async () => codeOf(await reportSymptoms(await grant(world.mother, "symptom.report", "child-1"), { noticed: ["dizzy"], note: "", photoSetId: null }, NOW));
const seen = async () => (await (await pictureOf(await grant(world.therapist, "photo.view", "child-1"), "set-photo-1", "2048", NOW))?.read())?.toString();
const events = () => lines.map((line) => (JSON.parse(line) as { readonly event: string }).event);

describe("less than a tenth of the disk free", () => {
  beforeEach(begin);
  afterEach(end);
  const has = (freeBytes: number, totalBytes = 40e9) => vi.spyOn(DISK, "space").mockReturnValue({ freeBytes, totalBytes });

  test("is where the line lies; a large disk keeps ten gigabytes and no more", () => {
    expect([3.9e9, 4e9, 4.1e9].map((freeBytes) => isLow({ freeBytes, totalBytes: 40e9 }))).toEqual([true, false, false]);
    expect([9.9e9, 10e9].map((freeBytes) => isLow({ freeBytes, totalBytes: 4e12 }))).toEqual([true, false]);
  });

  test("refuses photos, spoken notes and archives before a byte is read, and nothing else", async () => {
    has(5e9);
    expect([await sending(), await recording()]).toEqual(["done", "done"]);
    has(3e9);
    expect([await sending(), await recording(), await exporting()]).toEqual(["disk-full", "voice-disk-full", "export-no-room"]);
    expect([await hurts(), codeOf(await send(world.therapist, "set")), await seen()]).toEqual(["done", "done", "not looked at"]);
    has(5e9);
    expect([await sending(), await recording(), await exporting()]).toEqual(["done", "done", "done"]);
  });

  test("is said to the lead, once in the log when it begins, and when it is over", async () => {
    const told = async () => (await upkeepOf(await grant(world.lead, "practice.settings", null), NOW)).isDiskLow;
    const look = diskLook();
    has(3e9);
    await look();
    await look();
    expect([await told(), events()]).toEqual([true, ["disk-low"]]);
    has(4.5e9);
    await look();
    expect([await told(), events()]).toEqual([false, ["disk-low", "disk-well"]]);
    expect(lines.join("")).not.toContain("mother");
  });

  // RFC 4918, 11.5.
  test.each(["disk-full", "voice-disk-full", "storage-full"] as const)("%s is a 507", (code) => {
    expect(problemResponse(refuse(code).problem).status).toBe(507);
  });
});

describe("a database that SQLite calls full", () => {
  beforeEach(begin);
  afterEach(end);
  // https://www.sqlite.org/pragma.html#pragma_max_page_count: more pages than this are SQLITE_FULL, as a full disk is.
  const limit = (pages: number): void => void database().$client.pragma(`max_page_count = ${pages}`);
  const pagesNow = (): number => Number(database().$client.pragma("page_count", { simple: true }));
  const fill = (): unknown => {
    try {
      for (let n = 0; n < 500; n += 1) {
        database().transaction((tx) => tx.insert(symptomReports).values({ id: `filler-${crypto.randomUUID()}`, childId: "child-2", familyId: "family-a", tier: "today", symptoms: "x".repeat(2000), reportedBy: "mother", reportedAt: n }).run(), { behavior: "immediate" });
      }
      return null;
    } catch (error) {
      return error;
    }
  };

  test("fails as a full disk, leaves nothing half done, and is read as before; the transaction is tried once more where room was made", async () => {
    limit(pagesNow());
    const error = fill();
    expect([isDatabaseFull(error), isDiskFull(error), isDiskFull(new Error("other"))]).toEqual([true, true, false]);
    const rows = database().select().from(symptomReports).all().length;
    const makeRoom = vi.fn(() => false);
    onFullDisk(makeRoom);
    expect(isDatabaseFull(fill())).toBe(true);
    expect([makeRoom.mock.calls.length, database().select().from(symptomReports).all().length]).toEqual([1, rows]);
    onFullDisk(makeRoom.mockImplementation(() => {
      limit(pagesNow() + 1000);
      return true;
    }));
    expect([await hurts(), fill(), makeRoom.mock.calls.length]).toEqual(["done", null, 2]);
    expect(database().$client.pragma("integrity_check", { simple: true })).toBe("ok");
  });

  test("a photo that staff look at is shown, and the log says that its entry is missing", async () => {
    limit(pagesNow());
    while (fill() === null) limit(pagesNow());
    const views = () => database().select().from(auditEntries).where(eq(auditEntries.act, "photo.viewed")).all().length;
    let shown = 0;
    for (; !events().includes("reading-not-audited") && shown < 500; shown += 1) expect(await seen()).toBe("not looked at");
    expect(views()).toBe(shown - 1);
  });
});

/** Root alone may make a filesystem; elsewhere the two parts above stand by themselves. */
describe.each(canMount() ? ["tmpfs"] : [])("a real disk of 256 MB: %s", () => {
  let volume: SmallVolume;
  const outside = process.env["TMPDIR"];
  beforeEach(async () => {
    volume = mountSmall(256);
    process.env["TMPDIR"] = volume.folder;
    await begin();
    onFullDisk(giveHalf);
  });
  afterEach(() => {
    end();
    if (outside === undefined) delete process.env["TMPDIR"];
    else process.env["TMPDIR"] = outside;
    volume.close();
  });
  const reserve = () => { const path = join(dataDir(), RESERVE_FILE); return existsSync(path) ? statSync(path).size / MB : 0; };
  const large = () => mediaStore().put(Buffer.alloc(MB));

  test("refuses uploads past nine tenths, and takes them again without a restart", async () => {
    await keepReserve(dataDir());
    expect([reserve(), await sending()]).toEqual([64, "done"]);
    volume.fill(25 * MB);
    expect([await sending(), await recording()]).toEqual(["disk-full", "voice-disk-full"]);
    volume.clear();
    expect([await sending(), await recording()]).toEqual(["done", "done"]);
  });

  test("full to the last block, a file is refused whole, what people write has half of the reserve, and an erasure the rest", async () => {
    await keepReserve(dataDir());
    volume.fill(0);
    await expect(large()).rejects.toMatchObject({ fault: "disk-full" });
    expect(await readdir(join(dataDir(), "media", "unfinished"))).toEqual([]);
    // Small acts go into what the log of the database has already; soon one finds the disk full and half of the reserve is given up.
    for (let n = 0; n < 3000 && reserve() === 64; n += 1) expect(await hurts()).toBe("done");
    expect([reserve(), events()]).toEqual([32, ["reserve-given"]]);
    expect(codeOf(await send(world.therapist, "set"))).toBe("done");
    volume.fill(0);
    expect(await seen()).toBe("not looked at");
    expect(codeOf(await eraseNow(await grant(world.lead, "erasure.settle", "child-1"), { kind: "photo", objectId: "set-photo-1" }, NOW))).toBe("done");
    expect([reserve(), database().select().from(photos).where(eq(photos.id, "set-photo-1")).all()]).toEqual([0, []]);
    expect(database().$client.pragma("integrity_check", { simple: true })).toBe("ok");
    volume.clear();
    await diskLook()();
    expect([reserve(), await sending()]).toEqual([64, "done"]);
    expect((await large()).byteLength).toBe(MB);
  });
});
