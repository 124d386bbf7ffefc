import { registryPhoto } from "@/tests/photos/sources";
import { answerAct, done, isLineLost, photoAct, setAct, type Act } from "@/tests/proofs/acts";
import { ageFiles, brokenIn, missingFrom, nothingYet, strays, type Acknowledged } from "@/tests/proofs/kept";
import { newId, storedIn, type Practice, type Sender } from "@/tests/proofs/practice";
import { decodersOf, isAlive } from "@/tests/proofs/processes";
import { between, chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const PHOTOS = ["jpeg-exif/test/IMG_0001.JPG", "jpeg-exif/test/IMG_0003.JPG", "exif/test/short-ascii-II.jpg", "exif/test/evil1.jpg"];
const FAMILIES_AT_ONCE = 3;
const DECODER_LEAVES_MS = 5000;
const BEGINS_MS = 30_000;

/** A set on its way: what it still needs, and the act whose answer was lost. */
type Way = { readonly sender: Sender; readonly setId: string; photoId: string | null; inHand: Act | null };

/**
 * Families send and a therapist answers until the server is killed at a chosen moment. After the next
 * start everything acknowledged must be there and nothing half; what was in hand is then asked again
 * under its key and must happen exactly once.
 */
export async function kills(practice: Practice, { rounds, seed }: { readonly rounds: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const photos = PHOTOS.map(registryPhoto);
  const [senders, therapist] = [await practice.senders(), await practice.signIn("Tom Ferrant")];
  const losses: string[] = [];
  const all = nothingYet();
  const count = { inHand: 0, committedUnsaid: 0, filesCleared: 0 };
  for (let round = 1; round <= rounds; round += 1) {
    practice.letADayPass();
    const acknowledged = nothingYet();
    const ways: Way[] = [];
    const toAnswer: Way[] = [];
    const dead = { is: false };
    const ended = (error: unknown): void => {
      if (!isLineLost(error)) losses.push(`round ${round}: ${error instanceof Error ? error.message : "unknown"}`);
    };
    const family = async (): Promise<void> => {
      while (!dead.is) {
        const way: Way = { sender: oneOf(random, senders), setId: newId(), photoId: null, inHand: null };
        ways.push(way);
        await send(practice, way, oneOf(random, photos), acknowledged);
        toAnswer.push(way);
      }
    };
    const desk = async (): Promise<void> => {
      while (!dead.is) {
        const way = toAnswer.shift();
        if (!way) await pause(20);
        else await keep(way, answerAct(practice, therapist, way.sender, way.setId), acknowledged);
      }
    };
    const working = [...Array.from({ length: FAMILIES_AT_ONCE }, family), desk()].map((each) => each.catch(ended));
    // On any machine, slow or quick, something of each kind is at stake when the moment comes.
    await oneOfEach(acknowledged);
    await pause(between(random, 0, 2500));
    // Every other round the moment is the one between files and row.
    if (round % 2 === 0) await fileAppears(practice);
    const decoders = decodersOf(practice.pid);
    dead.is = true;
    await practice.end("SIGKILL");
    await Promise.all(working);
    losses.push(...(await stillThere(decoders)).map((pid) => `round ${round}: decoder ${pid} outlived its server`));
    ageFiles(practice);
    await practice.start();

    const swept = practice.swept();
    count.filesCleared += swept.removed;
    if (swept.missing + swept.held > 0) losses.push(`round ${round}: the sweep misses ${swept.missing} and holds ${swept.held}`);
    losses.push(...strays(practice).map((path) => `round ${round}: file without row ${path}`), ...brokenIn(practice), ...(await missingFrom(practice, acknowledged)));
    for (const way of ways) {
      const act = way.inHand;
      if (!act) continue;
      count.inHand += 1;
      if (practice.rows("select 1 from acts_done where key = ?", act.key).length > 0) count.committedUnsaid += 1;
      await resume(practice, way, acknowledged).catch(ended);
    }
    losses.push(...(await missingFrom(practice, acknowledged)));
    for (const kind of ["photos", "sets", "answers"] as const) (all[kind] as unknown[]).push(...acknowledged[kind]); // the same kind on both sides
  }
  // Once more at the end: no later round may have undone an earlier one.
  losses.push(...(await missingFrom(practice, all)), ...brokenIn(practice));
  const { photos: { length: photosKept }, sets: { length: setsKept }, answers: { length: answersKept } } = all;
  return { figures: { rounds, seed, photos: photosKept, sets: setsKept, answers: answersKept, ...count, lost: losses.length }, losses };
}

async function send(practice: Practice, way: Way, photo: Buffer, into: Acknowledged): Promise<void> {
  const taken = await keep(way, photoAct(practice, way.sender, way.setId, photo), into);
  way.photoId = storedIn(taken).photoId;
  await keep(way, setAct(practice, way.sender, way.setId, way.photoId), into);
}

/** Does an act and remembers it as in hand for as long as its answer has not come. */
async function keep(way: Way, act: Act, into: Acknowledged) {
  way.inHand = act;
  const answer = await done(act, into);
  way.inHand = null;
  return answer;
}

/** Asks again under the same key, and finishes the set where its photo was in hand. */
async function resume(practice: Practice, way: Way, into: Acknowledged): Promise<void> {
  const act = way.inHand;
  if (!act) return;
  const answer = await keep(way, act, into);
  if (act.kind === "photo") await keep(way, setAct(practice, way.sender, way.setId, storedIn(answer).photoId), into);
}

async function oneOfEach({ photos, sets, answers }: Acknowledged): Promise<void> {
  const until = Date.now() + BEGINS_MS;
  while ([photos, sets, answers].some((kind) => kind.length === 0) && Date.now() < until) await pause(20);
}

/** Waits for the next media file to be written, for two seconds at most. */
async function fileAppears(practice: Practice): Promise<void> {
  const [before, until] = [practice.mediaOnDisk().length, Date.now() + 2000];
  while (practice.mediaOnDisk().length <= before && Date.now() < until) await pause(1);
}

async function stillThere(pids: readonly number[]): Promise<readonly number[]> {
  const until = Date.now() + DECODER_LEAVES_MS;
  while (pids.some(isAlive) && Date.now() < until) await pause(100);
  return pids.filter(isAlive);
}
