import type { Answer } from "@/e2e/walk/request";
import { photo24Mp, registryPhoto } from "@/tests/photos/sources";
import { done, photoAct, type Act } from "@/tests/proofs/acts";
import { brokenIn, missingFrom, nothingYet } from "@/tests/proofs/kept";
import { newId, refusedAs, type Practice } from "@/tests/proofs/practice";
import { decodersOf, signal } from "@/tests/proofs/processes";
import { between, chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

/**
 * The photo decoders are killed, or in the last `halts` rounds halted, while a 24-megapixel photo is on
 * its way. Each signal costs at most one photo, refused in words; the next one, and the refused one under
 * the same key, are taken.
 */
export async function decoder(practice: Practice, { rounds, halts, seed }: { readonly rounds: number; readonly halts: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const [large, small] = [photo24Mp(), registryPhoto("jpeg-exif/test/IMG_0003.JPG")];
  const senders = await practice.senders();
  const losses: string[] = [];
  const acknowledged = nothingYet();
  const count = { refusedKindly: 0, takenAllTheSame: 0, signals: 0 };
  practice.letADayPass();
  // The processes start with the first photo.
  await done(photoAct(practice, oneOf(random, senders), newId(), small), acknowledged);
  for (let round = 1; round <= rounds + halts; round += 1) {
    const name = round > rounds ? "SIGSTOP" : "SIGKILL";
    const act = photoAct(practice, oneOf(random, senders), newId(), large);
    const asked = act.ask();
    await pause(between(random, 20, 350));
    const signals = decodersOf(practice.pid).filter((pid) => signal(pid, name)).length;
    count.signals += signals;
    let refusals = 0;
    /** Whether it was taken; a refusal must be kind, and no process may cost more than the one photo it had. */
    const met = (each: Act, answer: Answer): boolean => {
      if (each.isYes(answer)) {
        each.note(answer, acknowledged);
        return true;
      }
      refusals += 1;
      const isKind = answer.status === 422 && refusedAs(answer) === "photo-decoder-stopped";
      if (!isKind || refusals > signals) throw new Error(`round ${round}: refusal ${refusals} after ${signals} signals: ${answer.status} ${refusedAs(answer) ?? ""}`);
      count.refusedKindly += 1;
      return false;
    };
    const untilTaken = async (each: Act): Promise<void> => {
      while (!met(each, await each.ask()));
    };
    try {
      const isTaken = met(act, await asked);
      if (isTaken) count.takenAllTheSame += 1;
      // A process that died or halted while idle may still be handed this one.
      await untilTaken(photoAct(practice, oneOf(random, senders), newId(), small));
      if (!isTaken) await untilTaken(act);
    } catch (error) {
      losses.push(error instanceof Error ? error.message : "unknown");
    }
  }
  losses.push(...(await missingFrom(practice, acknowledged)), ...brokenIn(practice));
  return { figures: { rounds, halts, seed, ...count, photos: acknowledged.photos.length, lost: losses.length }, losses };
}
