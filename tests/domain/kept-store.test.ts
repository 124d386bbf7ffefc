import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { beforeEach, describe, expect, it, vi } from "vitest";
import { choose, noteWaiting, waitingOf } from "@/app/family/kept/here";
import { contentsOf, forget, keepClip, noteSeen, writeDown, type KeptReport, type KeptTry } from "@/app/family/kept/store";
import { refresh, sync } from "@/app/family/kept/sync";
import { KEPT_VERSION } from "@/lib/domain/kept/kept";

// The phone: a database written by others after the W3C's Indexed Database API, a plain store of choices, and a line.
const choices = new Map<string, string>();
type Request = { readonly path: string; readonly headers: Headers; readonly body: unknown };
let asked: Request[] = [];
let answer: (request: Request) => Response | Promise<Response>;

beforeEach(() => {
  vi.stubGlobal("indexedDB", new IDBFactory());
  vi.stubGlobal("localStorage", {
    getItem: (key: string) => choices.get(key) ?? null, setItem: (key: string, value: string) => choices.set(key, value), removeItem: (key: string) => choices.delete(key),
  });
  vi.stubGlobal("fetch", async (path: string, init: RequestInit = {}) => {
    const request = { path, headers: new Headers(init.headers), body: typeof init.body === "string" ? JSON.parse(init.body) as unknown : null };
    asked.push(request);
    return answer(request);
  });
  choices.clear();
  asked = [];
});

const PICTURE = "/media/child/photo/marked";
/** Only what the phone's store reads of it. */
const keptOf = (personId: string, checkedAt: number, more: { readonly picture?: string; readonly clip?: string; readonly version?: number } = {}) => ({
  version: more.version ?? KEPT_VERSION, personId, checkedAt,
  children: [{ childId: "child", exercises: [{ picture: more.picture ? { address: more.picture } : null, note: null, clip: more.clip ? { address: more.clip } : null }] }],
});
const serves = (kept: object) => {
  answer = ({ path }) => {
    if (path === "/api/kept") return Response.json(kept);
    if (path.startsWith("/media/")) return new Response("bytes", { headers: { "Content-Type": "image/jpeg" } });
    return Response.json({ done: true });
  };
};
const KEY = "00000000-0000-4000-8000-000000000001";
const report: KeptReport = { key: KEY, personId: "mother", childId: "child", noticed: ["dizzy"], tier: "today", note: "", photoSetId: null, writtenAt: 1, sentAt: null };
const tried = (key: string, writtenAt: number, isRight: boolean): KeptTry =>
  ({ key, personId: "mother", childId: "child", stopId: "stop", exerciseKey: "side-lying", question: "side", choice: isRight ? "left" : "right", isRight, writtenAt, sentAt: null });

const CLIP = "/media/child/photo/clip";

describe("a clip kept on this phone", () => {
  const addresses = async () => (await contentsOf("mother")).media.map(({ address }) => address);

  it("comes after the rest, which does not wait for it, and is asked for once", async () => {
    let arrive: (clip: Response) => void = () => undefined;
    const clip = new Promise<Response>((resolve) => { arrive = resolve; });
    serves(keptOf("mother", 10, { picture: PICTURE, clip: CLIP }));
    const others = answer;
    answer = (request) => (request.path === CLIP ? clip : others(request));
    expect(await refresh("mother")).toBe("answered");
    expect(await refresh("mother")).toBe("answered");
    expect(await addresses()).toEqual([PICTURE]);
    arrive(new Response("film", { headers: { "Content-Type": "video/mp4" } }));
    await vi.waitFor(async () => expect(await addresses()).toEqual([CLIP, PICTURE]));
    expect(asked.filter(({ path }) => path === CLIP)).toHaveLength(1);
    expect((await contentsOf("mother")).media[0]).toMatchObject({ personId: "mother", type: "video/mp4" });
    await refresh("mother");
    expect(asked.filter(({ path }) => path === CLIP)).toHaveLength(1);
  });

  it("goes with the answer that no longer names it, and with its person; one that comes too late is not kept", async () => {
    serves(keptOf("mother", 10, { clip: CLIP }));
    await refresh("mother");
    await vi.waitFor(async () => expect(await addresses()).toEqual([CLIP]));
    serves(keptOf("mother", 20));
    await refresh("mother");
    expect(await addresses()).toEqual([]);
    await keepClip({ personId: "mother", address: CLIP, type: "video/mp4", bytes: new ArrayBuffer(4) });
    expect(await addresses()).toEqual([]);
    serves(keptOf("mother", 30, { clip: CLIP }));
    await refresh("mother");
    await vi.waitFor(async () => expect(await addresses()).toEqual([CLIP]));
    await forget("own", "mother");
    expect(await addresses()).toEqual([]);
    await keepClip({ personId: "mother", address: CLIP, type: "video/mp4", bytes: new ArrayBuffer(4) });
    expect(await addresses()).toEqual([]);
  });
});

describe("what is kept on this phone", () => {
  it("is one person's: another's is neither read nor kept, and goes when somebody else is here", async () => {
    serves(keptOf("mother", 10, { picture: PICTURE }));
    expect(await refresh("mother")).toBe("answered");
    expect(asked.every(({ headers }) => headers.get("x-person") === "mother")).toBe(true);
    // An answer for somebody else, as after a change of who is signed in, is not kept under this name.
    expect(await refresh("father")).toBe("silent");
    expect(await contentsOf("father")).toMatchObject({ row: null, media: [] });
    await forget("others", "mother");
    expect((await contentsOf("mother")).media).toHaveLength(1);
    await forget("others", "father");
    expect(await contentsOf("mother")).toMatchObject({ row: null, media: [] });
  });

  it("loses the pictures that the server no longer names, and takes each only once", async () => {
    serves(keptOf("mother", 10, { picture: PICTURE }));
    await refresh("mother");
    await refresh("mother");
    expect(asked.filter(({ path }) => path === PICTURE)).toHaveLength(1);
    serves(keptOf("mother", 20));
    await refresh("mother");
    expect((await contentsOf("mother")).media).toEqual([]);
  });

  it("keeps the words where a picture does not come, and everything where the server does not answer", async () => {
    answer = ({ path }) => (path === "/api/kept" ? Response.json(keptOf("mother", 10, { picture: PICTURE })) : new Response(null, { status: 404 }));
    expect(await refresh("mother")).toBe("answered");
    expect((await contentsOf("mother")).row?.kept.checkedAt).toBe(10);
    for (const bad of [new Response("<html>sign in to this network</html>"), new Response(null, { status: 500 }), Response.json({ error: "signed-out" }, { status: 401 })]) {
      answer = () => bad;
      expect(await refresh("mother")).toBe(bad.status === 401 ? "stranger" : "silent");
      expect((await contentsOf("mother")).row?.kept.checkedAt).toBe(10);
    }
    answer = () => Promise.reject(new TypeError("no line"));
    expect(await refresh("mother")).toBe("silent");
  });

  it("is not replaced by an older answer that was overtaken", async () => {
    serves(keptOf("mother", 20));
    await refresh("mother");
    serves(keptOf("mother", 10, { picture: PICTURE }));
    await refresh("mother");
    expect((await contentsOf("mother")).row?.kept.checkedAt).toBe(20);
    expect((await contentsOf("mother")).media).toEqual([]);
  });

  it("holds another version for the app that comes with it, without reading it", async () => {
    serves({ ...keptOf("mother", 30, { version: KEPT_VERSION + 1 }), children: "otherwise" });
    expect(await refresh("mother")).toBe("answered");
    expect((await contentsOf("mother")).row?.kept.version).toBe(KEPT_VERSION + 1);
  });

  it("remembers the latest time its clock has shown", async () => {
    serves(keptOf("mother", 10));
    await refresh("mother");
    const { row } = await contentsOf("mother");
    await noteSeen("mother", (row?.keptAt ?? 0) + 500);
    await noteSeen("mother", (row?.keptAt ?? 0) + 100);
    expect((await contentsOf("mother")).row?.seenAt).toBe((row?.keptAt ?? 0) + 500);
  });
});

describe("what was said without signal", () => {
  it("goes once, under the key it was given, and stands here until the server's own answer speaks of it", async () => {
    choose("mother", "yes");
    serves(keptOf("mother", 10));
    await refresh("mother");
    await writeDown("reports", report);
    expect(waitingOf("mother")).toBe("symptom");
    // The server takes it, but neither that answer nor the next page reaches the phone.
    const lost = () => Promise.reject(new TypeError("no line"));
    answer = lost;
    await sync("mother");
    expect((await contentsOf("mother")).reports).toMatchObject([{ sentAt: null }]);
    answer = ({ path }) => (path.startsWith("/api/symptoms/") ? Response.json({ done: true }) : lost());
    expect(await sync("mother")).toBe("silent");
    expect(waitingOf("mother")).toBeNull();
    const [there] = (await contentsOf("mother")).reports;
    expect(there?.sentAt).not.toBeNull();
    serves(keptOf("mother", 20));
    asked = [];
    await sync("mother");
    expect((await contentsOf("mother")).reports).toEqual([]);
    expect(asked.map(({ path }) => path)).toEqual(["/api/kept"]);
  });

  it("carries the same key and the same words each time, and how long they lay here", async () => {
    await writeDown("reports", { ...report, writtenAt: Date.now() - 3 * 3_600_000 });
    answer = () => new Response(null, { status: 502 });
    await sync("mother");
    await sync("mother");
    expect(asked.map(({ path, headers, body }) => [path, headers.get("idempotency-key"), body])).toEqual(
      Array.from({ length: 2 }, () => ["/api/symptoms/child", KEY, { noticed: ["dizzy"], note: "", photoSetId: null, waitedMs: expect.closeTo(3 * 3_600_000, -5) }]),
    );
  });

  it("is not taken for arrived by what is not the server's word, nor sent for another person", async () => {
    await writeDown("reports", report);
    for (const not of [Response.json({ ok: true }), new Response("<html>"), Response.json({ error: "other-person" }, { status: 409 }), Response.json({ error: "signed-out" }, { status: 401 }), Response.json({ problem: { code: "form-invalid" } }, { status: 400 })]) {
      answer = () => not;
      await sync("mother");
      expect((await contentsOf("mother")).reports, String(not.status)).toHaveLength(1);
    }
    asked = [];
    await sync("father");
    expect(asked).toEqual([]);
  });

  it("is not lost to an answer that was asked for before it arrived", async () => {
    choose("mother", "yes");
    serves(keptOf("mother", 10));
    await refresh("mother");
    await writeDown("reports", report);
    const held: (() => void)[] = [];
    answer = async ({ path }) => {
      if (path !== "/api/kept") return Response.json({ done: true });
      const place = held.length;
      await new Promise<void>((resolve) => held.push(resolve));
      return Response.json(keptOf("mother", 20 + place));
    };
    const early = refresh("mother");
    await vi.waitFor(() => expect(held).toHaveLength(1));
    const late = sync("mother");
    await vi.waitFor(() => expect(held).toHaveLength(2));
    held[0]?.();
    await early;
    // Asked for before the report arrived: its stop stays on the phone.
    expect(await contentsOf("mother")).toMatchObject({ row: { kept: { checkedAt: 20 } }, reports: [{ key: KEY }] });
    held[1]?.();
    await late;
    expect(await contentsOf("mother")).toMatchObject({ row: { kept: { checkedAt: 21 } }, reports: [] });
  });

  it("answers to a stop go in the order they were given; one that came to nothing is over", async () => {
    await writeDown("tries", tried("00000000-0000-4000-8000-00000000000b", 2, true));
    await writeDown("tries", tried("00000000-0000-4000-8000-00000000000a", 1, false));
    expect(waitingOf("mother")).toBe("read-back");
    answer = () => Response.json({ done: true });
    await sync("mother");
    expect(asked.map(({ body }) => (body as { readonly choice: string }).choice)).toEqual(["right", "left"]);
    // Nothing is kept here, so nothing waits for a later answer.
    expect((await contentsOf("mother")).tries).toEqual([]);
    await writeDown("tries", tried("00000000-0000-4000-8000-00000000000c", 3, true));
    answer = () => Response.json({ problem: { code: "stale-version" } }, { status: 422 });
    await sync("mother");
    expect((await contentsOf("mother")).tries).toEqual([]);
    noteWaiting("mother", null);
  });

  it("no answer to a stop goes before one that may still be on its way: the last to arrive counts", async () => {
    const [first, second] = [tried("00000000-0000-4000-8000-00000000000a", 1, false), tried("00000000-0000-4000-8000-00000000000b", 2, true)];
    await writeDown("tries", first);
    await writeDown("tries", second);
    const keysAsked = () => asked.map(({ headers }) => headers.get("idempotency-key"));
    // The line comes back between the two, or the server is too busy for the first.
    for (const not of [() => Promise.reject(new TypeError("no line")), () => new Response("<html>"), () => Response.json({ problem: { code: "photo-queue-full" } }, { status: 503 }), () => Response.json({ error: "signed-out" }, { status: 401 })]) {
      asked = [];
      answer = () => (asked.length === 1 ? not() : Response.json({ done: true }));
      await sync("mother");
      expect(keysAsked()).toEqual([first.key]);
      expect((await contentsOf("mother")).tries).toHaveLength(2);
    }
    asked = [];
    answer = () => Response.json({ done: true });
    await sync("mother");
    expect(keysAsked()).toEqual([first.key, second.key]);
    // One that is refused for good holds nothing up.
    await writeDown("tries", first);
    await writeDown("tries", second);
    asked = [];
    answer = () => (asked.length === 1 ? Response.json({ problem: { code: "form-invalid" } }, { status: 400 }) : Response.json({ done: true }));
    await sync("mother");
    expect(keysAsked()).toEqual([first.key, second.key]);
    expect((await contentsOf("mother")).tries).toMatchObject([{ key: first.key }]);
  });

  it("stays when what is kept is taken off the phone", async () => {
    serves(keptOf("mother", 10));
    await refresh("mother");
    await writeDown("reports", report);
    await forget("own", "mother");
    expect(await contentsOf("mother")).toMatchObject({ row: null, reports: [{ key: KEY, sentAt: null }] });
  });
});
