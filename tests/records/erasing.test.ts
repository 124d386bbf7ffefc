import { randomUUID } from "node:crypto";
import { eq } from "drizzle-orm";
import { getTableConfig, type SQLiteTable } from "drizzle-orm/sqlite-core";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { database } from "@/db/client";
import { answerPairs, answers, drafts, marks, verdicts } from "@/db/schema/answers";
import { careLinks, children, families } from "@/db/schema/care";
import { erasedFiles, tombstones } from "@/db/schema/erasure";
import { actsDone, auditEntries, notices } from "@/db/schema/machinery";
import { mediaFiles, photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { pushPhones } from "@/db/schema/reach";
import { sessions } from "@/db/schema/sign-in";
import { CHILD_TABLES } from "@/lib/records/erased-tables";
import { eraseRows, type Tombstone } from "@/lib/records/erasing";
import { mediaStore } from "@/lib/records/media";
import { applyTombstones, finishErasing, readTombstones } from "@/lib/records/tombstones";
import { addPicture, addSet, answer, answeringWorld, NOW, send } from "@/tests/records/answering-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => world.close());

const JPEG = Buffer.from("not looked at");
const stone = (kind: Tombstone["kind"], id: string): Tombstone => ({ kind, id, erasedAt: NOW });
const erase = (one: Tombstone) => database().transaction((tx) => eraseRows(tx, [one]).length === 1, { behavior: "immediate" });
const count = (table: SQLiteTable) => database().select().from(table).all().length;
const filesLeft = async () => { const ids = []; for await (const { fileId } of mediaStore().list()) ids.push(fileId); return ids.length; };

describe("what belongs to a child", () => {
  type Column = { readonly name: string };
  const tables = () => database().$client.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' and name not like '\\_\\_%' escape '\\'").all() as readonly { readonly name: string }[];
  const columnsOf = (table: string) => (database().$client.pragma(`table_info(${table})`) as readonly Column[]).map(({ name }) => name);
  const listed = CHILD_TABLES.map((table) => getTableConfig(table).name);

  test("is every table with a child of its own in the database, and no other", () => {
    expect(tables().map(({ name }) => name).filter((name) => columnsOf(name).includes("child_id")).toSorted()).toEqual(listed.toSorted());
  });

  test("and whatever refers to one of them without a child of its own is erased by name", () => {
    const referring = tables().map(({ name }) => name).filter((name) => !listed.includes(name)
      && (database().$client.pragma(`foreign_key_list(${name})`) as readonly { readonly table: string }[]).some(({ table }) => listed.includes(table)));
    expect(referring.toSorted()).toEqual(["claims", "export_parts", "waiting_sets"]);
  });
});

describe("a photo", () => {
  beforeEach(async () => {
    addSet("set", { sentAt: NOW - 10_000 });
    addSet("other", { sentAt: NOW - 20_000 });
    for (const id of ["set-photo-1", "set-photo-2", "other-photo-1"]) await addPicture("child-1", id, JPEG);
  });

  test("goes with its files, marks, pairs and what drafts say of it; verdicts and words stay", async () => {
    expect((await send(world.therapist, "set", { pairs: [{ thenPhotoId: "other-photo-1", nowPhotoId: "set-photo-1" }] })).ok).toBe(true);
    const [sent] = database().select().from(answers).all();
    database().insert(marks).values({ id: "mark", childId: "child-1", familyId: "family-a", answerId: sent?.id ?? "", photoId: "set-photo-1", body: "{}" }).run();
    const fields = { summary: "Keep", "marks.set-photo-1": "[]", "marks.set-photo-2": "[]" };
    database().insert(drafts).values({ id: "draft", childId: "child-1", familyId: "family-a", photoSetId: "set", personId: "colleague", body: JSON.stringify(fields), version: 1, savedAt: 0 }).run();
    database().insert(actsDone).values([
      { personId: "mother", key: "one", act: "photo.added", result: JSON.stringify({ photoId: "set-photo-1", sha256: "x" }), doneAt: 0 },
      { personId: "mother", key: "two", act: "photo.added", result: JSON.stringify({ photoId: "set-photo-2", sha256: "x" }), doneAt: 0 },
    ]).run();
    expect(erase(stone("photo", "set-photo-1"))).toBe(true);
    expect([count(marks), count(answerPairs), count(mediaFiles)]).toEqual([0, 0, 2]);
    expect(database().select({ id: photos.id }).from(photos).where(eq(photos.photoSetId, "set")).all().map(({ id }) => id)).toEqual(["set-photo-2", "set-photo-3"]);
    expect(JSON.parse(database().select().from(drafts).where(eq(drafts.id, "draft")).get()?.body ?? "")).toEqual({ summary: "Keep", "marks.set-photo-2": "[]" });
    expect(database().select({ key: actsDone.key }).from(actsDone).all()).toEqual([{ key: "two" }]);
    expect(database().select({ summary: answers.summary }).from(answers).all()).toEqual([{ summary: answer("set").summary }]);
    expect(count(verdicts)).toBe(10);
    expect(database().select({ at: photoSets.photosErasedAt, voidedAt: photoSets.voidedAt }).from(photoSets).where(eq(photoSets.id, "set")).get()).toEqual({ at: NOW, voidedAt: null });
    expect(await filesLeft()).toBe(3);
    await finishErasing(database(), mediaStore());
    expect([await filesLeft(), count(erasedFiles)]).toEqual([2, 0]);
  });

  test("that was the last one voids a set that nobody answered, and not one that was", async () => {
    expect((await send(world.therapist, "other")).ok).toBe(true);
    for (const set of ["set", "other"]) for (const n of [1, 2, 3]) erase(stone("photo", `${set}-photo-${n}`));
    const voids = database().select({ id: photoSets.id, why: photoSets.voidReason }).from(photoSets).all();
    expect(voids.toSorted((a, b) => a.id.localeCompare(b.id))).toEqual([{ id: "other", why: null }, { id: "set", why: "erased" }]);
  });

  test("erased twice is erased once", () => {
    expect([erase(stone("photo", "set-photo-1")), erase(stone("photo", "set-photo-1"))]).toEqual([true, false]);
    expect(count(tombstones)).toBe(1);
  });
});

describe("a child", () => {
  const personRows = () => {
    const db = database();
    db.insert(sessions).values({ id: "s", tokenHash: "t", personId: "father", createdAt: 0, lastSeenAt: 0, endsAt: 0 }).run();
    db.insert(pushPhones).values({ id: "phone", personId: "father", endpointHash: "e", sealedAddress: "a", device: "android", createdAt: 0 }).run();
    db.insert(notices).values([
      { id: "n1", kind: "answer", personId: "father", phoneId: "phone", dedupeKey: "answer:x:father:phone", createdAt: 0, nextTryAt: 0 },
      { id: "n2", kind: "photo-set-sent", personId: "therapist", dedupeKey: "photo-set-sent:set:therapist", createdAt: 0, nextTryAt: 0 },
      { id: "n3", kind: "photo-set-sent", personId: "therapist", dedupeKey: "photo-set-sent:kept:therapist", createdAt: 0, nextTryAt: 0 },
    ]).run();
  };

  test("goes with everything of its own and with who cared for nobody else; the other child stays whole", async () => {
    addSet("set"); addSet("kept", { childId: "child-2" });
    await addPicture("child-1", "set-photo-1", JPEG); await addPicture("child-2", "kept-photo-1", JPEG);
    personRows();
    expect((await send(world.therapist, "set")).ok).toBe(true);
    expect(erase(stone("child", "child-1"))).toBe(true);
    await finishErasing(database(), mediaStore());
    for (const table of CHILD_TABLES) expect(database().select().from(table).where(eq(table.childId, "child-1")).all()).toEqual([]);
    expect(database().select({ id: people.id }).from(people).all().map(({ id }) => id).toSorted()).toEqual(["colleague", "lead", "mother", "stranger", "therapist"]);
    expect([count(sessions), count(pushPhones)]).toEqual([0, 0]);
    expect(database().select({ id: notices.id }).from(notices).all()).toEqual([{ id: "n3" }]);
    expect(database().select({ id: children.id }).from(children).all().map(({ id }) => id)).toEqual(["child-2", "child-3"]);
    expect([count(photos), count(mediaFiles), await filesLeft()]).toEqual([3, 1, 1]);
    expect(database().$client.pragma("foreign_key_check")).toEqual([]);
  });

  test("keeps a carer who cares, or once cared, for another", () => {
    database().update(careLinks).set({ endedAt: 1 }).where(eq(careLinks.id, "mother-child-2")).run();
    erase(stone("child", "child-1"));
    expect(database().select().from(people).where(eq(people.id, "mother")).get()?.name).toBe("mother");
  });

  test("and a family goes with all its children and their people", () => {
    erase(stone("family", "family-a"));
    expect(database().select({ id: families.id }).from(families).all()).toEqual([{ id: "family-b" }]);
    expect(database().select({ id: children.id }).from(children).all()).toEqual([{ id: "child-3" }]);
    expect(database().select({ id: people.id }).from(people).all().map(({ id }) => id).toSorted()).toEqual(["colleague", "lead", "stranger", "therapist"]);
    expect(readTombstones(database())).toEqual([stone("family", "family-a")]);
  });
});

describe("tombstones", () => {
  test("erase again whatever of them is there, once, and leave an entry without anybody's name", async () => {
    addSet("set");
    await addPicture("child-1", "set-photo-1", JPEG);
    const stones = [stone("photo", "set-photo-1"), stone("photo", randomUUID()), stone("child", "child-2")];
    expect(await applyTombstones(database(), mediaStore(), stones, NOW)).toBe(2);
    expect(await applyTombstones(database(), mediaStore(), stones, NOW)).toBe(0);
    expect([await filesLeft(), count(tombstones)]).toEqual([0, 3]);
    expect(database().select({ act: auditEntries.act, actor: auditEntries.actorId, object: auditEntries.objectId, family: auditEntries.familyId }).from(auditEntries).all()).toEqual([
      { act: "photo.erased-again", actor: null, object: "set-photo-1", family: null }, { act: "child.erased-again", actor: null, object: "child-2", family: null },
    ]);
  });

  test("a reference that an erasure would leave dangling undoes all of it", () => {
    database().$client.exec("create table forgotten (id text, of text references children(id)); insert into forgotten values ('x', 'child-1')");
    expect(() => erase(stone("child", "child-1"))).toThrow(/FOREIGN KEY/);
    expect([count(tombstones), database().select().from(children).where(eq(children.id, "child-1")).all().length]).toEqual([0, 1]);
  });
});

