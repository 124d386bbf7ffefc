import { photo24Mp, registryPhoto } from "@/tests/photos/sources";
import { isLineLost, isShed, photoAct, Refused, setAct, type Act } from "@/tests/proofs/acts";
import { openCuttingLine, type Cut, type CuttingLine } from "@/tests/proofs/cutting-line";
import { brokenIn, missingFrom, nothingYet, strays, type Acknowledged } from "@/tests/proofs/kept";
import { newId, storedIn, type Practice } from "@/tests/proofs/practice";
import { between, chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const LINES = 3;
const MOST_TRIES = 200;
const FORM_BYTES = 2500;
/** A family may send 30 photos a day; there are seven. */
const PHOTOS_A_DAY = 120;

/**
 * Photos and their sets go over a line that is cut at random places, asked again under the same key
 * until they arrive. Each must be made once, none twice, none lost.
 */
export async function drops(practice: Practice, { photos: wanted, seed }: { readonly photos: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const kinds = [registryPhoto("jpeg-exif/test/IMG_0001.JPG"), registryPhoto("jpeg-exif/test/IMG_0003.JPG"), registryPhoto("exif/test/short-ascii-II.jpg"), photo24Mp()];
  const senders = await practice.senders();
  const acknowledged = nothingYet();
  const losses: string[] = [];
  const places: string[] = [];
  const count = { tries: 0, committedUnsaid: 0 };
  const lines = await Promise.all(Array.from({ length: LINES }, () => openCuttingLine(practice.port)));
  const work = async (line: CuttingLine): Promise<void> => {
    while (places.length < wanted) {
      if (places.length % PHOTOS_A_DAY === 0) practice.letADayPass();
      const [sender, setId] = [senders[places.length % senders.length], newId()];
      if (!sender) throw new Error("nobody may send");
      places.push(setId);
      // One photo in eight is of 24 megapixels and 6.6 MB.
      const photo = random() < 1 / 8 ? kinds[3] : oneOf(random, kinds.slice(0, 3));
      const stored = await arrive(line, photoAct(practice, sender, setId, photo ?? Buffer.alloc(0), line.port), photo?.length ?? 0);
      await arrive(line, setAct(practice, sender, setId, storedIn(stored).photoId, line.port), FORM_BYTES);
    }
  };
  const arrive = async (line: CuttingLine, act: Act, bytes: number) => {
    const { answer, tries, committedUnsaid } = await untilSaid(practice, line, act, () => cutFor(random, bytes), acknowledged);
    count.tries += tries;
    count.committedUnsaid += committedUnsaid;
    return answer;
  };
  await Promise.all(lines.map((line) => work(line).catch((error: unknown) => {
    losses.push(error instanceof Error ? error.message : "unknown");
  })));
  for (const line of lines) line.close();
  // A try that was cut off may still be at work for a moment; what it stored goes with it.
  for (let look = 0; look < 100 && strays(practice).length > 0; look += 1) await pause(100);
  losses.push(...strays(practice).map((path) => `file without row ${path}`));
  losses.push(...(await missingFrom(practice, acknowledged)), ...brokenIn(practice));
  const rowsAt = (query: string, id: string): number => practice.rows(query, id).length;
  const made = places.filter((id) => rowsAt("select 1 from photos where photo_set_id = ?", id) === 1).length;
  const doubled = places.filter((id) => rowsAt("select 1 from photos where photo_set_id = ?", id) > 1 || rowsAt("select 1 from audit_entries where act = 'photo-set.sent' and object_id = ?", id) > 1).length;
  if (made !== wanted || doubled > 0 || acknowledged.sets.length !== wanted) losses.push(`made ${made} of ${wanted}, doubled ${doubled}, sets ${acknowledged.sets.length}`);
  const cut = (way: "there" | "back"): number => lines.reduce((sum, line) => sum + line.cuts[way], 0);
  return { figures: { seed, made, doubled, lost: losses.length, ...count, cutOnTheWay: cut("there"), cutOnTheWayBack: cut("back") }, losses };
}

/** A third on the way there, a third on the way back, where the server may already have done it. */
function cutFor(random: () => number, bytes: number): Cut {
  const share = random();
  if (share < 0.4) return { there: between(random, 0, bytes), back: null };
  return share < 0.7 ? { there: null, back: between(random, 0, 300) } : { there: null, back: null };
}

async function untilSaid(practice: Practice, line: CuttingLine, act: Act, cut: () => Cut, into: Acknowledged) {
  let committedUnsaid = 0;
  for (let tries = 1; tries <= MOST_TRIES; tries += 1) {
    line.cutNext(cut());
    try {
      const answer = await act.ask();
      if (act.isYes(answer)) {
        act.note(answer, into);
        return { answer, tries, committedUnsaid };
      }
      if (!isShed(answer)) throw new Refused(act, answer);
    } catch (error) {
      if (!isLineLost(error)) throw error;
      if (practice.rows("select 1 from acts_done where key = ?", act.key).length > 0) committedUnsaid = 1;
    }
    await pause(20);
  }
  throw new Error(`${act.kind} did not arrive in ${MOST_TRIES} tries`);
}
