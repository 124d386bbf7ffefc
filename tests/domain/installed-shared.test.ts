import { describe, expect, test } from "vitest";
import { afterShare, isShared, toForget, type SharedPhoto } from "@/lib/domain/installed/shared";

const NOON = Date.UTC(2026, 2, 3, 12);
const HOUR = 3_600_000;
const photo = (key: string, at: number, personId = "parent"): SharedPhoto => ({ key, personId, at });
const forgotten = (all: readonly SharedPhoto[], now = NOON) => toForget(all, "parent", now).map(({ key }) => key);

describe("a photo that was shared to the phone", () => {
  test("stays for a day, then goes", () => {
    const all = [photo("fresh", NOON - HOUR), photo("yesterday's", NOON - 23 * HOUR), photo("old", NOON - 24 * HOUR)];
    expect(forgotten(all)).toEqual(["old"]);
    expect(forgotten(all, NOON + 30 * HOUR)).toEqual(["fresh", "yesterday's", "old"]);
  });

  test("is nobody else's", () => {
    expect(forgotten([photo("mine", NOON), photo("theirs", NOON, "other parent"), photo("nobody's", NOON, "")])).toEqual(["theirs", "nobody's"]);
  });

  test("gives way to the newest four", () => {
    const all = [5, 1, 3, 2, 4].map((hours) => photo(`${hours} hours ago`, NOON - hours * HOUR));
    expect(forgotten(all)).toEqual(["5 hours ago"]);
  });

  test("goes when the phone's clock cannot be right", () => {
    expect(forgotten([photo("from the future", NOON + 48 * HOUR)])).toEqual(["from the future"]);
  });
});

test("a share of nobody's leads to the open page, any other to the sending page, which knows these words alone", () => {
  expect([afterShare("nobody"), afterShare("kept")]).toEqual(["/shared", "/family/send?shared=kept"]);
  expect(["kept", "some", "none", "nobody", "", undefined, ["kept"]].map(isShared)).toEqual([true, true, true, false, false, false, false]);
});
