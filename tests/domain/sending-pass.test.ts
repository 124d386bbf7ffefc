import "fake-indexeddb/auto";
import { afterEach, expect, it } from "vitest";
import { pass, type Asked, type World } from "@/app/family/queue/pass";
import { eraseOf, unsentHere } from "@/app/family/queue/clear";
import { fleetingStore, lastingStore, type Store } from "@/app/family/queue/store";
import { CLIP_PLACE, remedyFor, type Entry } from "@/lib/domain/sending/entry";
import { takenOut, withoutClip } from "@/lib/domain/sending/queue";
import type { Reply } from "@/lib/domain/sending/reply";

const NONE = { noticed: [], isNone: true } as const;
const entryOf = (id: string, changed: Partial<Entry> = {}): Entry => ({
  form: 1, id, personId: "parent", childId: "child", exerciseKey: "side-lying", setupId: "setup", called: "", madeAt: 1000, report: null, finishKey: `${id}-finish`,
  taken: "just-now", symptoms: { urgent: NONE, today: NONE }, note: "", state: { at: "waiting", because: "new", until: 0 }, tries: 0, restarts: 0,
  photos: [1, 2].map((ordinal) => ({ key: `${id}-${ordinal}`, ordinal, view: "behind", head: null, facing: null, isSeenTurnedBack: null, prepared: "{}", photoId: null })),
  ...changed,
});
const pictures = () => new Map([1, 2].map((ordinal) => [ordinal, new Uint8Array([255, 216, ordinal]).buffer]));
const answer = (status: number, body: unknown): Reply => ({ status, retryAfter: null, text: JSON.stringify(body) });

/** A server that remembers keys as ours does: what was done under one is answered again, and done once. */
function server() {
  const done = new Map<string, Reply>();
  const asked: Asked[] = [];
  const world: World = {
    now: () => 5000,
    async ask(each) {
      asked.push(each);
      const key = each.headers["Idempotency-Key"] ?? "";
      await new Promise((later) => setTimeout(later, 1));
      if (!done.has(key)) done.set(key, each.path.startsWith("/api/photos/") ? answer(201, { photo: { photoId: `stored-${key}` } }) : answer(200, { done: true }));
      return done.get(key) ?? null;
    },
  };
  return { world, asked, done };
}

const stores: Store[] = [];
async function storeWith(...entries: readonly Entry[]): Promise<Store> {
  const store = await lastingStore();
  for (const entry of entries) await store.add(entry, pictures());
  stores.push(store);
  return store;
}
afterEach(async () => {
  for (const store of stores.splice(0)) for (const { id } of await store.all()) await store.change(id, () => null);
});
const quiet = () => undefined;

it("asks for the steps in order, names its person in each, and drops the pictures when the set has arrived", async () => {
  const store = await storeWith(entryOf("a", { report: { key: "a-report", tier: "today" }, symptoms: { urgent: NONE, today: { noticed: ["dizzy"], isNone: false } } }));
  const { world, asked } = server();
  expect(await pass(store, world, "parent", quiet)).toBeNull();
  expect(asked.map(({ headers }) => headers["Idempotency-Key"])).toEqual(["a-report", "a-1", "a-2", "a-finish"]);
  expect(new Set(asked.map(({ headers }) => headers["X-Person"]))).toEqual(new Set(["parent"]));
  expect(JSON.parse(String(asked[0]?.body))).toEqual({ noticed: ["dizzy"], note: "", photoSetId: "a", waitedMs: 4000 });
  // FIPS 180-4 by the platform's own hash: SHA-256 of FF D8 01, as `sha256sum` gives it.
  expect(asked[1]?.headers["X-Photo-Sha256"]).toBe("df2fec7a8910ce9bb0c3ab7e3de0ad9c5d3a69297128440e2a3a9a17c61a144f");
  expect(JSON.parse(String(asked[3]?.body))).toMatchObject({ waitedMs: 4000, photos: [{ photoId: "stored-a-1" }, { photoId: "stored-a-2" }] });
  expect(await store.all()).toMatchObject([{ state: { at: "sent", on: 5000 } }]);
  expect([await store.picture("a", 1), await store.picture("a", 2)]).toEqual([null, null]);
});

it("two passes at once, as of a page and a worker, do each step once", async () => {
  const store = await storeWith(entryOf("b"), entryOf("c"));
  const { world, done } = server();
  await Promise.all([pass(store, world, "parent", quiet), pass(await lastingStore(), world, null, quiet)]);
  expect([...done.keys()].sort()).toEqual(["b-1", "b-2", "b-finish", "c-1", "c-2", "c-finish"]);
  expect((await store.all()).map(({ state }) => state.at)).toEqual(["sent", "sent"]);
});

it("sends nothing of another person, and nothing of what was taken out in between", async () => {
  const store = await storeWith(entryOf("mine"), entryOf("theirs", { personId: "other" }));
  const { world, asked } = server();
  const taking: World = {
    ...world,
    async ask(each, progress) {
      const reply = await world.ask(each, progress);
      await store.change("mine", () => null);
      return reply;
    },
  };
  await pass(store, taking, "parent", quiet);
  expect(asked.map(({ headers }) => headers["Idempotency-Key"])).toEqual(["mine-1"]);
  expect((await store.all()).map(({ id }) => id)).toEqual(["theirs"]);
});

it("what is taken out leaves this phone at once, and the server when the line is back, with whatever had arrived", async () => {
  const store = await storeWith(entryOf("j"));
  const { world, asked } = server();
  const cut: World = { ...world, ask: async (each, progress) => (asked.length === 1 ? null : world.ask(each, progress)) };
  await pass(store, cut, "parent", quiet);
  await store.change("j", (entry) => takenOut(entry, 6000));
  expect([await store.picture("j", 1), await store.picture("j", 2)]).toEqual([null, null]);
  expect(await pass(store, { ...world, ask: async () => null, now: () => 6000 }, "parent", quiet)).toBeGreaterThan(6000);
  expect(await store.all()).toMatchObject([{ id: "j", photos: [], state: { at: "taken-out" } }]);
  expect(await pass(store, { ...world, now: () => 100_000 }, "parent", quiet)).toBeNull();
  expect(asked.at(-1)).toMatchObject({ method: "DELETE", path: "/api/photo-sets/child?set=j", headers: { "X-Person": "parent" } });
  expect(await store.all()).toEqual([]);
});

it("a photo the phone has dropped is told, never sent empty; a phone that keeps nothing sends all the same", async () => {
  const store = await storeWith();
  await store.add(entryOf("d"), new Map());
  const { world, asked } = server();
  await pass(store, world, "parent", quiet);
  expect(asked).toEqual([]);
  expect(await store.all()).toMatchObject([{ state: { at: "refused", code: "photo-gone", ordinal: 1 } }]);

  const fleeting = fleetingStore();
  await fleeting.add(entryOf("e"), pictures());
  await pass(fleeting, world, "parent", quiet);
  expect(await fleeting.all()).toMatchObject([{ state: { at: "sent" } }]);
  expect(await fleeting.picture("e", 1)).toBeNull();
});

it("knows whose unsent sets are on the phone, and erases one person's alone", async () => {
  const gone = { at: "refused", code: "consent-withdrawn", values: {}, ordinal: null } as const;
  const store = await storeWith(entryOf("f"), entryOf("g", { personId: "other" }), entryOf("h", { state: { at: "sent", on: 1 } }), entryOf("i", { state: gone }));
  expect(await unsentHere("parent")).toEqual({ own: 1, others: 1 });
  await eraseOf("parent");
  expect(await unsentHere("parent")).toEqual({ own: 0, others: 1 });
  expect(await store.picture("f", 1)).toBeNull();
  expect(await store.picture("g", 1)).not.toBeNull();
});

const CLIP = { key: "m-clip", ordinal: 2, bytes: 3, hasArrived: false } as const;
const moving = entryOf("m", { form: 2, clip: CLIP });
async function storeWithClip(): Promise<Store> {
  const store = await storeWith();
  await store.add(moving, new Map([...pictures(), [CLIP_PLACE, new Uint8Array([1, 2, 3]).buffer]]));
  return store;
}

it("sends a clip after the photos and before the finish, with the photo it is a frame of, and drops it too", async () => {
  const store = await storeWithClip();
  const { world, asked } = server();
  const taking: World = {
    ...world,
    async ask(each, progress) {
      if (!each.path.startsWith("/api/clips/")) return world.ask(each, progress);
      asked.push(each);
      return { status: each.method === "PATCH" ? 204 : 201, retryAfter: null, text: "", offset: each.method === "PATCH" ? 3 : 0 };
    },
  };
  expect(await pass(store, taking, "parent", quiet)).toBeNull();
  expect(asked.map(({ method = "POST", path }) => `${method} ${path.replace(/(photos\/child)\?.*/, "$1")}`)).toEqual([
    "POST /api/photos/child", "POST /api/photos/child", "POST /api/clips/child?photo=stored-m-2", "PATCH /api/clips/child/m-clip", "POST /api/photo-sets/child",
  ]);
  expect([await store.picture("m", 1), await store.picture("m", CLIP_PLACE)]).toEqual([null, null]);
});

it("a refused clip holds its set until a person sends the photos without it; after anything else that changes nothing", async () => {
  const store = await storeWithClip();
  const { world, asked } = server();
  const refusing: World = { ...world, ask: (each, progress) => (each.path.startsWith("/api/clips/") ? Promise.resolve(answer(422, { problem: { code: "clip-damaged" } })) : world.ask(each, progress)) };
  expect(await pass(store, refusing, "parent", quiet)).toBeNull();
  expect(await store.all()).toMatchObject([{ state: { at: "refused", code: "clip-damaged" } }]);
  expect([remedyFor("clip-damaged"), remedyFor("clip-photo-gone"), remedyFor("photo-damaged")]).toEqual(["without-clip", "other-photo", "other-photo"]);
  await store.change("m", (entry) => withoutClip(entry, 6000));
  await pass(store, { ...refusing, now: () => 7000 }, "parent", quiet);
  expect(asked.at(-1)?.path).toBe("/api/photo-sets/child");
  expect(await store.all()).toMatchObject([{ state: { at: "sent" } }]);
  for (const each of [moving, takenOut(moving, 1), ...await store.all()]) expect(each && withoutClip(each, 9000)).toBe(each);
});

it("leaves an entry of a form that it does not know alone", async () => {
  const store = await storeWith({ ...entryOf("later"), form: 3 } as unknown as Entry, entryOf("known")); // as a newer page would keep it
  const { world, asked } = server();
  await pass(store, world, "parent", quiet);
  expect(asked.every(({ headers }) => headers["Idempotency-Key"]?.startsWith("known"))).toBe(true);
  expect((await store.all()).map(({ id }) => id)).toEqual(["known"]);
  await store.change("later", () => null);
});
