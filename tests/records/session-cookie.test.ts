import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { unwrapToken, wrapToken } from "@/lib/access/auth-options";
import { makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 28, 12);
const HOUR = 3_600_000;
let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOW });
  world = makeWorld();
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

test("a cookie that was opened before is past its time all the same", async () => {
  const cookie = await wrapToken("one", HOUR);
  expect([await unwrapToken(cookie), await unwrapToken(cookie)]).toEqual(["one", "one"]);
  vi.setSystemTime(NOW + HOUR - 1);
  expect(await unwrapToken(cookie)).toBe("one");
  // next-auth lets a clock be fifteen seconds off.
  vi.setSystemTime(NOW + HOUR + 16_000);
  expect(await unwrapToken(cookie)).toBeNull();
});

test("one opened is no other, changed anywhere it is none, and another practice's never was", async () => {
  const [one, other] = [await wrapToken("one", HOUR), await wrapToken("other", HOUR)];
  expect([await unwrapToken(one), await unwrapToken(other)]).toEqual(["one", "other"]);
  for (const at of [0, 30, one.length - 30, one.length - 2]) {
    const changed = `${one.slice(0, at)}${one[at] === "A" ? "B" : "A"}${one.slice(at + 1)}`;
    expect(await unwrapToken(changed)).toBeNull();
  }
  world.close();
  world = makeWorld();
  expect([await unwrapToken(one), await unwrapToken(other)]).toEqual([null, null]);
});

test("many are opened, and those of long ago still are", async () => {
  const cookies = await Promise.all(Array.from({ length: 520 }, (_, at) => wrapToken(String(at), HOUR)));
  const opened = async () => Promise.all(cookies.map(unwrapToken));
  const all = cookies.map((_, at) => String(at));
  expect(await opened()).toEqual(all);
  expect(await opened()).toEqual(all);
});
