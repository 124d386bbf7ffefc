import type { Answer } from "@/e2e/walk/request";
import { registryPhoto } from "@/tests/photos/sources";
import { answerAct, isShed, photoAct, setAct, type Act } from "@/tests/proofs/acts";
import { brokenIn, missingFrom, nothingYet } from "@/tests/proofs/kept";
import { newId, refusedAs, storedIn, type Practice, type Sender } from "@/tests/proofs/practice";
import { chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const PEOPLE_AT_ONCE = 48;
/** A family may send 30 a day; there are seven, and 24 each stay well within. */
const MOST_PHOTOS = 7 * 24;

/**
 * Many people read, send and answer at once for some seconds. An answer is what was asked for or "busy,
 * try again in n s"; anything else is an error, and nothing acknowledged may be missing afterwards.
 * Times are printed and not judged: they are this machine's.
 */
export async function load(practice: Practice, { seconds, seed }: { readonly seconds: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const photo = registryPhoto("jpeg-exif/test/IMG_0003.JPG");
  const [senders, therapist] = [await practice.senders(), await practice.signIn("Tom Ferrant")];
  practice.letADayPass();
  const acknowledged = nothingYet();
  const errors: string[] = [];
  const times = new Map<string, number[]>();
  const toAnswer: { readonly sender: Sender; readonly setId: string }[] = [];
  const count = { requests: 0, shed: 0, photosBegun: 0 };
  const until = Date.now() + seconds * 1000;

  /** One request; null when turned away with a time to come again. */
  const timed = async (kind: string, isYes: (answer: Answer) => boolean, ask: () => Promise<Answer>): Promise<Answer | null> => {
    const began = performance.now();
    count.requests += 1;
    try {
      const answer = await ask();
      if (isYes(answer)) {
        times.set(kind, [...(times.get(kind) ?? []), performance.now() - began]);
        return answer;
      }
      if (isShed(answer)) count.shed += 1;
      else errors.push(`${kind}: ${answer.status} ${refusedAs(answer) ?? ""}`);
    } catch (error) {
      errors.push(`${kind}: ${error instanceof Error && "code" in error ? String(error.code) : "line lost"}`);
    }
    return null;
  };
  const isPage = ({ status }: Answer): boolean => status === 200;
  const read = (kind: string, path: string, cookie: string) => timed(kind, isPage, () => practice.ask(path, cookie));
  /** Comes again under the same key as long as it is turned away. */
  const act = async (each: Act): Promise<Answer | null> => {
    while (Date.now() < until) {
      const answer = await timed(each.kind, each.isYes, () => each.ask());
      if (answer) {
        each.note(answer, acknowledged);
        return answer;
      }
      await pause(500);
    }
    return null;
  };
  const send = async (sender: Sender): Promise<void> => {
    count.photosBegun += 1;
    const setId = newId();
    const taken = await act(photoAct(practice, sender, setId, photo));
    if (taken && (await act(setAct(practice, sender, setId, storedIn(taken).photoId)))) toAnswer.push({ sender, setId });
  };
  const person = async (): Promise<void> => {
    while (Date.now() < until) {
      const [share, sender] = [random(), oneOf(random, senders)];
      const waiting = share < 0.2 ? toAnswer.shift() : undefined;
      if (waiting) await act(answerAct(practice, therapist, waiting.sender, waiting.setId));
      else if (share < 0.4 && count.photosBegun < MOST_PHOTOS) await send(senders[count.photosBegun % senders.length] ?? sender);
      else if (share < 0.6) await read("before you start", "/family", sender.cookie);
      else if (share < 0.75) await read("to answer", "/desk", therapist);
      else if (share < 0.85) await read("history", "/family/history", sender.cookie);
      else await read("health", "/api/health", "");
    }
  };
  await Promise.all(Array.from({ length: PEOPLE_AT_ONCE }, person));
  const lost = [...(await missingFrom(practice, acknowledged)), ...brokenIn(practice)];
  const spread = [...times].map(([kind, ms]) => [`${kind}, n / p50 / p95 ms`, spreadOf(ms)]);
  return {
    figures: {
      seed, seconds, ...count, photos: acknowledged.photos.length, sets: acknowledged.sets.length, answers: acknowledged.answers.length,
      errors: errors.length, lost: lost.length, ...Object.fromEntries(spread),
    },
    losses: [...errors, ...lost],
  };
}

function spreadOf(ms: readonly number[]): string {
  const sorted = [...ms].sort((a, b) => a - b);
  const at = (share: number): number => Math.round(sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0);
  return `${sorted.length} / ${at(0.5)} / ${at(0.95)}`;
}
