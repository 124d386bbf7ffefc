import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { grant } from "@/lib/access/grant";
import { CLAIM_MS, claimSet } from "@/lib/records/claims";
import { draftOf, saveDraft } from "@/lib/records/drafts";
import { voidPhotoSet } from "@/lib/records/voiding";
import { addSet, answeringWorld, NOW, send } from "@/tests/records/answering-scene";
import { codeOf, done } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
  addSet("set");
});
afterEach(() => world.close());

const grants = async () => ({
  mine: await grant(world.therapist, "answer.write", "child-1"),
  theirs: await grant(world.colleague, "answer.write", "child-1"),
});

describe("who is answering", () => {
  it("is said to colleagues, renewed, and lapses ten minutes after the last sign of life", async () => {
    const { mine, theirs } = await grants();
    expect(done(await claimSet(mine, "set", false, NOW))).toEqual({ personId: "therapist", name: "therapist", lapsesAt: NOW + 600_000 });
    expect(done(await claimSet(theirs, "set", false, NOW + 1)).personId).toBe("therapist");
    done(await claimSet(mine, "set", false, NOW + 300_000));
    expect(done(await claimSet(theirs, "set", false, NOW + CLAIM_MS + 1)).personId).toBe("therapist");
    expect(done(await claimSet(theirs, "set", false, NOW + 300_000 + CLAIM_MS)).personId).toBe("colleague");
    expect(done(await claimSet(mine, "set", false, NOW + 300_001 + CLAIM_MS)).personId).toBe("colleague");
  });

  it("can be taken over, and never decides whose answer counts", async () => {
    const { mine, theirs } = await grants();
    done(await claimSet(mine, "set", false, NOW));
    expect(done(await claimSet(theirs, "set", true, NOW + 1)).personId).toBe("colleague");
    expect(codeOf(await send(world.therapist, "set"))).toBe("done");
    expect(codeOf(await claimSet(theirs, "set", false, NOW + 2))).toBe("answered-already");
  });

  it("is refused for a set of another child, and a voided one", async () => {
    const { mine } = await grants();
    expect(codeOf(await claimSet(await grant(world.therapist, "answer.write", "child-2"), "set", false, NOW))).toBe("form-invalid");
    done(await voidPhotoSet(mine, "set", NOW));
    expect(codeOf(await claimSet(mine, "set", false, NOW))).toBe("set-voided");
  });
});

describe("a draft", () => {
  it("is refused when it builds on an older version, and what is stored stays", async () => {
    const { mine } = await grants();
    expect(done(await saveDraft(mine, "set", { fields: { summary: "one" }, version: 0 }, NOW))).toEqual({ version: 1, savedAt: NOW });
    expect(done(await saveDraft(mine, "set", { fields: { summary: "two" }, version: 1 }, NOW + 1)).version).toBe(2);
    for (const version of [0, 1, 3]) expect(codeOf(await saveDraft(mine, "set", { fields: { summary: "late" }, version }, NOW + 2))).toBe("stale-version");
    expect(await draftOf(mine, "set")).toEqual({ fields: { summary: "two" }, version: 2, savedAt: NOW + 1 });
  });

  it("is one person's own, and of no other child", async () => {
    const { mine, theirs } = await grants();
    done(await saveDraft(mine, "set", { fields: { summary: "mine" }, version: 0 }, NOW));
    expect(await draftOf(theirs, "set")).toBeNull();
    const other = await grant(world.therapist, "answer.write", "child-2");
    expect(await draftOf(other, "set")).toBeNull();
    expect(codeOf(await saveDraft(other, "set", { fields: {}, version: 0 }, NOW))).toBe("form-invalid");
  });

  it("is still kept after a colleague answered first", async () => {
    const { mine } = await grants();
    done(await saveDraft(mine, "set", { fields: { summary: "mine" }, version: 0 }, NOW));
    done(await send(world.colleague, "set"));
    expect(done(await saveDraft(mine, "set", { fields: { summary: "mine, longer" }, version: 1 }, NOW + 1)).version).toBe(2);
  });
});
