import type { JudgedItem } from "@/lib/domain/ledger/judged";
import type { GoAheadFacts, GoAheadItem } from "@/lib/domain/setup/go-ahead-facts";
import type { Phase, Verdict } from "@/lib/domain/setup/vocabulary";

/** Monday 2 March 2026, 09:00 UTC; every instant in these tests is counted from here. */
export const MONDAY = Date.UTC(2026, 2, 2, 9);
export const HOUR = 60 * 60 * 1000;
export const DAY = 24 * HOUR;

const item = (key: string, phase: Phase, detail: Partial<GoAheadItem> = {}): GoAheadItem => ({
  key,
  phase,
  requiredForGo: true,
  isStop: false,
  sideDependent: true,
  ...detail,
});

/** Shaped like the side-lying exercise of PRODUCT.md section 3, cut to one item of each sort. */
export const ITEMS: readonly GoAheadItem[] = [
  item("side-down", "position", { isStop: true }),
  item("prop-place", "position", { isStop: true }),
  item("head-in-line", "position", { sideDependent: false }),
  item("elbow-high", "position"),
  item("bottom-arm-long", "position", { requiredForGo: false }),
  item("ribs-wide", "breath", { requiredForGo: false }),
  item("leg-reach", "movement"),
  item("stool-steady", "activation", { isStop: true }),
];
export const POSITION_KEYS = ITEMS.filter((each) => each.phase === "position").map((each) => each.key);

let order = 0;

/** A verdict given `at`, from a photo taken an hour before unless said otherwise. */
export function said(itemKey: string, verdict: Verdict, at: number, detail: Partial<JudgedItem> = {}): JudgedItem {
  order += 1;
  return {
    itemKey,
    verdict,
    isStop: ITEMS.some((each) => each.key === itemKey && each.isStop),
    judgedAt: at,
    judgedBy: "therapist",
    source: "answer",
    evidenceAt: at - HOUR,
    sidesKey: "lies-left",
    sequence: order,
    ...detail,
  };
}

export const allInPlace = (at: number, detail: Partial<JudgedItem> = {}): readonly JudgedItem[] =>
  POSITION_KEYS.map((key) => said(key, "in-place", at, detail));

/** A child with everything in order and nothing judged yet. */
export const facts = (change: Partial<GoAheadFacts> = {}): GoAheadFacts => ({
  exerciseKey: "side-lying",
  record: { id: "record-1", reassessBy: MONDAY + 180 * DAY },
  setup: {
    confirmedAt: MONDAY,
    confirmedBy: "therapist",
    recordId: "record-1",
    coverage: "covered",
    items: ITEMS,
    phases: ["position", "breath", "movement", "activation"],
    sides: { key: "lies-left", since: MONDAY },
  },
  notCovered: false,
  phasesOpened: [{ phase: "position", openedAt: MONDAY, openedBy: "therapist" }],
  verdicts: [],
  symptomStops: [],
  staffStops: [],
  photoConsent: "given",
  photoWeeks: 8,
  ...change,
});
