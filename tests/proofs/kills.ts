import { registryPhoto } from "@/tests/photos/sources";
import { answerAct, done, erasureAct, exportAct, isLineLost, photoAct, setAct, voiceAct, voiceNoteIn, type Act } from "@/tests/proofs/acts";
import { ageFiles, brokenIn, missingFrom, nothingYet, strays, type Acknowledged } from "@/tests/proofs/kept";
import { newId, storedIn, type Practice, type Sender } from "@/tests/proofs/practice";
import { decodersOf, isAlive } from "@/tests/proofs/processes";
import { between, chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";
import { browserWebm } from "@/tests/voice/recordings";

const PHOTOS = ["jpeg-exif/test/IMG_0001.JPG", "jpeg-exif/test/IMG_0003.JPG", "exif/test/short-ascii-II.jpg", "exif/test/evil1.jpg"];
const FAMILIES_AT_ONCE = 3;
const DECODER_LEAVES_MS = 5000;
const BEGINS_MS = 60_000;
const ARCHIVE_MS = 120_000;

/** An archive is let go when the next one is asked for, so that one is looked at in its own round alone. */
const KEPT_KINDS = ["photos", "sets", "voices", "answers", "erased"] as const;

/** What there is in every round; what is erased was kept in an earlier one. */
const FIRST_KINDS = ["photos", "sets", "voices", "answers", "exports"] as const;

/** A set on its way: what it still needs, and the act whose answer was lost. */
type Way = { readonly sender: Sender; readonly setId: string; photoId: string | null; inHand: Act | null };

/**
 * Families send and ask for archives, a therapist answers with spoken notes, the lead erases photos of earlier rounds,
 * until the server is killed at a chosen moment. After the next start everything acknowledged must be there (or gone,
 * where it was erased) and nothing half; what was in hand is then asked again under its key and must happen exactly once.
 */
export async function kills(practice: Practice, { rounds, seed }: { readonly rounds: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const photos = PHOTOS.map(registryPhoto);
  const sound = browserWebm();
  const [senders, therapist, lead] = [await practice.senders(), await practice.signIn("Tom Ferrant"), await practice.signIn("Ines Calloway")];
  const losses: string[] = [];
  const all = nothingYet();
  const count = { inHand: 0, committedUnsaid: 0, filesCleared: 0, archivesMadeAnew: 0 };
  const counted = { photos: 0, sets: 0, voices: 0, answers: 0, erased: 0, exports: 0 };
  for (let round = 1; round <= rounds; round += 1) {
    practice.letADayPass();
    practice.letAllProve();
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
        else {
          const voice = await keep(way, voiceAct(practice, therapist, way.sender, way.setId, sound), acknowledged);
          await keep(way, answerAct(practice, therapist, way.sender, way.setId, voiceNoteIn(voice)), acknowledged);
        }
      }
    };
    const asking = senders.filter((_, at) => at % 3 === round % 3);
    /** What is erased is no longer among what must be there, from when it is asked. */
    const erasing = async (): Promise<void> => {
      while (!dead.is) {
        // An archive is let go with a photo in it, so that nobody whose archive is made has one erased meanwhile.
        const at = all.photos.findIndex(({ place }) => !asking.includes(place.sender));
        const [photo] = at < 0 ? [] : all.photos.splice(at, 1);
        if (!photo) return;
        // A set left without a picture and without an answer is void, and a note that waited for that answer is heard no more.
        const isAnswered = all.answers.some(({ setId }) => setId === photo.place.setId);
        if (!isAnswered) all.voices.splice(0, all.voices.length, ...all.voices.filter(({ setId }) => setId !== photo.place.setId));
        const way: Way = { sender: photo.place.sender, setId: photo.place.setId, photoId: photo.stored.photoId, inHand: null };
        ways.push(way);
        await keep(way, erasureAct(practice, lead, photo), acknowledged);
        await pause(between(random, 100, 600));
      }
    };
    const archives = async (): Promise<void> => {
      for (const sender of asking) {
        const way: Way = { sender, setId: newId(), photoId: null, inHand: null };
        ways.push(way);
        await keep(way, exportAct(practice, sender), acknowledged);
      }
    };
    const working = [...Array.from({ length: FAMILIES_AT_ONCE }, family), desk(), erasing(), archives()].map((each) => each.catch(ended));
    // On any machine, slow or quick, something of each kind is at stake when the moment comes.
    await oneOfEach(acknowledged, round === 1 ? FIRST_KINDS : [...FIRST_KINDS, "erased"]);
    await pause(between(random, 0, 2500));
    // In turn the moment is the one between files and row, the one in the middle of an archive, and any.
    if (round % 3 === 0) await appears(() => practice.mediaOnDisk().length);
    else if (round % 3 === 1) await appears(() => practice.archivesOnDisk().length);
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
    // Archives are made anew from the beginning, and what lies about of the ones before is cleared first.
    count.archivesMadeAnew += practice.rows("select 1 from child_exports where begun > 0 and made_at is null and gone_at is null").length;
    await archivesMade(practice);
    // The start itself clears what is left of archives, beside the first requests.
    for (let look = 0; look < 100 && strays(practice).length > 0; look += 1) await pause(100);
    losses.push(...strays(practice).map((path) => `round ${round}: file without row ${path}`), ...brokenIn(practice), ...(await missingFrom(practice, acknowledged)));
    for (const way of ways) {
      const act = way.inHand;
      if (!act) continue;
      count.inHand += 1;
      if (practice.rows("select 1 from acts_done where key = ?", act.key).length > 0) count.committedUnsaid += 1;
      await resume(practice, way, acknowledged).catch(ended);
    }
    await archivesMade(practice);
    losses.push(...(await missingFrom(practice, acknowledged)));
    for (const kind of KEPT_KINDS) (all[kind] as unknown[]).push(...acknowledged[kind]); // the same kind on both sides
    for (const kind of [...KEPT_KINDS, "exports"] as const) counted[kind] += acknowledged[kind].length;
  }
  // Once more at the end: no later round may have undone an earlier one.
  losses.push(...(await missingFrom(practice, all)), ...brokenIn(practice));
  return { figures: { rounds, seed, ...Object.fromEntries([...KEPT_KINDS, "exports" as const].map((kind) => [kind, counted[kind]])), ...count, lost: losses.length }, losses };
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

async function oneOfEach(into: Acknowledged, kinds: readonly (keyof Acknowledged)[]): Promise<void> {
  const until = Date.now() + BEGINS_MS;
  while (kinds.some((kind) => into[kind].length === 0) && Date.now() < until) await pause(20);
}

/** Waits until there is one more of them, for three seconds at most. */
async function appears(howMany: () => number): Promise<void> {
  const [before, until] = [howMany(), Date.now() + 3000];
  while (howMany() <= before && Date.now() < until) await pause(1);
}

async function archivesMade(practice: Practice): Promise<void> {
  const until = Date.now() + ARCHIVE_MS;
  const open = "select 1 from child_exports where made_at is null and failed_at is null and gone_at is null union all select 1 from erased_files";
  while (practice.rows(open).length > 0 && Date.now() < until) await pause(100);
}

async function stillThere(pids: readonly number[]): Promise<readonly number[]> {
  const until = Date.now() + DECODER_LEAVES_MS;
  while (pids.some(isAlive) && Date.now() < until) await pause(100);
  return pids.filter(isAlive);
}
