import { GO_AHEADS, type GoAheadState } from "@/lib/domain/setup/vocabulary";

/** Every reason there can be and the go-ahead it leads to, strongest first. */
export const REASON_STATE = {
  "symptom-urgent": "stop",
  "symptom-today": "stop",
  "staff-stop": "stop",
  "stop-item-fix": "stop",
  // These two are of what is kept on a phone without signal; the server has nothing to doubt.
  "clock-behind": "not-yet",
  "not-checked-lately": "not-yet",
  "not-covered": "not-yet",
  "no-record": "not-yet",
  "reassessment-past": "not-yet",
  "record-changed": "not-yet",
  "setup-not-confirmed": "not-yet",
  "phase-absent": "not-yet",
  "phase-not-opened": "not-yet",
  "stop-item-never-in-place": "photo-first",
  "required-never-judged": "photo-first",
  "phase-never-photographed": "photo-first",
  "nothing-judged-lately": "photo-first",
  "item-fix": "go-and-fix",
  "all-in-place": "go",
} as const satisfies Record<string, GoAheadState>;

export type ReasonCode = keyof typeof REASON_STATE;

type ItemCode = "stop-item-fix" | "stop-item-never-in-place" | "required-never-judged" | "item-fix";
type StopCode = "symptom-urgent" | "symptom-today" | "staff-stop";

/** `since`: the deciding instant; `by`: the id of who decided. Null where nobody has decided anything. */
type Of<C extends ReasonCode> = { readonly code: C; readonly since: number | null; readonly by: string | null };

export type Reason =
  | (Of<ItemCode> & { readonly itemKey: string })
  | (Of<StopCode> & { readonly stopId: string })
  | Of<Exclude<ReasonCode, ItemCode | StopCode>>;

const rank = (state: GoAheadState): number => GO_AHEADS.indexOf(state);

/**
 * The strongest of several go-aheads, for a child's card: pass the phases that are opened.
 * With none there is nothing anyone has allowed, so it is `not-yet`.
 */
export function strongest(states: readonly GoAheadState[]): GoAheadState {
  const [first, ...rest] = states;
  if (first === undefined) return "not-yet";
  return rest.reduce((strong, state) => (rank(state) > rank(strong) ? state : strong), first);
}
