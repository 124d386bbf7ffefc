import "server-only";
import { randomUUID } from "node:crypto";
import { and, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { people, practices } from "@/db/schema/practice";
import { noticeChoices } from "@/db/schema/reach";
import type { SelfGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { CHANNELS, choiceKey, NOTICE_CHOICES, type Channel, type NoticeChoice } from "@/lib/domain/notices/kinds";
import type { QuietHours } from "@/lib/domain/notices/quiet-hours";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { isZone } from "@/lib/domain/time/zone";
import { personOfOffKey } from "@/lib/notices/off-key";
import { act } from "@/lib/records/act";

export type Choices = {
  readonly isOn: Readonly<Record<Channel, Readonly<Record<NoticeChoice, boolean>>>>;
  readonly quiet: QuietHours | null;
  /** IANA name; null: the practice's. */
  readonly timeZone: string | null;
};

/** What the person chose, and the practice's zone, which holds where they chose none. */
export async function choicesOf(grant: SelfGrant<"notices.choose">): Promise<Choices & { readonly practiceZone: string }> {
  const { personId } = grant.actor;
  const person = database().select({ from: people.quietFrom, until: people.quietUntil, timeZone: people.timeZone, practiceZone: practices.timeZone })
    .from(people).innerJoin(practices, eq(practices.id, people.practiceId)).where(eq(people.id, personId)).get();
  if (!person) throw new Error("the person is missing");
  const { from, until, timeZone, practiceZone } = person;
  const off = database().select({ kind: noticeChoices.kind }).from(noticeChoices)
    .where(and(eq(noticeChoices.personId, personId), eq(noticeChoices.isOn, false))).all().map(({ kind }) => kind);
  const onIn = (channel: Channel) => ({ news: !off.includes(choiceKey("news", channel)), reminders: !off.includes(choiceKey("reminders", channel)) });
  return {
    isOn: { mail: onIn("mail"), push: onIn("push") },
    quiet: from === null || until === null ? null : { from, until }, timeZone, practiceZone,
  };
}

/** Writes all choices at once. Refused: `quiet-hours-equal` when they would begin and end together, and a zone that is none. */
export async function choose(grant: SelfGrant<"notices.choose">, choices: Choices, now: number): Promise<Result<null>> {
  const { isOn, quiet, timeZone } = choices;
  if (quiet && quiet.from === quiet.until) return refuse("quiet-hours-equal", { field: "until" });
  if (timeZone !== null && !isZone(timeZone)) return refuse("form-invalid", { field: "timeZone" });
  return act(grant, "notices.chosen", now, (tx) => {
    const { personId } = grant.actor;
    for (const channel of CHANNELS) for (const kind of NOTICE_CHOICES) switchTo(tx, personId, choiceKey(kind, channel), isOn[channel][kind], now);
    tx.update(people).set({ timeZone, quietFrom: quiet?.from ?? null, quietUntil: quiet?.until ?? null }).where(eq(people.id, personId)).run();
    return ok({ objectId: personId, value: null });
  });
}

/** Switches off all mail that may be switched off, for whoever's mail the key is from. False for a key of nobody; twice is as once. */
export async function switchOffByKey(key: string, now: number): Promise<boolean> {
  const personId = personOfOffKey(key);
  if (personId === null) return false;
  return database().transaction((tx) => {
    const person = tx.select({ role: people.role }).from(people).where(and(eq(people.id, personId), isNull(people.disabledAt))).get();
    if (!person) return false;
    for (const kind of NOTICE_CHOICES) switchTo(tx, personId, choiceKey(kind, "mail"), false, now);
    appendAudit(tx, {
      at: now, actorId: personId, role: person.role, act: "notices.off-by-mail", objectId: personId, familyId: null, outcome: "done",
      requestId: randomUUID(), sessionHash: null,
    });
    return true;
  }, { behavior: "immediate" });
}

function switchTo(tx: Transaction, personId: string, kind: string, isOn: boolean, now: number): void {
  const set = { isOn, chosenAt: now };
  tx.insert(noticeChoices).values({ personId, kind, ...set }).onConflictDoUpdate({ target: [noticeChoices.personId, noticeChoices.kind], set }).run();
}
