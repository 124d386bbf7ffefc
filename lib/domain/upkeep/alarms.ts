import type { BackupStanding } from "@/lib/domain/backup/standing";

/** What the app itself calls for a person about: states that hold, and too many of something in a short time. */
export const ALARM_STATES = ["history-broken", "folder-damaged", "check-missed", "backup", "disk-low", "mail-stuck"] as const;
export const ALARM_KINDS = [...ALARM_STATES, "decoder", "sign-ins", "errors"] as const;
export type AlarmKind = (typeof ALARM_KINDS)[number];

const MINUTE_MS = 60_000;
const DAY_MS = 1440 * MINUTE_MS;

export type States = {
  /** What the newest look through the whole folder came to. */
  readonly check: { readonly at: number; readonly findings: number; readonly isHistoryBroken: boolean } | null;
  readonly backup: BackupStanding;
  readonly isDiskLow: boolean;
  /** Since when the oldest mail that could go has not gone, ms; null when none waits. */
  readonly mailLateMs: number | null;
  /** How long this process has served: a server that stood still for a night first makes up for it. */
  readonly upMs: number;
};

/** The figures are ours: a quarter of an hour for a mail that a parent waits for, one backup missed and the time to make it, two days for the daily look. */
export function alarmingStates({ check, backup, isDiskLow, mailLateMs, upMs }: States, now: number): readonly AlarmKind[] {
  const isHistoryBroken = check?.isHistoryBroken === true;
  return [
    ...(isHistoryBroken ? ["history-broken" as const] : []),
    ...(check && check.findings > 0 && !isHistoryBroken ? ["folder-damaged" as const] : []),
    ...(upMs > 26 * 60 * MINUTE_MS && (check === null || now - check.at > 2 * DAY_MS) ? ["check-missed" as const] : []),
    ...(backup === "failed" || backup === "incomplete" || ((backup === "late" || backup === "no-key") && upMs > 45 * MINUTE_MS) ? ["backup" as const] : []),
    ...(isDiskLow ? ["disk-low" as const] : []),
    ...(mailLateMs !== null && mailLateMs > 15 * MINUTE_MS ? ["mail-stuck" as const] : []),
  ];
}

/** What is counted over this long. */
export const BURST_MS = 10 * MINUTE_MS;
export type Counts = { readonly decoderStopped: number; readonly signInsRefused: number; readonly failed: number; readonly answered: number };

/** Too many within `BURST_MS`. Errors by their share, and never for a few alone. */
export function bursts({ decoderStopped, signInsRefused, failed, answered }: Counts): readonly AlarmKind[] {
  return [
    ...(decoderStopped >= 5 ? ["decoder" as const] : []),
    ...(signInsRefused >= 30 ? ["sign-ins" as const] : []),
    ...(failed >= 5 && failed * 100 > answered ? ["errors" as const] : []),
  ];
}

/** The newest alarm of a kind; `seenAt` null while it is open. */
export type Past = { readonly raisedAt: number; readonly seenAt: number | null };

/**
 * Whether what holds now is a new alarm. One that is open is not raised again; a state that somebody saw to has a day, unless it
 * was over since (`wellAt`, when it was last known not to hold) and is back.
 */
export const isNewState = (past: Past | null, wellAt: number, now: number): boolean =>
  past === null || (past.seenAt !== null && (wellAt > past.seenAt || now - past.seenAt >= DAY_MS));

/** From when a burst is counted: what somebody saw to is over. */
export const countFrom = (past: Past | null, now: number): number => Math.max(now - BURST_MS, past?.seenAt ?? 0);

/** An open alarm is told again each day, a week long. */
export const MOST_TOLD = 7;
export const timesDue = ({ raisedAt }: Past, now: number): number => Math.min(MOST_TOLD, 1 + Math.floor(Math.max(0, now - raisedAt) / DAY_MS));
