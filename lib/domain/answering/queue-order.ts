import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";

/** What the order rests on. Instants are UTC ms; `dueAt` null while no working time is to come. */
export type Waiting = {
  readonly id: string;
  /** The strongest open symptom stop of the child; null when none is open. */
  readonly symptom: SymptomTier | null;
  readonly sentAt: number;
  readonly dueAt: number | null;
};

export const isOverdue = (waiting: Waiting, now: number): boolean => waiting.dueAt !== null && waiting.dueAt < now;

/** Open symptom stops first, urgent before the rest; then overdue; then by due time; then by arrival. */
export const queueOrder = <W extends Waiting>(waiting: readonly W[], now: number): readonly W[] =>
  [...waiting].sort(
    (a, b) =>
      danger(a) - danger(b) ||
      Number(isOverdue(b, now)) - Number(isOverdue(a, now)) ||
      (a.dueAt ?? Infinity) - (b.dueAt ?? Infinity) || // two without a due time give NaN, which is no order
      a.sentAt - b.sentAt ||
      a.id.localeCompare(b.id),
  );

const danger = ({ symptom }: Waiting): number => (symptom === "urgent" ? 0 : symptom === "today" ? 1 : 2);

/** The one after this in the queue, from its top when this was the last; null when no other waits. */
export function nextAfter<W extends Waiting>(ordered: readonly W[], id: string): W | null {
  const at = ordered.findIndex((each) => each.id === id);
  return ordered.slice(at + 1).find((each) => each.id !== id) ?? ordered.find((each) => each.id !== id) ?? null;
}
