import type { Answer } from "@/e2e/walk/request";
import { isDone, isLedOn, isTaken, newId, refusedAs, storedIn, type Place, type Practice, type Sender } from "@/tests/proofs/practice";
import type { Acknowledged } from "@/tests/proofs/kept";
import { pause } from "@/tests/proofs/random";

/** One act under a key of its own. Repeated after a lost answer, it must happen once. */
export type Act = {
  readonly kind: "photo" | "set" | "answer";
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

export function answerAct(practice: Practice, therapist: string, sender: Sender, setId: string): Act {
  const key = newId();
  return {
    kind: "answer", key, ask: () => practice.answer(therapist, sender, setId, key), isYes: isLedOn,
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

/** Does an act, coming again when turned away. Throws when the line is lost or the act refused. */
export async function done(act: Act, into: Acknowledged): Promise<Answer> {
  for (;;) {
    const answer = await act.ask();
    if (act.isYes(answer)) {
      act.note(answer, into);
      return answer;
    }
    if (!isShed(answer)) throw new Refused(act, answer);
    await pause(300);
  }
}
