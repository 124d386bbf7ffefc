import "server-only";
import { problemWords } from "@/app/desk/families/words";
import type { ProblemCode } from "@/lib/domain/problem";

const CODES: readonly ProblemCode[] = [
  "form-invalid", "stale-version", "answered-already", "set-voided", "consent-withdrawn", "stop-item-unjudged", "verdicts-missing",
  "summary-missing", "summary-side-missing", "words-side-disagree", "side-check-disagree", "reason-missing", "setup-not-confirmed",
  "record-changed", "dates-disagree", "photo-decoder-stopped", "disk-full",
];

/** What a form that answers, stops, clears or records a visit may be refused for. */
export const actProblems = (): Record<string, string> => problemWords(CODES);
