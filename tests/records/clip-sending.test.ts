import { afterAll, afterEach, beforeEach, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { saidOfUpload } from "@/app/api/clips/resumable";
import { sendClip } from "@/app/family/queue/clip";
import type { Asked, World } from "@/app/family/queue/pass";
import { database } from "@/db/client";
import { clips } from "@/db/schema/clips";
import { mediaFiles, photoSets } from "@/db/schema/photos";
import { grant } from "@/lib/access/grant";
import { forgetClip } from "@/lib/clips/arriving";
import type { Outcome, Reply } from "@/lib/domain/sending/reply";
import { closeDecoders } from "@/lib/photos/decoder-pool";
import { addPiece, startClip } from "@/lib/records/clips";
import { mediaStore } from "@/lib/records/media";
import { FILMS } from "@/tests/clips/films";
import { addSet, answeringWorld, NOW } from "@/tests/records/answering-scene";
import { box } from "@/tests/voice/recordings";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => { world = answeringWorld(); });
afterEach(() => world.close());
afterAll(() => closeDecoders());

/** A film of some megabytes: three pieces and a bit. */
const FILM = Buffer.concat([FILMS.avc(), box("free", Buffer.alloc(3_200_000))]);
const bytes = () => Uint8Array.from(FILM).buffer;
const quiet = () => undefined;

/** Pseudo-random, so that a failing run can be had again. */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** The answers of `app/api/clips`, over a line that `drops` says breaks before or after the server has done its part. */
function line(drops: () => "before" | "after" | "restart" | null): World & { readonly asked: Asked[] } {
  const asked: Asked[] = [];
  const answer = (status: number, more: Partial<NonNullable<Reply>> = {}): Reply => ({ status, retryAfter: null, text: "", ...more });
  async function served({ path, headers, body }: Asked): Promise<Reply> {
    const granted = await grant(world.mother, "photo-set.send", "child-1", null);
    const [key = "", offset] = [headers["Idempotency-Key"], headers["Upload-Offset"]];
    if (offset === undefined) {
      const begun = await startClip(granted, { uploadId: key, photoId: new URL(path, "http://x").searchParams.get("photo") ?? "", length: Number(headers["Upload-Length"]), takenAt: Number(saidOfUpload(new Request("http://x", { headers }), "taken") ?? 0) || null, turns: Number(saidOfUpload(new Request("http://x", { headers }), "turns") ?? 0) }, NOW);
      return begun.ok ? answer(201, { offset: begun.value.offset }) : answer(422, { text: JSON.stringify({ problem: begun.problem }) });
    }
    const added = await addPiece(granted, key, Number(offset), Buffer.from(body as ArrayBuffer), NOW); // a piece is never words
    if (!added.ok) return answer(added.problem.code === "clip-photo-gone" ? 404 : 422, { text: JSON.stringify({ problem: added.problem }) });
    return added.value === "moved" ? answer(409) : answer(204, { offset: added.value.offset });
  }
  return {
    asked,
    now: () => NOW,
    async ask(each) {
      asked.push(each);
      const drop = drops();
      if (drop === "restart") forgetClip(each.headers["Idempotency-Key"] ?? "");
      if (drop === "before") return null;
      const reply = await served(each);
      return drop === "after" ? null : reply;
    },
  };
}

it("thirty clips over a line that breaks at random, on a server that is started anew in between: thirty, none twice, none lost", async () => {
  const random = chance(20_261_128);
  const breaking = line(() => {
    const at = random();
    return at < 0.12 ? "before" : at < 0.24 ? "after" : at < 0.28 ? "restart" : null;
  });
  const keys: string[] = [];
  let tries = 0;
  for (let nth = 1; nth <= 30; nth += 1) {
    addSet(`set-${nth}`, { views: ["behind"] });
    database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, `set-${nth}`)).run();
    const key = crypto.randomUUID();
    keys.push(key);
    let outcome: Outcome | null = null;
    while (outcome?.kind !== "done") {
      tries += 1;
      outcome = await sendClip(breaking, { personId: "mother", childId: "child-1", photoId: `set-${nth}-photo-1`, clip: { key } }, bytes(), quiet);
      expect(["done", "line", "server"], `clip ${nth}`).toContain(outcome.kind);
    }
  }
  expect(tries).toBeGreaterThan(40);
  const kept = database().select({ id: clips.id, received: clips.receivedBytes }).from(clips).all();
  expect(kept.map(({ id }) => id).toSorted()).toEqual(keys.toSorted());
  expect(new Set(kept.map(({ received }) => received))).toEqual(new Set([FILM.length]));
  // One file each, and no file of nobody's.
  const files: string[] = [];
  for await (const { fileId } of mediaStore().list()) files.push(fileId);
  expect(files.toSorted()).toEqual(database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).where(eq(mediaFiles.kind, "clip")).all().map(({ fileId }) => fileId).toSorted());
  expect(files.length).toBe(30);
}, 120_000);

it("sends no piece twice over a line that holds, tells how far it has come, and believes nobody but the server", async () => {
  addSet("set", { views: ["behind"] });
  database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "set")).run();
  const whole = line(() => null);
  const shares: number[] = [];
  const said = { personId: "mother", childId: "child-1", photoId: "set-photo-1", clip: { key: crypto.randomUUID() } };
  const told: World = { ...whole, ask: async (each, progress) => { progress(1); return whole.ask(each, quiet); } };
  expect(await sendClip(told, said, bytes(), (share) => shares.push(share))).toEqual({ kind: "done", photoId: null });
  expect(whole.asked.map(({ method, body }) => [method ?? "POST", typeof body === "string" ? 0 : body.byteLength]))
    .toEqual([["POST", 0], ["PATCH", 1_000_000], ["PATCH", 1_000_000], ["PATCH", 1_000_000], ["PATCH", FILM.length - 3_000_000]]);
  expect(shares.at(-1)).toBe(1);
  expect(shares.toSorted((a, b) => a - b)).toEqual(shares);
  expect(whole.asked[0]?.headers).not.toHaveProperty("Upload-Metadata");
  // Again, as after a lost answer: one question.
  expect(await sendClip(whole, said, bytes(), quiet)).toEqual({ kind: "done", photoId: null });
  expect(whole.asked.length).toBe(6);
  // tus 1.0.0, "creation": a name, a space and the value in Base64. 1479909600000 by Node's own encoder.
  expect(await sendClip(whole, { ...said, clip: { ...said.clip, takenAt: 1_479_909_600_000 } }, bytes(), quiet)).toEqual({ kind: "done", photoId: null });
  expect(whole.asked.at(-1)?.headers["Upload-Metadata"]).toBe("taken MTQ3OTkwOTYwMDAwMA==");
  expect(await sendClip(whole, { ...said, clip: { key: crypto.randomUUID(), takenAt: 1_479_909_600_000, turns: 3 } }, Uint8Array.from(FILMS.vp9()).buffer, quiet)).toEqual({ kind: "done", photoId: null });
  expect(database().select({ takenAt: clips.takenAt, turns: clips.turns }).from(clips).all()).toEqual([{ takenAt: 1_479_909_600_000, turns: 3 }]);
  const among = (header: string) => saidOfUpload(new Request("http://x", { headers: { "Upload-Metadata": header } }), "taken");
  expect(["filename eA==, taken MTI=", "taken", "", "retaken MTI="].map(among)).toEqual(["12", null, null, null]);
  for (const stranger of [{ status: 200, text: "<html>sign in to the network" }, { status: 201, text: "" }, { status: 204, text: "" }]) {
    expect((await sendClip({ now: () => NOW, ask: async () => ({ ...stranger, retryAfter: null, offset: null }) }, said, bytes(), quiet)).kind).toBe("line");
  }
});

it("a clip that the server refuses is told with its reason", async () => {
  addSet("set", { views: ["behind"] });
  database().update(photoSets).set({ sentAt: null }).where(eq(photoSets.id, "set")).run();
  const page = new TextEncoder().encode("<!doctype html>").buffer as ArrayBuffer; // an encoder's is never shared
  expect(await sendClip(line(() => null), { personId: "mother", childId: "child-1", photoId: "set-photo-1", clip: { key: crypto.randomUUID() } }, page, quiet))
    .toMatchObject({ kind: "refused", code: "clip-kind-refused" });
});
