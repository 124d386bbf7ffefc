import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, it } from "vitest";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { totpFailures } from "@/db/schema/sign-in";
import { grant } from "@/lib/access/grant";
import { confirmTotp, newTotpSecret, spendTotp } from "@/lib/access/totp";
import { noteTotpFailure } from "@/lib/access/totp-failures";
import { DESK } from "@/lib/domain/words/reader";
import { moveApp, newApp } from "@/lib/records/own-sign-in";
import { codeAt, codeOf, staffWorld } from "@/tests/records/factors";

const NOW = Date.UTC(2026, 10, 28, 12);
const MINUTE = 60_000;
const actor = { personId: "therapist", practiceId: "practice", role: "therapist", name: "therapist", timeZone: "Europe/London", reader: DESK, sessionId: "here", provedAt: NOW, requestId: "r" } as const;

let world: ReturnType<typeof staffWorld>;
let old: string;
beforeEach(() => {
  world = staffWorld();
  old = newTotpSecret();
  database().transaction((tx) => confirmTotp(tx, "therapist", old, codeAt(old, NOW - MINUTE), NOW - MINUTE));
});
afterEach(() => world.close());

const offered = async (who = actor) => newApp(await grant(who, "sign-in.read", null), NOW);
const move = async (sealed: string, code: string, now = NOW, who: Omit<typeof actor, "sessionId"> & { readonly sessionId: string } = actor) => codeOf(await moveApp(await grant(who, "sign-in.change", null), { sealed, code }, now));
const spends = (secret: string, now: number) => database().transaction((tx) => spendTotp(tx, "therapist", codeAt(secret, now), now));

// RFC 6238, by a library of its own.
it("the new app counts from its first right code on, the old one no more, and it is told by mail", async () => {
  const { secret, sealed } = await offered();
  expect(sealed).not.toContain(secret);
  expect([await move(sealed, codeAt(old, NOW)), spends(old, NOW + MINUTE)]).toEqual(["app-code-wrong", true]);
  database().transaction((tx) => noteTotpFailure(tx, "therapist", NOW));
  expect(await move(sealed, codeAt(secret, NOW))).toBe("ok");
  expect([spends(old, NOW + 2 * MINUTE), spends(secret, NOW), spends(secret, NOW + 2 * MINUTE)]).toEqual([false, false, true]);
  expect(database().select().from(totpFailures).all()).toEqual([]);
  expect(database().select({ to: notices.personId }).from(notices).where(eq(notices.kind, "sign-in-changed")).all()).toEqual([{ to: "therapist" }]);
});

it("a page that is too old, another session's or changed moves nothing", async () => {
  const { secret, sealed } = await offered();
  expect(await move(sealed, codeAt(secret, NOW + 10 * MINUTE + 1), NOW + 10 * MINUTE + 1)).toBe("app-over");
  expect(await move(sealed, codeAt(secret, NOW), NOW, { ...actor, sessionId: "elsewhere" })).toBe("app-over");
  expect(await move(`${sealed.slice(0, -4)}AAAA`, codeAt(secret, NOW))).toBe("app-over");
  expect(spends(old, NOW + MINUTE)).toBe(true);
});
