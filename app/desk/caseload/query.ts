import { pageIn } from "@/app/desk/pages";
import { MOST_WEEKS, SHOWN, type Shown } from "@/lib/domain/caseload/reasons";

export type Query = Readonly<Partial<Record<"show" | "weeks" | "order" | "page", string | string[]>>>;
export const ORDERS = ["urgency", "name"] as const;

/** What the address asks for; what it does not say rightly is as if it were not said. */
export type Chosen = { readonly show: Shown; readonly weeks: number | null; readonly order: (typeof ORDERS)[number]; readonly page: number };

export function chosenIn({ show, weeks, order, page }: Query): Chosen {
  return {
    show: SHOWN.find((each) => each === show) ?? "any",
    weeks: wholeFrom(weeks, MOST_WEEKS),
    order: ORDERS.find((each) => each === order) ?? "urgency",
    page: pageIn(page),
  };
}

function wholeFrom(text: string | string[] | undefined, most: number): number | null {
  const value = typeof text === "string" && /^\d{1,9}$/.test(text) ? Number(text) : 0;
  return value >= 1 && value <= most ? value : null;
}

/** The address of a choice, with no more in it than was chosen. */
export function addressOf({ show, weeks, order, page }: Chosen): string {
  const said = new URLSearchParams({
    ...(show === "any" ? {} : { show }), ...(weeks === null ? {} : { weeks: String(weeks) }), ...(order === "urgency" ? {} : { order }), ...(page === 1 ? {} : { page: String(page) }),
  }).toString();
  return said === "" ? "/desk/caseload" : `/desk/caseload?${said}`;
}
