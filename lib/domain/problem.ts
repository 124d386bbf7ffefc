/**
 * Every outcome a person can act on, as a machine-readable code. A contract test holds that each
 * has its sentence in the message catalogue (what happened, what is safe, what to do now).
 */
export const PROBLEM_CODES = [
  // forms and races
  "form-invalid",
  "stale-version",
  "sent-already",
  "try-again-soon",
  // sign-in
  "code-wrong",
  "code-expired",
  "code-used-up",
  "second-factor-wrong",
  "link-spent",
  // photo intake
  "photo-empty",
  "photo-too-large",
  "photo-length-mismatch",
  "photo-hash-mismatch",
  "photo-kind-refused",
  "photo-damaged",
  "photo-too-many-pixels",
  "photo-too-small",
  "photo-side-too-long",
  "photo-decoder-stopped",
  "photo-queue-full",
  "photo-limit-set",
  "photo-limit-day",
  "disk-full",
  // sending
  "consent-missing",
  "setup-not-confirmed",
  "phase-not-open",
  "child-not-chosen",
  "photos-missing",
  "side-check-missing",
  "side-opposite",
  "taken-at-missing",
  "symptoms-unanswered",
  "set-finished",
  // answering
  "answered-already",
  "answering-by-other",
  "set-voided",
  "consent-withdrawn",
  "stop-item-unjudged",
  "verdicts-missing",
  "summary-missing",
  "summary-side-missing",
  "words-side-disagree",
  "side-check-disagree",
  "reason-missing",
  // curve record and set-up
  "apex-region-disagree",
  "curve-under-threshold",
  "view-not-stated",
  "side-not-read-back",
  "prominence-disagree",
  "uncommon-unconfirmed",
  "record-incomplete",
  "record-changed",
  "setup-not-covered",
  "setup-covered",
  "symptom-open",
  "apex-unknown",
  "apex-ambiguous",
  "curves-out-of-order",
  "picture-side-disagree",
  "dates-disagree",
  "setup-inconsistent",
  // cues
  "cue-placeholder-unknown",
  "cue-side-missing",
] as const;

export type ProblemCode = (typeof PROBLEM_CODES)[number];
