import type { Answer } from "@/e2e/walk/request";
import { isDone, isLedOn, isTaken, newId, refusedAs, sha256, storedIn, type Place, type Practice, type Sender } from "@/tests/proofs/practice";
import type { Acknowledged } from "@/tests/proofs/kept";
import { pause } from "@/tests/proofs/random";

/** One act under a key of its own. Repeated after a lost answer, it must happen once. */
export type Act = {
  readonly kind: "photo" | "set" | "voice" | "answer" | "erasure" | "export";
  readonly key: string;
  /** Asks once; a lost connection throws. */
  ask(): Promise<Answer>;
  isYes(answer: Answer): boolean;
  /** Keeps what the server said yes to. */
  note(answer: Answer, into: Acknowledged): void;
};

export function photoAct(practice: Practice, sender: Sender, setId: string, photo: Buffer, by?: number): Act {
  const place: Place = { sender, setId, ordinal: 1, key: newId() };
  return {
    kind: "photo", key: place.key, ask: () => practice.upload(place, photo, by), isYes: isTaken,
    note: (answer, into) => into.photos.push({ place, stored: storedIn(answer) }),
  };
}

export function setAct(practice: Practice, sender: Sender, setId: string, photoId: string, by?: number): Act {
  const key = newId();
  return {
    kind: "set", key, ask: () => practice.finish(sender, setId, [photoId], key, by), isYes: isDone,
    note: (_answer, into) => into.sets.push({ setId }),
  };
}

/** A spoken note for a set that waits. */
export function voiceAct(practice: Practice, therapist: string, { childId }: Sender, setId: string, sound: Buffer): Act {
  const key = newId();
  const headers = { "Idempotency-Key": key, "X-Voice-Length": String(sound.length), "X-Voice-Sha256": sha256(sound), "Content-Type": "application/octet-stream" };
  return {
    kind: "voice", key, ask: () => practice.ask(`/api/voice/${childId}/${setId}`, therapist, { method: "POST", headers, body: sound }), isYes: isTaken,
    note: (answer, into) => into.voices.push({ childId, setId, voiceNoteId: voiceNoteIn(answer), by: therapist }),
  };
}
/** The note's id in what the door says. */
export const voiceNoteIn = ({ body }: Answer): string => (JSON.parse(body) as { note: { voiceNoteId: string } }).note.voiceNoteId; // our own route's answer

/** The lead erases one photo at once. */
export function erasureAct(practice: Practice, lead: string, { place, stored: { photoId } }: Acknowledged["photos"][number]): Act {
  const key = newId();
  const { childId } = place.sender;
  const fields = { once: key, childId, kind: "photo", objectId: photoId, sure: "yes" };
  return {
    kind: "erasure", key, ask: () => practice.act("app/desk/erasures/actions.ts#eraseOneAction", "/desk/erasures", lead, fields), isYes: isLedOn,
    note: (_answer, into) => into.erased.push({ photoId, setId: place.setId, childId, by: lead }),
  };
}

/** A guardian asks for everything of a child as one file. */
export function exportAct(practice: Practice, sender: Sender): Act {
  const key = newId();
  return {
    kind: "export", key,
    ask: () => practice.act("app/exports/actions.ts#askForExportAction", `/family/export/${sender.childId}`, sender.cookie, { once: key, childId: sender.childId }),
    isYes: ({ status, location }) => [200, 303].includes(status) && location.includes("/family/export/"),
    note: (_answer, into) => into.exports.push({ sender, key }),
  };
}

export function answerAct(practice: Practice, therapist: string, sender: Sender, setId: string, voiceNoteId = ""): Act {
  const key = newId();
  return {
    kind: "answer", key, ask: () => practice.answer(therapist, sender, setId, key, voiceNoteId), isYes: isLedOn,
    note: (_answer, into) => into.answers.push({ setId }),
  };
}

/** Turned away for now, with a time to come again: no loss and no error. */
export const isShed = (answer: Answer): boolean =>
  answer.status === 503 && Number(answer.headers["retry-after"]) > 0;

/** The connection was cut, refused or closed before the answer was whole. */
export const isLineLost = (error: unknown): boolean =>
  error instanceof Error && "code" in error && ["ECONNRESET", "ECONNREFUSED", "EPIPE", "ECONNABORTED"].includes(String(error.code));

/** A refusal nobody should have met; never with what was sent. */
export class Refused extends Error {
  constructor(act: Act, answer: Answer) {
    super(`${act.kind} refused: ${answer.status} ${refusedAs(answer) ?? ""}`);
  }
}

/** A busy machine stops a decoder that takes too long; the parent presses again, and so does the phone's queue. */
const isStopped = (answer: Answer): boolean => refusedAs(answer) === "photo-decoder-stopped";
const MOST_STOPS = 10;

/** Does an act, coming again when turned away. Throws when the line is lost or the act refused. */
export async function done(act: Act, into: Acknowledged): Promise<Answer> {
  for (let stops = 0; ; ) {
    const answer = await act.ask();
    if (act.isYes(answer)) {
      act.note(answer, into);
      return answer;
    }
    if (isStopped(answer)) stops += 1;
    if (!isShed(answer) && (!isStopped(answer) || stops > MOST_STOPS)) throw new Refused(act, answer);
    await pause(300);
  }
}
