import { connect, type Socket } from "node:net";
import sharp from "sharp";
import { isShed } from "@/tests/proofs/acts";
import { isTaken, newId, type Practice, type Sender } from "@/tests/proofs/practice";
import { pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

/** Of each kind, at once. */
const SLOW = 200;
const DRIP_MS = 5000;
/** Past the app's own limits of 10 s for headers and 60 s for a body, and how often it looks. */
const CUT_BY_MS = { header: 20_000, body: 80_000 } as const;

/** Past the ten seconds after which a crawling body gives way, with the time a photo takes on a busy machine. */
const PHOTO_BY_MS = 30_000;

type Way = { readonly socket: Socket; readonly began: number; closedAfter: number | null; first: string };

/**
 * Two hundred clients that send a header, two hundred that send a body, one byte in five seconds each, and two hundred that ask for a photo and do
 * not read it, all at once, with nothing before the app. Somebody else goes on reading, each slow one is cut off, and a photo sent meanwhile
 * gets one of their places, though they hold all of them.
 */
export async function slow(practice: Practice): Promise<Report> {
  const [sender] = await practice.senders();
  if (!sender) throw new Error("nobody may send");
  const [photo] = practice.rows("select photo_id as id from media_files where child_id = ? and kind = '2048' limit 1", sender.childId);
  const host = `Host: ${new URL(practice.origin).host}\r\nOrigin: ${practice.origin}\r\nCookie: ${sender.cookie}`;
  const times: number[] = [];
  const losses: string[] = [];
  const count = { read: 0, shed: 0, "slow ones turned away at once": 0 };
  const calm = await readings(practice, sender.cookie, 20, count, losses);
  const headers = Array.from({ length: SLOW }, () => begin(practice.port, `GET /family HTTP/1.1\r\n${host}\r\nX-Slow: `));
  const query = (): string => new URLSearchParams({ set: newId(), exercise: "side-lying", ordinal: "1", view: "behind" }).toString();
  const bodies = Array.from({ length: SLOW }, () => begin(practice.port, `POST /api/photos/${sender.childId}?${query()} HTTP/1.1\r\n${host}\r\nIdempotency-Key: ${newId()}\r\nContent-Length: 10000000\r\n\r\n`));
  const readers = Array.from({ length: SLOW }, () => begin(practice.port, `GET /media/${sender.childId}/${String(photo?.["id"])}/2048 HTTP/1.1\r\n${host}\r\n\r\n`, true));
  const drip = setInterval(() => {
    for (const { socket } of [...headers, ...bodies]) if (socket.writable) socket.write("a");
  }, DRIP_MS);
  const photoMs = sendMeanwhile(practice, sender);
  const until = Date.now() + CUT_BY_MS.body + 10_000;
  while (Date.now() < until && [...headers, ...bodies].some(({ closedAfter }) => closedAfter === null)) {
    times.push(...(await readings(practice, sender.cookie, 1, count, losses)));
    await pause(250);
  }
  clearInterval(drip);
  const tookMs = await photoMs;
  if (tookMs === null || tookMs > PHOTO_BY_MS) losses.push("a photo sent meanwhile was not taken in time");
  for (const [kind, ways] of [["header", headers], ["body", bodies]] as const) {
    const late = ways.filter(({ closedAfter }) => closedAfter === null || closedAfter > CUT_BY_MS[kind]);
    if (late.length > 0) losses.push(`${late.length} of ${ways.length} with a slow ${kind} were not cut off`);
  }
  count["slow ones turned away at once"] = bodies.filter(({ first }) => / 503 /.test(first.slice(0, 20))).length;
  for (const { socket } of readers) socket.destroy();
  const health = await practice.ask("/api/health", "");
  if (health.status !== 200) losses.push(`afterwards the server answers ${health.status}`);
  if (count.read === 0) losses.push("nobody else was answered");
  const cut = (ways: readonly Way[]): string => `${Math.round(Math.max(...ways.map(({ closedAfter }) => closedAfter ?? 0)) / 1000)} s`;
  return { figures: { "slow clients": SLOW * 3, ...count, "p95 before": `${p95(calm)} ms`, "p95 meanwhile": `${p95(times)} ms`, "headers cut by": cut(headers), "bodies cut by": cut(bodies), "a photo meanwhile after": tookMs === null ? "never" : `${(tookMs / 1000).toFixed(1)} s`, lost: losses.length }, losses };
}

function begin(port: number, bytes: string, isPaused = false): Way {
  const began = Date.now();
  const socket = connect(port, "127.0.0.1", () => socket.write(bytes));
  const way: Way = { socket, began, closedAfter: null, first: "" };
  if (isPaused) socket.pause();
  else socket.setEncoding("latin1").on("data", (text: string) => (way.first ||= text));
  socket.on("error", () => undefined).on("close", () => (way.closedAfter = Date.now() - began));
  return way;
}

/** As a phone's queue does: turned away, it comes again in two seconds. Null when it was never taken. */
async function sendMeanwhile(practice: Practice, sender: Sender): Promise<number | null> {
  const photo = await sharp({ create: { width: 640, height: 480, channels: 3, background: "#888" } }).jpeg().toBuffer();
  const place = { sender, setId: newId(), ordinal: 1, key: newId() };
  const began = Date.now();
  while (Date.now() - began < CUT_BY_MS.body) {
    const answer = await practice.upload(place, photo).catch(() => null);
    if (answer && isTaken(answer)) return Date.now() - began;
    await pause(2000);
  }
  return null;
}

/** Somebody reads a page so many times; turned away with a time to come again is no loss. */
async function readings(practice: Practice, cookie: string, times: number, count: { read: number; shed: number }, losses: string[]): Promise<readonly number[]> {
  const took: number[] = [];
  for (let left = times; left > 0; left -= 1) {
    const began = performance.now();
    try {
      const answer = await practice.ask("/family", cookie);
      took.push(performance.now() - began);
      if (answer.status === 200) count.read += 1;
      else if (isShed(answer)) count.shed += 1;
      else losses.push(`another reader gets ${answer.status}`);
    } catch {
      losses.push("another reader's line is lost");
    }
  }
  return took;
}

const p95 = (ms: readonly number[]): number => Math.round([...ms].sort((one, other) => one - other)[Math.min(ms.length - 1, Math.floor(ms.length * 0.95))] ?? 0);
