import * as fc from "fast-check";
import { expect, test } from "vitest";
import { byUrgency, isShown, reasonsToLook, SHOWN, type CaseFacts } from "@/lib/domain/caseload/reasons";
import { photosAtFix } from "@/lib/domain/ledger/standing";
import { VERDICTS, type Verdict } from "@/lib/domain/setup/vocabulary";
import { DAY, MONDAY, said } from "@/tests/domain/go-ahead-scene";

const TODAY = "2026-03-02";
const day = fc.integer({ min: -400, max: 400 }).map((days) => new Date(Date.UTC(2026, 2, 2) + days * DAY).toISOString().slice(0, 10));
const before = fc.integer({ min: 0, max: 80 * DAY }).map((ms) => MONDAY - ms);
const facts: fc.Arbitrary<CaseFacts> = fc.record({
  unreadSince: fc.option(before), record: fc.option(fc.record({ reassessBy: fc.option(day) })),
  atFix: fc.array(fc.record({ exerciseKey: fc.constant("side-lying"), itemKey: fc.constantFrom("a", "b", "c"), photos: fc.integer({ min: 1, max: 6 }) }), { maxLength: 3 }),
  photoConsent: fc.constantFrom("given" as const, "withdrawn" as const, "never" as const), setUpAt: fc.option(before), lastSentAt: fc.option(before),
});
const weeks = fc.integer({ min: 1, max: 12 });

/** The plan's own words, said again without the product's code: which of the four things find this child. */
function naive({ unreadSince, record, atFix, photoConsent, setUpAt, lastSentAt }: CaseFacts, asked: number): readonly string[] {
  const found: string[] = [];
  if (unreadSince !== null) found.push("unread-stop");
  const daysLeft = record === null || record.reassessBy === null ? null : Math.round((Date.parse(record.reassessBy) - Date.parse(TODAY)) / 86_400_000);
  if (record === null || (daysLeft !== null && daysLeft <= 28)) found.push("record");
  for (const { photos } of atFix) if (photos > 2 && !found.includes("stuck")) found.push("stuck");
  const silentFor = lastSentAt !== null ? MONDAY - lastSentAt : setUpAt !== null ? MONDAY - setUpAt : -1;
  if (photoConsent !== "withdrawn" && silentFor >= asked * 604_800_000) found.push("not-sent");
  return found;
}

test("the reasons against the plan's words", () => {
  fc.assert(fc.property(facts, weeks, (one, asked) => {
    const kinds = new Set(reasonsToLook(one, { now: MONDAY, today: TODAY, weeks: asked }).map(({ kind }) => kind));
    expect([...kinds].sort()).toEqual([...naive(one, asked)].sort());
    expect(SHOWN.filter((shown) => isShown(reasonsToLook(one, { now: MONDAY, today: TODAY, weeks: asked }), shown)).length)
      .toBe(1 + (kinds.size > 0 ? 1 : 0) + kinds.size);
  }), { numRuns: 1000 });
});

test("asking for more weeks never finds more, and a new photo set never adds a reason", () => {
  const of = (one: CaseFacts, asked: number) => reasonsToLook(one, { now: MONDAY, today: TODAY, weeks: asked }).map(({ kind }) => kind);
  fc.assert(fc.property(facts, weeks, (one, asked) => {
    expect(of(one, asked)).toEqual(expect.arrayContaining(of(one, asked + 1)));
    expect(of(one, asked)).toEqual(expect.arrayContaining(of({ ...one, lastSentAt: MONDAY }, asked)));
  }));
});

test("the order is one order: it can be turned round, chained, and an unread stop always comes first", () => {
  const reasons = fc.tuple(facts, weeks).map(([one, asked]) => reasonsToLook(one, { now: MONDAY, today: TODAY, weeks: asked }));
  fc.assert(fc.property(reasons, reasons, reasons, (a, b, c) => {
    expect(Math.sign(byUrgency(a, b))).toBe(-Math.sign(byUrgency(b, a)) + 0);
    if (byUrgency(a, b) <= 0 && byUrgency(b, c) <= 0) expect(byUrgency(a, c)).toBeLessThanOrEqual(0);
    if (a[0]?.kind === "unread-stop" && b[0]?.kind !== "unread-stop") expect(byUrgency(a, b)).toBeLessThan(0);
  }), { numRuns: 500 });
});

/** Photos in a row at fix, counted backwards by hand through the words of the rule. */
function naiveRun(given: readonly (readonly [Verdict, "answer" | "seen-live"])[]): number {
  let photos = 0;
  for (let at = given.length - 1; at >= 0; at -= 1) {
    const [verdict, source] = given[at] ?? ["not-visible", "answer"];
    if (verdict === "not-visible") continue;
    if (verdict !== "fix") return photos;
    if (source === "answer") photos += 1;
  }
  return photos;
}

test("photos in a row at fix: not visible is passed over, a visit is no photo, anything else ends the row", () => {
  const given = fc.array(fc.tuple(fc.constantFrom(...VERDICTS), fc.constantFrom("answer" as const, "seen-live" as const)), { maxLength: 10 });
  fc.assert(fc.property(given, (verdicts) => {
    const judged = verdicts.map(([verdict, source], at) => said("elbow-high", verdict, MONDAY + at * DAY, { source }));
    // What counts is the standing's business; here every verdict does but "not visible".
    expect(photosAtFix(judged.filter(({ verdict }) => verdict !== "not-visible"))).toBe(naiveRun(verdicts));
  }), { numRuns: 500 });
});
