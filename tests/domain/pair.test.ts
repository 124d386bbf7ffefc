import { describe, expect, it } from "vitest";
import { besides, firstPair, inTime, pairWarnings, type PairPhoto } from "@/lib/domain/answering/pair";

/** Expectations in this file follow PRODUCT, section 5; common practice, no source, for what makes two photos hard to compare. */
const photo = (photoId: string, at: number, more: Partial<PairPhoto> = {}): PairPhoto => ({ photoId, at, view: "behind", isTurnedBack: false, sidesKey: "lie-left", isStopped: false, ...more });
const ids = (some: readonly PairPhoto[] | null) => some?.map((each) => each.photoId) ?? null;

const NEW = photo("new", 30);
const NEW_FRONT = photo("new-front", 30, { view: "front" });
const MIDDLE_FRONT = photo("middle-front", 20, { view: "front" });
const OLD = photo("old", 10);
const ALL = [NEW, NEW_FRONT, MIDDLE_FRONT, OLD];

describe("two photos beside each other", () => {
  it("begin with the newest and the newest earlier one of its view", () => {
    expect(ids(firstPair(ALL, undefined, undefined))).toEqual(["old", "new"]);
    expect(ids(firstPair(ALL, undefined, "new-front"))).toEqual(["middle-front", "new-front"]);
  });

  it("begin with what was asked for, the way it was asked", () => {
    expect(ids(firstPair(ALL, "new", "old"))).toEqual(["new", "old"]);
    expect(ids(firstPair(ALL, "new", undefined))).toEqual(["new", "new-front"]);
  });

  it("take another view, then a later photo, where nothing nearer is there", () => {
    expect(ids(firstPair([NEW, MIDDLE_FRONT], undefined, "new"))).toEqual(["middle-front", "new"]);
    expect(ids(firstPair([NEW, OLD], undefined, "old"))).toEqual(["new", "old"]);
  });

  it("never are one photo twice, nor a photo that is not there", () => {
    expect(ids(firstPair(ALL, "new", "new"))).toEqual(["old", "new"]);
    expect(ids(firstPair(ALL, "foreign", "foreign"))).toEqual(["old", "new"]);
    expect(firstPair([NEW], undefined, undefined)).toBeNull();
    expect(firstPair([], "new", "old")).toBeNull();
  });

  it("are offered by view, newest first", () => {
    const { sameView, otherViews } = besides(ALL, NEW);
    expect([ids(sameView), ids(otherViews)]).toEqual([["old"], ["new-front", "middle-front"]]);
  });

  it("stand in the order of their time, of one moment as they are", () => {
    expect(ids(inTime(NEW, OLD))).toEqual(["old", "new"]);
    expect(ids(inTime(OLD, NEW))).toEqual(["old", "new"]);
    expect(ids(inTime(NEW_FRONT, NEW))).toEqual(["new-front", "new"]);
  });
});

describe("warnings", () => {
  it("name each thing that hides or feigns a difference, whichever photo has it", () => {
    const turned = photo("turned", 5, { isTurnedBack: true });
    const sides = photo("sides", 5, { sidesKey: "lie-right" });
    expect(pairWarnings(OLD, NEW)).toEqual([]);
    for (const [one, other] of [[OLD, NEW_FRONT], [NEW_FRONT, OLD]] as const) expect(pairWarnings(one, other)).toEqual(["views-differ"]);
    for (const [one, other] of [[turned, NEW], [NEW, turned]] as const) expect(pairWarnings(one, other)).toEqual(["turned-back"]);
    for (const [one, other] of [[sides, NEW], [NEW, sides]] as const) expect(pairWarnings(one, other)).toEqual(["sides-changed"]);
    expect(pairWarnings({ ...sides, isTurnedBack: true }, NEW_FRONT)).toEqual(["views-differ", "turned-back", "sides-changed"]);
  });
});
