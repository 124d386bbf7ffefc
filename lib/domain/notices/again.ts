import type { GoAheadState } from "@/lib/domain/setup/vocabulary";

/** A symptom is mailed to staff again this often, ms, and so often in all: a mailbox nobody looks at for two hours is no way to reach anybody. */
export const ALARM_EVERY_MS = 15 * 60_000;
export const MOST_ALARMS = 8;

/** Which repetition of an alarm is due, 1 to 7, of a symptom reported then and not cleared; null when none is. Instants UTC ms. */
export const alarmDue = (reportedAt: number, now: number): number | null => nth((now - reportedAt) / ALARM_EVERY_MS, MOST_ALARMS - 1);

/** Days from asking for a photo to the first reminder, and from that to the next. Common practice, no source. */
export const REMIND_EVERY_DAYS = 4;
export const MOST_REMINDERS = 2;

export type AskedPhoto = {
  /** When the answer that asked for it was published, UTC ms. */
  readonly askedAt: number;
  /** A set of this exercise was sent after the one that was answered, or the child was seen live since. */
  readonly isShown: boolean;
  readonly photoConsent: "given" | "withdrawn" | "never";
  /** The strongest go-ahead of the exercise's opened phases. */
  readonly goAhead: GoAheadState;
};

/** Why a child's people are not asked for a photo now, nor reminded of one. */
export type HeldBack = "no-consent" | "stop" | "not-yet";

/**
 * Nobody is asked for what they may not do: not under a stop, of which the family is told in its own way, and not
 * while consent, set-up, record or phase are not in order. Null when nothing holds it back.
 */
export function heldBack({ photoConsent, goAhead }: Pick<AskedPhoto, "photoConsent" | "goAhead">): HeldBack | null {
  if (goAhead === "stop") return "stop";
  if (photoConsent !== "given") return "no-consent";
  return goAhead === "not-yet" ? "not-yet" : null;
}

/** Which reminder of a photo is due, 1 or 2, or null. */
export function photoReminderDue({ askedAt, isShown, photoConsent, goAhead }: AskedPhoto, now: number): number | null {
  if (isShown || heldBack({ photoConsent, goAhead }) !== null) return null;
  return nth((now - askedAt) / (REMIND_EVERY_DAYS * 86_400_000), MOST_REMINDERS);
}

/** Days from a question to the family to the first reminder, and from that to the next: its photos wait meanwhile. Common practice, no source. */
export const ASK_AGAIN_EVERY_DAYS = 2;
export const MOST_ASKED_AGAIN = 3;

/**
 * Which reminder of a question to the family is due, 1 to 3, or null. Not without consent, for its photos then wait for
 * nobody. Under a stop it comes all the same: the answer that waits for these words may be the one that lifts it.
 */
export const questionReminderDue = ({ askedAt, photoConsent }: Pick<AskedPhoto, "askedAt" | "photoConsent">, now: number): number | null =>
  (photoConsent === "given" ? nth((now - askedAt) / (ASK_AGAIN_EVERY_DAYS * 86_400_000), MOST_ASKED_AGAIN) : null);

/** The whole part, from 1 to the most; null before and after, so that what was missed is never sent late in a heap. */
function nth(passed: number, most: number): number | null {
  const whole = Math.floor(passed);
  return whole >= 1 && whole <= most ? whole : null;
}
