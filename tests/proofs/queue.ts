import "fake-indexeddb/auto";
import { pass, type World } from "@/app/family/queue/pass";
import { lastingStore, type Store } from "@/app/family/queue/store";
import { remedyFor, type Entry } from "@/lib/domain/sending/entry";
import { LONGEST_WAIT_MS, woken } from "@/lib/domain/sending/queue";
import { registryPhoto } from "@/tests/photos/sources";
import { isLineLost } from "@/tests/proofs/acts";
import { openCuttingLine, type Cut, type CuttingLine } from "@/tests/proofs/cutting-line";
import { brokenIn } from "@/tests/proofs/kept";
import { newId, sha256, type Practice, type Sender } from "@/tests/proofs/practice";
import { between, chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const LINES = 3;
const MOST_PASSES = 3000;
const PHOTOS = ["jpeg-exif/test/IMG_0001.JPG", "jpeg-exif/test/IMG_0003.JPG", "exif/test/short-ascii-II.jpg"];
/** A family may send 30 photos a day; there are seven. */
const SETS_A_DAY = 40;

/** The app was closed: whatever it was doing, it does no more of it. */
class Closed extends Error {}

type Made = { readonly entry: Entry; readonly hashes: readonly string[] };

/**
 * The phones' own queue, in a database as a browser has one, over lines that are cut at random places, in
 * an app that is closed at random moments, to a server that is killed some times. Each set must be made
 * once, whole, and gone from the phone.
 */
export async function queue(practice: Practice, { sets: wanted, kills, seed }: { readonly sets: number; readonly kills: number; readonly seed: number }): Promise<Report> {
  const random = chance(seed);
  const photos = PHOTOS.map(registryPhoto);
  const senders = await practice.senders();
  const made: Made[] = [];
  const losses: string[] = [];
  const count = { requests: 0, passes: 0, closed: 0, pressed: 0, kills: 0 };
  const clock = { now: Date.now() };
  const inFlight = { n: 0 };
  const lines = await Promise.all(Array.from({ length: LINES }, () => openCuttingLine(practice.port)));

  const worldOf = (sender: Sender, line: CuttingLine): World => ({
    now: () => clock.now,
    async ask({ path, headers, body }) {
      const bytes = typeof body === "string" ? Buffer.from(body) : Buffer.from(body);
      line.cutNext(cutFor(random, bytes.length));
      count.requests += 1;
      inFlight.n += 1;
      const asked = practice.ask(path, sender.cookie, { method: "POST", headers, body: bytes }, line.port).finally(() => {
        inFlight.n -= 1;
      });
      if (random() < 0.06) {
        // The request may still arrive; nobody is there to hear of it.
        asked.catch(() => undefined);
        await pause(between(random, 0, 120));
        throw new Closed();
      }
      try {
        const { status, headers: said, body: text } = await asked;
        return { status, retryAfter: said["retry-after"] === undefined ? null : Number(said["retry-after"]), text };
      } catch (error) {
        if (isLineLost(error)) return null;
        throw error;
      }
    },
  });

  const sendAll = async (line: CuttingLine): Promise<void> => {
    let store = await lastingStore();
    while (made.length < wanted) {
      const sender = senders[made.length % senders.length];
      if (!sender) throw new Error("nobody may send");
      if (made.length % SETS_A_DAY === 0) practice.letADayPass();
      const set = newSet(sender, clock.now, Array.from({ length: between(random, 1, 3) }, () => oneOf(random, photos)));
      made.push(set);
      await store.add(set.entry, set.pictures);
      for (let tries = 0; !(await isSent(store, set.entry.id, clock.now, () => (count.pressed += 1))); tries += 1) {
        if (tries > MOST_PASSES) throw new Error(`set ${set.entry.id} did not arrive`);
        count.passes += 1;
        try {
          await pass(store, worldOf(sender, line), sender.personId, () => undefined);
        } catch (error) {
          if (!(error instanceof Closed)) throw error;
          count.closed += 1;
          store = await lastingStore(); // opened again another time, from what the phone kept
        }
        clock.now += LONGEST_WAIT_MS;
        await pause(20);
      }
    }
  };
  const isOver = { is: false };
  const nemesis = async (): Promise<void> => {
    for (let kill = 1; kill <= kills; kill += 1) {
      while (!isOver.is && (made.length < (kill * wanted) / (kills + 1) || inFlight.n === 0)) await pause(5);
      if (isOver.is) return;
      await pause(between(random, 0, 80));
      await practice.end("SIGKILL");
      count.kills += 1;
      await practice.start();
    }
  };
  const worst = nemesis();
  await Promise.all(lines.map((line) => sendAll(line).catch((error: unknown) => {
    losses.push(error instanceof Error ? error.message : "unknown");
  })));
  isOver.is = true;
  await worst;
  for (const line of lines) line.close();

  const store = await lastingStore();
  const whole = made.filter((set) => isWhole(practice, set));
  const doubled = made.filter(({ entry }) => isDoubled(practice, entry)).length + strangers(practice, made);
  const leftOver = (await Promise.all(made.map(({ entry }) => hasPictures(store, entry)))).filter(Boolean).length;
  const lost = wanted - whole.length;
  if (lost + doubled + leftOver > 0) losses.push(`made ${whole.length} of ${wanted}, doubled ${doubled}, pictures left on the phone ${leftOver}`);
  losses.push(...brokenIn(practice));
  const cut = (way: "there" | "back"): number => lines.reduce((sum, line) => sum + line.cuts[way], 0);
  return { figures: { seed, made: whole.length, doubled, lost, leftOver, ...count, cutOnTheWay: cut("there"), cutOnTheWayBack: cut("back") }, losses };
}

function newSet({ personId, childId, setupId, headX }: Sender, now: number, photos: readonly Buffer[]): Made & { readonly pictures: ReadonlyMap<number, ArrayBuffer> } {
  const none = { noticed: [], isNone: true } as const;
  const prepared = JSON.stringify({ originalBytes: 1, taken: null, offset: null, isMirrored: false, isCovered: false });
  return {
    hashes: photos.map(sha256),
    pictures: new Map(photos.map((photo, at) => [at + 1, new Uint8Array(photo).buffer])),
    entry: {
      form: 1, id: newId(), personId, childId, exerciseKey: "side-lying", setupId, called: "", madeAt: now, report: null, finishKey: newId(), taken: "just-now",
      symptoms: { urgent: none, today: none }, note: "", state: { at: "waiting", because: "new", until: now }, tries: 0, restarts: 0,
      photos: photos.map((_, at) => ({ key: newId(), ordinal: at + 1, view: "behind", head: { x: headX, y: 0.5 }, facing: "back", isSeenTurnedBack: false, prepared, photoId: null })),
    },
  };
}

/** Whether it has arrived. What is refused for now, as by a decoder that a busy machine stopped, a person tries again. */
async function isSent(store: Store, id: string, now: number, pressed: () => void): Promise<boolean> {
  const { state } = (await store.all()).find((each) => each.id === id) ?? {};
  if (state?.at === "refused") {
    if (remedyFor(state.code) !== "again") throw new Error(`refused: ${state.code}`);
    pressed();
    await store.change(id, (entry) => woken(entry, "pressed", now));
  }
  return state?.at === "sent";
}

const hasPictures = async (store: Store, { id, photos }: Entry): Promise<boolean> =>
  (await Promise.all(photos.map(({ ordinal }) => store.picture(id, ordinal)))).some((picture) => picture !== null);

/** Sent, by the person who made it, with each of its photos to the last byte. */
function isWhole(practice: Practice, { entry, hashes }: Made): boolean {
  const set = practice.rows("select sent_at as at, sent_by as person from photo_sets where id = ?", entry.id)[0];
  const there = practice.rows("select received_sha256 as hash from photos where photo_set_id = ? and removed_at is null order by ordinal", entry.id).map(({ hash }) => hash);
  return typeof set?.["at"] === "number" && set["person"] === entry.personId && JSON.stringify(there) === JSON.stringify(hashes);
}

function isDoubled(practice: Practice, { id, photos }: Entry): boolean {
  const live = practice.rows("select 1 from photos where photo_set_id = ? and removed_at is null", id).length;
  return live > photos.length || practice.rows("select 1 from audit_entries where act = 'photo-set.sent' and object_id = ?", id).length > 1;
}

/** Sets that no phone made. */
function strangers(practice: Practice, made: readonly Made[]): number {
  const own = new Set(made.map(({ entry }) => entry.id));
  const begun = Math.min(...made.map(({ entry }) => entry.madeAt));
  return practice.rows("select id from photo_sets where started_at >= ?", begun).filter(({ id }) => !own.has(String(id))).length;
}

/** A third on the way there, a third on the way back, where the server may already have done it. */
function cutFor(random: () => number, bytes: number): Cut {
  const share = random();
  if (share < 0.35) return { there: between(random, 0, bytes), back: null };
  return share < 0.6 ? { there: null, back: between(random, 0, 300) } : { there: null, back: null };
}
