/** What a person may switch off, as one choice each. */
export const NOTICE_CHOICES = ["news", "reminders"] as const;
export type NoticeChoice = (typeof NOTICE_CHOICES)[number];

/** How a notice comes; each choice stands by itself for each. */
export const CHANNELS = ["mail", "push"] as const;
export type Channel = (typeof CHANNELS)[number];

/** Under which name a choice is kept. */
export const choiceKey = (choice: NoticeChoice, channel: Channel): string => (channel === "mail" ? choice : `${choice}-push`);

/**
 * Every kind of outgoing notice and the choice that covers it. What has a choice may be switched off and
 * waits for quiet hours to end. Null comes always and at once: codes and invitations that somebody asked
 * for, what changed about signing in, a stop and whatever can bring one back, an alarm about symptoms, and a stop that was not understood.
 */
export const NOTICE_KINDS = {
  "sign-in-code": null,
  "proof-code": null,
  "address-code": null,
  "address-changed": null,
  invitation: null,
  "recovery-code-used": null,
  "second-factor-reset": null,
  "sign-in-changed": null,
  answer: "news",
  "answer-stop": null,
  "seen-live": "news",
  "seen-live-stop": null,
  "stop-placed": null,
  "stop-lifted": "news",
  "symptom-cleared": "news",
  // A voided set takes its verdicts with it, and a stop that they had lifted stands again.
  "set-voided": null,
  reply: "news",
  // Of a group session: a place given or not, its time moved or called off, a photo asked for.
  "session-place": "news",
  "session-changed": "news",
  "session-ask": "news",
  "session-request": "news",
  "photo-reminder": "reminders",
  "session-reminder": "reminders",
  "question-reminder": "reminders",
  // A stop that nobody read is no mere reminder: a therapist pressed for it.
  "stop-reminder": null,
  "question-asked": "news",
  "symptom-urgent": null,
  "symptom-today": null,
  "photo-set-sent": "news",
  "read-back-wrong": null,
  // What will be gone for good, and what only the lead can look after.
  "erasure-asked": null,
  "photos-expire": null,
  "photo-set-aside": null,
  "retention-held": null,
  "erasure-done": null,
  // Something about the server itself.
  alarm: null,
} as const satisfies Record<string, NoticeChoice | null>;

export type NoticeKind = keyof typeof NOTICE_KINDS;

/** The choice that covers a kind; a kind this version does not know is never held back. */
export const choiceFor = (kind: string): NoticeChoice | null => (Object.hasOwn(NOTICE_KINDS, kind) ? NOTICE_KINDS[kind as NoticeKind] : null); // just looked up

/** Mails about signing in have words of their own and nothing about a child; all others share one text. */
const OWN_WORDS = ["sign-in-code", "proof-code", "address-code", "address-changed", "invitation", "recovery-code-used", "second-factor-reset", "sign-in-changed"] as const satisfies readonly NoticeKind[];
/** What is typed within ten minutes or not at all. */
export const isCode = (kind: string): boolean => kind === "sign-in-code" || kind === "proof-code" || kind === "address-code";
export const hasOwnWords = (kind: string): kind is (typeof OWN_WORDS)[number] => (OWN_WORDS as readonly string[]).includes(kind);
