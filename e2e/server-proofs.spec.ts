import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import sharp from "sharp";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { needlesIn } from "@/tests/photos/needles";
import { noiseJpeg, photo24Mp, photoTurned6, photoWithGps } from "@/tests/photos/sources";
import { decoder } from "@/tests/proofs/decoder";
import { drill, swap } from "@/tests/proofs/drill";
import { drops } from "@/tests/proofs/drops";
import { kills } from "@/tests/proofs/kills";
import { queue } from "@/tests/proofs/queue";
import { isDone, isTaken, newId, Practice, refusedAs, sha256, storedIn } from "@/tests/proofs/practice";

// Real servers, killed and cut off: the short, seeded part of what `npm run prove` does at length.
test.describe.configure({ mode: "serial", timeout: 600_000 });

let practice: Practice;
test.beforeAll(async () => {
  test.setTimeout(180_000);
  practice = await Practice.open(fillWithDemo);
});
test.afterAll(() => practice.close());

async function sendOne(photo: Buffer) {
  const [sender] = await practice.senders();
  if (!sender) throw new Error("nobody may send");
  const setId = newId();
  const answer = await practice.upload({ sender, setId, ordinal: 1, key: newId() }, photo);
  expect(isTaken(answer), `${answer.status} ${refusedAs(answer) ?? ""}`).toBe(true);
  return { sender, setId, stored: storedIn(answer) };
}

// A framework's default would cut both short and say nothing.
const LARGE: readonly [string, number, () => Promise<Buffer>][] = [
  ["11 MB, a real photo enlarged", 11e6, () => sharp(photo24Mp()).resize(4250).jpeg({ quality: 100, chromaSubsampling: "4:4:4" }).toBuffer()],
  ["24 MB, noise", 24e6, () => noiseJpeg(2900, 2900)],
];
for (const [name, least, make] of LARGE) {
  test(`a photo of ${name}, arrives to the last byte`, async () => {
    const photo = await make();
    expect(photo.length).toBeGreaterThan(least);
    const { stored } = await sendOne(photo);
    expect(stored).toMatchObject({ receivedBytes: photo.length, sha256: sha256(photo) });
    expect(practice.rows("select received_bytes, received_sha256 from photos where id = ?", stored.photoId))
      .toEqual([{ received_bytes: photo.length, received_sha256: sha256(photo) }]);
  });
}

test("the line is cut again and again: every photo and set is made once, none twice, none lost", async () => {
  const { figures, losses } = await drops(practice, { photos: 5, seed: 11 });
  expect(losses).toEqual([]);
  expect(figures).toMatchObject({ made: 5, doubled: 0, lost: 0 });
  expect(Number(figures["cutOnTheWay"])).toBeGreaterThan(0);
  expect(Number(figures["cutOnTheWayBack"])).toBeGreaterThan(0);
});

test("a phone's queue: lines cut, the app closed and the server killed, every set arrives once and whole", async () => {
  const { figures, losses } = await queue(practice, { sets: 6, kills: 1, seed: 14 });
  expect(losses).toEqual([]);
  expect(figures).toMatchObject({ made: 6, doubled: 0, lost: 0, leftOver: 0, kills: 1 });
  expect(Number(figures["cutOnTheWay"])).toBeGreaterThan(0);
  expect(Number(figures["closed"])).toBeGreaterThan(0);
});

test("a decoder killed in the middle refuses its own photo kindly and harms nothing else", async () => {
  const { figures, losses } = await decoder(practice, { rounds: 4, halts: 0, seed: 12 });
  expect(losses).toEqual([]);
  expect(Number(figures["refusedKindly"])).toBeGreaterThan(0);
});

test("killed in the middle of everything: what was acknowledged is there, and nothing is half", async () => {
  const { figures, losses } = await kills(practice, { rounds: 2, seed: 13 });
  expect(losses).toEqual([]);
  for (const kind of ["photos", "sets", "voices", "answers", "erased", "exports", "inHand"]) expect(Number(figures[kind]), kind).toBeGreaterThan(0);
});

test("twenty codes an hour for one network, whatever addresses a client claims to come from", async () => {
  const codes: (string | null)[] = [];
  for (let n = 1; n <= 21; n += 1) {
    const fields = { once: newId(), email: `nobody${n}@people.example`, goTo: "" };
    const claimed = { "X-Forwarded-For": `198.51.100.${n}`, "X-Real-Ip": `198.51.100.${n}`, "X-Client-Network": `198.51.100.${n}`, Forwarded: `for=198.51.100.${n}` };
    const answer = await practice.act("app/(open)/sign-in/actions.ts#askForCodeAction", "/sign-in", "", fields, claimed);
    codes.push(refusedAs(answer));
  }
  expect(codes).toEqual([...Array.from({ length: 20 }, () => null), "codes-asked-often"]);
  expect(practice.rows("select distinct network_hash is not null as counted from sign_in_codes")).toEqual([{ counted: 1 }]);
});

test("nothing of a photo's maker, model, serial number, date or place is in database, log, mail or console", async () => {
  // No photo in a registry names its camera's serial number in the clear, so one real photo is given one.
  const numbered = await sharp(photo24Mp()).keepExif().withExifMerge({ IFD2: { BodySerialNumber: "SN-04711-0815" } }).jpeg().toBuffer();
  const inputs = [photoTurned6(), photoWithGps(), photo24Mp(), numbered];
  // Four letters could stand by chance in the base64 of a placeholder.
  const needles = (await Promise.all(inputs.map(needlesIn))).flat().filter((needle) => needle.length > 4);
  const words = needles.map((needle) => needle.toString("latin1"));
  expect(words).toEqual(expect.arrayContaining(["Apple", "iPhone 6 Plus", "2016:03:24 14:49:51", "XIAOMI", "ILCE-6000", "SN-04711-0815"]));
  // The two phones' GPS directories, of twelve bytes an entry.
  expect(needles.filter((needle) => needle.length > 60 && needle[0] === 0)).not.toEqual([]);
  for (const needle of needles) expect(inputs.some((input) => input.includes(needle))).toBe(true);

  for (const input of inputs) {
    const { sender, setId, stored } = await sendOne(input);
    expect(isDone(await practice.finish(sender, setId, [stored.photoId], newId()))).toBe(true);
  }
  const mails = () => filesIn("outbox").length;
  await expect.poll(mails, { timeout: 15_000 }).toBeGreaterThan(0);
  const places = [join(practice.dataDir, "trueside.db"), join(practice.dataDir, "trueside.db-wal"), ...filesIn("outbox"), ...filesIn("logs")];
  expect(statSync(join(practice.dataDir, "trueside.db-wal")).size).toBeGreaterThan(0);
  const searched = places.map((path) => [path, readFileSync(path)] as const);
  // The search does find what is there: the hash of what was received is in the database.
  expect(searched.some(([, bytes]) => bytes.includes(sha256(photoTurned6())))).toBe(true);
  const said = await practice.end("SIGTERM");
  expect(said).toContain("Trueside (demo) is at");
  const found = [...searched, ["console", Buffer.from(said)] as const]
    .flatMap(([path, bytes]) => needles.filter((needle) => bytes.includes(needle)).map((needle) => `${path}: ${needle.toString("latin1")}`));
  expect(found).toEqual([]);
  await practice.start();
});

function filesIn(folder: string): readonly string[] {
  const path = join(practice.dataDir, folder);
  return statSync(path, { throwIfNoEntry: false }) ? readdirSync(path).map((name) => join(path, name)) : [];
}

// Last: what comes back has nobody signed in, and then the folder is spoilt on purpose.
test("the server killed and its folder erased: all of it comes back from a backup and the key on paper", async () => {
  const { figures, losses } = await drill(practice, { backups: 1 });
  expect(losses).toEqual([]);
  for (const what of ["sentMeanwhile", "rows", "files"]) expect(Number(figures[what]), what).toBeGreaterThan(0);
});

test("its database exchanged under it, a server ends by itself, and neither mixture nor yesterday's copy is served", async () => {
  const { losses } = await swap(practice);
  expect(losses).toEqual([]);
});
