import { execFile } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { CreateBucketCommand, PutBucketVersioningCommand, S3Client } from "@aws-sdk/client-s3";
import { startOwn } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { root } from "@/lib/cli/ready.mjs";
import { openBucket } from "@/lib/media/bucket";
import { registryPhoto } from "@/tests/photos/sources";
import { namedServer, startSwift, whyNoSwift, type ObjectServer } from "@/tests/proofs/object-server";
import { isDone, isTaken, newId, Practice, refusedAs, sha256, storedIn, type Sender } from "@/tests/proofs/practice";
import type { Report } from "@/tests/proofs/report";

const PHOTO = "jpeg-exif/test/IMG_0001.JPG";
/** Every stored file begins with it, sealed as it is. */
const MAGIC = "TSMF";

/**
 * A served app whose media lie in a real S3-compatible server: photos by the real routes, the store halted under it, the
 * server killed, backup and restore, a change of key, and what must be refused at a start.
 */
export async function bucket({ sets }: { readonly sets: number }): Promise<Report> {
  const why = process.env["PROOF_BUCKET_ENDPOINT"] ? null : whyNoSwift();
  if (why) return { figures: { sets: 0 }, losses: [why] };
  const store = namedServer() ?? await startSwift();
  try {
    if (store.isOurs) await clientOf(store).send(new CreateBucketCommand({ Bucket: store.settings.name }));
    const practice = await Practice.open(undefined, settingsOf(store));
    try {
      return await check(practice, store, sets);
    } finally {
      await practice.close();
    }
  } finally {
    await store.stop();
  }
}

async function check(practice: Practice, store: ObjectServer, sets: number): Promise<Report> {
  const losses: string[] = [];
  const expect = (what: string, isSo: boolean, seen: unknown = ""): void => void (isSo || losses.push(`${what}: ${String(seen)}`));
  const senders = await practice.senders();
  const sent: string[] = [];
  const began = performance.now();
  for (let n = 0; n < sets; n += 1) {
    const sender = senders[n % senders.length];
    if (sender) sent.push(...await sendOne(practice, sender));
    practice.letADayPass();
  }
  const msASet = Math.round((performance.now() - began) / sets);
  expect("a photo set was not taken", sent.length === sets, sent.length);
  expect("a photo lies in the data folder", !existsSync(join(practice.dataDir, "media")));
  const pictures = await losesOf(practice, store, senders, losses);

  // Halted under the server: nothing is acknowledged, nothing is lost, and pages of words go on.
  const [sender] = senders;
  if (sender && store.isOurs) {
    const photo = registryPhoto(PHOTO);
    const place = { sender, setId: newId(), ordinal: 1, key: newId() };
    store.halt();
    const [refused, page, ready] = await Promise.all([practice.upload(place, photo), practice.ask("/family", sender.cookie), practice.ask("/api/ready", "")]);
    expect("a photo for a store that does not answer is not refused kindly", refused.status === 503 && refusedAs(refused) === "storage-away" && refused.headers["retry-after"] !== undefined, `${refused.status} ${refused.body.slice(0, 200)}`);
    expect("the first page does not come without the store", page.status === 200, page.status);
    expect("the server calls itself ready without the store", ready.status === 503, ready.status);
    await practice.end("SIGKILL");
    await practice.start();
    expect("the app does not start again without the store", (await practice.ask("/sign-in", "")).status === 200);
    store.goOn();
    const again = await practice.upload(place, photo);
    expect("the same photo is not taken once the store is back", isTaken(again), `${again.status} ${again.body.slice(0, 200)}`);
  }

  // Killed while families send.
  const sending = senders.map((each) => sendOne(practice, each).catch(() => []));
  await Promise.race(sending);
  await practice.end("SIGKILL");
  sent.push(...(await Promise.all(sending)).flat());
  await practice.start();
  expect("a file is missing after a kill", practice.swept().missing === 0, practice.swept().missing);
  for (const id of sent) expect("an acknowledged set is gone", practice.rows("select id from photo_sets where id = ? and sent_at is not null", id).length === 1, id);

  await practice.end("SIGTERM");
  await commands(practice, store, losses);
  await practice.start();
  await losesOf(practice, store, await practice.senders(), losses);
  return { figures: { sets: sent.length, pictures, msASet, objects: (await objectsIn(store)).length, failed: losses.length }, losses };
}

/** Every row has its object and no object holds a plain byte; what a family is shown is what was stored. Gives how many pictures were looked at. */
async function losesOf(practice: Practice, store: ObjectServer, senders: readonly Sender[], losses: string[]): Promise<number> {
  const bucketOf = openBucket(store.settings);
  const rows = practice.rows("select file_id as fileId, child_id as childId, photo_id as photoId, kind, sha256 from media_files");
  for (const { fileId } of rows) {
    const object = await bucketOf.get(`media/${String(fileId)}`);
    if (object?.bytes.toString("latin1", 0, MAGIC.length) !== MAGIC) losses.push(`a row without a sealed object: ${String(fileId)}`);
  }
  let looked = 0;
  for (const { childId, photoId, kind, sha256: hash } of rows) {
    const sender = senders.find((each) => each.childId === childId);
    if (!sender || kind !== "1024" || !practice.rows("select id from photos where id = ? and removed_at is null", photoId).length) continue;
    const answer = await fetch(`${practice.origin}/media/${String(childId)}/${String(photoId)}/1024`, { headers: { Cookie: sender.cookie } });
    if (answer.status === 404) continue;
    looked += 1;
    if (answer.status !== 200 || sha256(new Uint8Array(await answer.arrayBuffer())) !== hash) losses.push(`a picture is not what was stored: ${answer.status}`);
  }
  if (looked === 0) losses.push("no picture was looked at");
  return looked;
}

async function commands(practice: Practice, store: ObjectServer, losses: string[]): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "trueside-bucket-proof-"));
  const inBucket = { DATA_DIR: practice.dataDir, ...settingsOf(store) };
  const expect = async (what: string, ran: Promise<Ran>, code: number, sentence = /(?:)/): Promise<Ran> => {
    const { code: ended, said } = await ran;
    if (ended !== code || !sentence.test(said)) losses.push(`${what}: ended with ${ended}, ${said}`);
    return { code: ended, said };
  };
  try {
    await expect("verify", command("verify", [], inBucket), 0);
    await expect("verify without the settings", command("verify", [], { DATA_DIR: practice.dataDir }), 1, /lie in a bucket: set BUCKET/);
    const { said } = await expect("backup", command("backup", [join(folder, "backups")], inBucket), 0);
    const key = /^(?:[0-9A-Z]{4}-){13}[0-9A-Z]{4}$/m.exec(said)?.[0] ?? "";
    await expect("restore into a folder", command("restore", [join(folder, "backups"), join(folder, "restored")], { BACKUP_KEY: key }), 0, /Nothing is wrong/);
    await expect("restore into the practice's own bucket", command("restore", [join(folder, "backups"), join(folder, "copy")], { BACKUP_KEY: key, ...settingsOf(store) }), 1, /another practice or copy/);
    await expect("rotate-key", command("rotate-key", [], inBucket), 0);
    await expect("verify after it", command("verify", [], inBucket), 0, /Nothing is wrong/);
    await expect("another folder's start with this bucket", started({ DATA_DIR: join(folder, "other"), ...settingsOf(store) }), 1, /another practice or copy/);
    if (!store.isOurs) return;
    await clientOf(store).send(new CreateBucketCommand({ Bucket: "with-versions" }));
    await clientOf(store).send(new PutBucketVersioningCommand({ Bucket: "with-versions", VersioningConfiguration: { Status: "Enabled" } }));
    await expect("a bucket that keeps versions", started({ DATA_DIR: join(folder, "versions"), ...settingsOf(store), BUCKET: "with-versions" }), 1, /keeps older versions/);
    await expect("a bucket that is not there", started({ DATA_DIR: join(folder, "none"), ...settingsOf(store), BUCKET: "no-such-bucket" }), 1, /no bucket of this name/);
    await expect("a key that is not known", started({ DATA_DIR: join(folder, "key"), ...settingsOf(store), BUCKET_KEY_ID: "nobody:known" }), 1, /refuses the key/);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function sendOne(practice: Practice, sender: Sender): Promise<readonly string[]> {
  const setId = newId();
  const answer = await practice.upload({ sender, setId, ordinal: 1, key: newId() }, registryPhoto(PHOTO));
  if (!isTaken(answer)) return [];
  return isDone(await practice.finish(sender, setId, [storedIn(answer).photoId], newId())) ? [setId] : [];
}

async function objectsIn(store: ObjectServer): Promise<readonly string[]> {
  const keys: string[] = [];
  for await (const { key } of openBucket(store.settings).list("media/")) keys.push(key);
  return keys;
}

function settingsOf({ settings }: ObjectServer): Readonly<Record<string, string>> {
  const { name, endpoint, region, keyId, secretFile } = settings;
  return { BUCKET: name, BUCKET_ENDPOINT: endpoint, BUCKET_REGION: region, BUCKET_KEY_ID: keyId, BUCKET_SECRET_FILE: secretFile };
}

const clientOf = ({ settings: { endpoint, region, keyId, secretFile } }: ObjectServer): S3Client =>
  new S3Client({ endpoint, region, forcePathStyle: true, credentials: { accessKeyId: keyId, secretAccessKey: readFileSync(secretFile, "utf8").trim() } });

type Ran = { readonly code: number; readonly said: string };

/** One of our commands, as whoever runs the server types it. */
const command = (name: "backup" | "restore" | "verify" | "rotate-key", args: readonly string[], env: Readonly<Record<string, string>>): Promise<Ran> => new Promise((resolve) => {
  execFile(process.execPath, [join(root, "lib/cli", `${name}.mjs`), ...args], { cwd: root, env: { ...process.env, BACKUP_KEY: "", ...env } }, (error, out, err) => {
    resolve({ code: error ? (typeof error.code === "number" ? error.code : 1) : 0, said: `${out}${err}` });
  });
});

/** A start that is meant to be refused. */
async function started(env: Readonly<Record<string, string>>): Promise<Ran> {
  const server = startOwn({ PORT: String(await freePort()), DEMO: "1", ...env });
  if (await server.ready) server.process.kill("SIGTERM");
  const { code, out, err } = await server.ended;
  return { code: code ?? 0, said: `${out}${err}` };
}
