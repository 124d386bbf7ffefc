import type { LocalDate } from "@/lib/domain/time/working-week";

/** Set by the practice. The defaults are common practice, no source; local rules come first. */
export type AgeLines = { readonly ownSignInAge: number; readonly adultAge: number };

/** What an adult, or staff on proof of the law, said about one guardian; the newest counts. */
export type Agreement = "agreed" | "represents" | "ended";

export type CareLink = {
  readonly relation: "guardian" | "self";
  /** `YYYY-MM` */
  readonly bornIn: string;
  readonly agreement: Agreement | null;
};

/** `practise`: sees, sends, asks, reports. `decide`: gives and takes back consent too. */
export type Reach = "none" | "practise" | "decide";

/** The first local date on which somebody born in this month is this old for certain: the day is not kept. */
export function reachedOn(bornIn: string, years: number): LocalDate {
  const [year = 0, month = 0] = bornIn.split("-").map(Number);
  const next = month === 12 ? { year: year + 1, month: 1 } : { year, month: month + 1 };
  return `${String(next.year + years).padStart(4, "0")}-${String(next.month).padStart(2, "0")}-01`;
}

export const isOfAge = (bornIn: string, years: number, today: LocalDate): boolean => today >= reachedOn(bornIn, years);

/**
 * What an open care link lets its person do on a day. A young person practises from the practice's age
 * and decides as an adult; a guardian decides until then, and afterwards sees what the adult agrees to.
 */
export function careReach({ relation, bornIn, agreement }: CareLink, { ownSignInAge, adultAge }: AgeLines, today: LocalDate): Reach {
  const isAdult = isOfAge(bornIn, adultAge, today);
  if (relation === "self") return isAdult ? "decide" : isOfAge(bornIn, ownSignInAge, today) ? "practise" : "none";
  if (!isAdult || agreement === "represents") return "decide";
  return agreement === "agreed" ? "practise" : "none";
}

/** Whether ending one link leaves the child without anybody who decides for it, or without anybody at all. */
export const leavesNobody = (ended: Reach, others: readonly Reach[]): boolean =>
  others.every((reach) => reach === "none") || (ended === "decide" && !others.includes("decide"));
