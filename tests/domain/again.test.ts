import { describe, expect, it } from "vitest";
import { alarmDue, photoReminderDue, type AskedPhoto } from "@/lib/domain/notices/again";

const [MINUTE, DAY] = [60_000, 86_400_000];
const T = Date.UTC(2026, 2, 3, 16, 20);

describe("an alarm about a symptom", () => {
  it("is due again every quarter of an hour, seven times after the first mail, then never", () => {
    const due: (number | null)[] = [];
    for (let minute = 0; minute <= 200; minute += 1) due.push(alarmDue(T, T + minute * MINUTE));
    expect(due.slice(0, 15)).toEqual(Array(15).fill(null));
    for (let n = 1; n <= 7; n += 1) expect(due.slice(15 * n, 15 * n + 15)).toEqual(Array(15).fill(n));
    expect(due.slice(120)).toEqual(Array(81).fill(null));
    expect(alarmDue(T, T - MINUTE)).toBeNull();
  });
});

describe("the reminder of a photo", () => {
  const asked: AskedPhoto = { askedAt: T, isShown: false, photoConsent: "given", goAhead: "photo-first" };
  const dueAfter = (days: number, change: Partial<AskedPhoto> = {}) => photoReminderDue({ ...asked, ...change }, T + days * DAY);

  it("comes on the fourth and on the eighth day, and no more", () => {
    expect([0, 3.99, 4, 7.99, 8, 11.99, 12, 40].map((days) => dueAfter(days))).toEqual([null, null, 1, 1, 2, 2, null, null]);
  });

  it("comes only while the family may take that photo and has not", () => {
    expect((["go", "go-and-fix", "photo-first", "not-yet", "stop"] as const).map((goAhead) => dueAfter(5, { goAhead }))).toEqual([1, 1, 1, null, null]);
    expect([dueAfter(5, { isShown: true }), dueAfter(5, { photoConsent: "withdrawn" }), dueAfter(5, { photoConsent: "never" })]).toEqual([null, null, null]);
  });
});
