import "server-only";
import type { Actor } from "@/lib/access/actor";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import { formatSoon } from "@/lib/domain/time/format";
import type { Pause } from "@/lib/domain/time/working-week";
import { say } from "@/lib/messages/say";
import { practiceClock, type PracticeClock } from "@/lib/records/family-home";

/** A moment near now as this person's own clock shows it; the zone is named where it is not the practice's. */
export function momentSaid(at: number, { timeZone, reader }: Actor, { zone }: Pick<PracticeClock, "zone">, now: number): string {
  const when = formatSoon(at, now, timeZone, reader.locale);
  if (timeZone === zone) return when;
  return say("family", reader)("expect.inZone", { when, place: (timeZone.split("/").at(-1) ?? timeZone).replaceAll("_", " ") });
}

/** By when to expect an answer to what arrived then, in one sentence; what to do where it is late or nobody can say. */
export function expectSaid(kind: "photo-set" | "question", arrivedAt: number, actor: Actor, now: number, clock: PracticeClock = practiceClock(actor, now), pauses: readonly Pause[] = []): string {
  const family = say("family", actor.reader);
  const expected = clock.expect(kind, arrivedAt, pauses);
  if (expected.is === "paused") return family("expect.paused");
  if (expected.is === "unknown") return family("expect.unknown", { kind });
  const due = momentSaid(expected.by, actor, clock, now);
  if (expected.is === "late") return family(`expect.late`, { kind, due });
  return expected.opensAt === null ? family("expect.by", { kind, due }) : family("expect.byOpens", { kind, due, opens: momentSaid(expected.opensAt, actor, clock, now) });
}

/** By when a call is promised after a symptom was reported, always with what must not wait for it. */
export function callSaid(tier: SymptomTier, reportedAt: number, actor: Actor, now: number): string {
  const [family, clock] = [say("family", actor.reader), practiceClock(actor, now)];
  const expected = clock.expect("symptom", reportedAt);
  if (expected.is === "unknown" || expected.is === "paused") return family(`expect.callUnknown.${tier}`);
  return family(`expect.${expected.is === "late" ? "callLate" : "callBy"}.${tier}`, { due: momentSaid(expected.by, actor, clock, now) });
}

/** The same before anything is reported. */
export function callIfTold(actor: Actor, now: number): string {
  const [family, clock] = [say("family", actor.reader), practiceClock(actor, now)];
  const expected = clock.expect("symptom", now);
  return expected.is === "by" ? family("expect.callNow", { due: momentSaid(expected.by, actor, clock, now) }) : family("expect.callNowUnknown");
}
