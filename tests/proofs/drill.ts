import { execFile } from "node:child_process";
import { createHash } from "node:crypto";
import { copyFileSync, existsSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import Database from "better-sqlite3";
import { root } from "@/lib/cli/ready.mjs";
import { registryPhoto } from "@/tests/photos/sources";
import { isDone, isTaken, newId, storedIn, type Practice, type Sender } from "@/tests/proofs/practice";
import { pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const PHOTO = "jpeg-exif/test/IMG_0001.JPG";
const AT_ONCE = 3;
const FILLS_PAGES = 12;

type Ran = { readonly code: number; readonly out: string; readonly err: string; readonly seconds: number };

/** One of our commands, as whoever runs the server types it. */
async function command(name: "backup" | "restore" | "verify", args: readonly string[], env: Readonly<Record<string, string>>): Promise<Ran> {
  const began = performance.now();
  return new Promise((resolve) => {
    execFile(process.execPath, [join(root, "lib/cli", `${name}.mjs`), ...args], { cwd: root, env: { ...process.env, ...env } }, (error, out, err) => {
      const code = error ? (typeof error.code === "number" ? error.code : 1) : 0;
      resolve({ code, out, err, seconds: Math.round((performance.now() - began) / 100) / 10 });
    });
  });
}

async function sendOne(practice: Practice, sender: Sender, ids: string[]): Promise<void> {
  const setId = newId();
  const answer = await practice.upload({ sender, setId, ordinal: 1, key: newId() }, registryPhoto(PHOTO));
  if (!isTaken(answer)) return;
  if (isDone(await practice.finish(sender, setId, [storedIn(answer).photoId], newId()))) ids.push(setId);
}

/**
 * A restore drill: backups while families send, the last of them of a still practice; then the server is killed and
 * its folder erased, and everything must come back from the backup and the key on paper alone.
 */
export async function drill(practice: Practice, { backups }: { readonly backups: number }): Promise<Report> {
  const losses: string[] = [];
  const folder = mkdtempSync(join(tmpdir(), "trueside-drill-"));
  try {
    const env = { DATA_DIR: practice.dataDir, BACKUP_KEY: "" };
    const senders = await practice.senders();
    const writer = { isOver: false };
    const sent: string[] = [];
    const sending = senders.slice(0, AT_ONCE).map(async (sender) => {
      while (!writer.isOver) await sendOne(practice, sender, sent);
    });
    let key = "";
    for (let n = 0; n < backups; n += 1) {
      practice.letADayPass();
      const acknowledged = [...sent];
      const made = await command("backup", [folder], env);
      key ||= /^(?:[0-9A-Z]{4}-){13}[0-9A-Z]{4}$/m.exec(made.out)?.[0] ?? "";
      if (made.code !== 0) losses.push(`a backup under load ended with ${made.code}: ${made.err}`);
      losses.push(...await lacking(folder, key, acknowledged));
    }
    writer.isOver = true;
    await Promise.all(sending);
    const last = await command("backup", [folder], env);
    if (last.code !== 0) losses.push(`the last backup ended with ${last.code}: ${last.err}`);
    const before = contentOf(practice);
    await practice.end("SIGKILL");
    rmSync(practice.dataDir, { recursive: true });

    const refused = await command("restore", [folder, practice.dataDir], { BACKUP_KEY: key.replace(/^./, (first) => (first === "Z" ? "Y" : "Z")) });
    if (refused.code !== 1 || existsSync(join(practice.dataDir, "kind"))) losses.push("a wrong key restored something");
    const restored = await command("restore", [folder, practice.dataDir], { BACKUP_KEY: key });
    if (restored.code !== 0) losses.push(`the restore ended with ${restored.code}: ${restored.err}`);
    losses.push(...differences(before, contentOf(practice)));
    const verified = await command("verify", ["--json"], { DATA_DIR: practice.dataDir });
    if (verified.code !== 0) losses.push(`verify found: ${verified.out}`);
    const again = await command("restore", [folder, practice.dataDir], { BACKUP_KEY: key });
    if (again.code !== 1) losses.push("a folder with a practice in it was restored into");

    await practice.start();
    const served = await command("restore", [folder, practice.dataDir], { BACKUP_KEY: key });
    if (served.code !== 1 || !/using/.test(served.err)) losses.push("a served folder was restored into");
    practice.letADayPass();
    const [sender] = await practice.senders();
    const after: string[] = [];
    if (sender) await sendOne(practice, sender, after);
    if (after.length !== 1) losses.push("after the restore a family could not send");
    const rows = Object.values(before.counts).reduce((sum, count) => sum + count, 0);
    return { figures: { backups: backups + 1, sentMeanwhile: sent.length, rows, files: Object.keys(before.files).length, backupSeconds: last.seconds, restoreSeconds: restored.seconds, verifySeconds: verified.seconds }, losses };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What was acknowledged before a backup was begun and is not in it. */
async function lacking(folder: string, key: string, acknowledged: readonly string[]): Promise<readonly string[]> {
  const target = mkdtempSync(join(tmpdir(), "trueside-drill-look-"));
  try {
    const { code, err, out } = await command("restore", [folder, target], { BACKUP_KEY: key });
    if (code !== 0) return [`a backup under load restored with ${code}: ${err}${out}`];
    const db = new Database(join(target, "trueside.db"), { readonly: true });
    const found = new Set(db.prepare("select id from photo_sets where sent_at is not null").pluck().all());
    db.close();
    return acknowledged.filter((id) => !found.has(id)).map((id) => `set ${id} was acknowledged before the backup and is not in it`);
  } finally {
    rmSync(target, { recursive: true, force: true });
  }
}

type Content = { readonly counts: Readonly<Record<string, number>>; readonly files: Readonly<Record<string, string>> };

function contentOf(practice: Practice): Content {
  const tables = practice.rows("select name from sqlite_schema where type = 'table' and name not like 'sqlite_%'").map(({ name }) => String(name));
  // That a backup was made is written down afterwards, within a minute, and so in none or in the next one.
  const counts = tables.map((table) => [table, Number(practice.rows(`select count(*) as n from "${table}"${table === "audit_entries" ? " where act <> 'backup.made'" : ""}`)[0]?.["n"])] as const);
  const files = practice.mediaOnDisk().map((path) => [basename(path), createHash("sha256").update(readFileSync(path)).digest("hex")] as const);
  return { counts: Object.fromEntries(counts), files: Object.fromEntries(files) };
}

function differences(before: Content, after: Content): readonly string[] {
  const lost = (kind: keyof Content) => [...new Set([...Object.keys(before[kind]), ...Object.keys(after[kind])])].filter((name) => before[kind][name] !== after[kind][name]).map((name) => `${kind} differ: ${name}`);
  // The restore itself is one entry more.
  const entries = Number(before.counts["audit_entries"]) + 1;
  return [...lost("files"), ...lost("counts").filter((line) => line !== "counts differ: audit_entries" || after.counts["audit_entries"] !== entries)];
}

/** The database is exchanged under a server that is taking photos, and yesterday's log of writes is left beside it. */
export async function swap(practice: Practice): Promise<Report> {
  const losses: string[] = [];
  const path = join(practice.dataDir, "trueside.db");
  const senders = await practice.senders();
  practice.letADayPass();
  const yesterday = `${path}.yesterday`;
  await new Database(path, { readonly: true }).backup(yesterday);
  const writer = { isOver: false };
  const sent: string[] = [];
  const sending = senders.slice(0, AT_ONCE).map(async (sender) => {
    // Until the line is cut: by the server's own end.
    while (!writer.isOver) await sendOne(practice, sender, sent).catch(() => pause(50));
  });
  // So much that today's log alone no longer holds all that yesterday's copy lacks, and then some more.
  while (sent.length < FILLS_PAGES) await pause(50);
  practice.sql((db) => db.pragma("wal_checkpoint(RESTART)"));
  while (sent.length < FILLS_PAGES + AT_ONCE) await pause(50);
  renameSync(path, `${path}.today`);
  copyFileSync(yesterday, path);
  const began = performance.now();
  const { code, err } = await practice.endedItself();
  const seconds = Math.round((performance.now() - began) / 100) / 10;
  writer.isOver = true;
  await Promise.all(sending);
  if (code !== 1 || !err.includes('"event":"database-replaced"')) losses.push(`the server ended with ${code} and said: ${err}`);
  await practice.start().then(() => losses.push("yesterday's database was served beside today's log"), () => undefined);
  for (const name of readdirSync(practice.dataDir).filter((each) => each.startsWith("trueside.db-"))) renameSync(join(practice.dataDir, name), join(practice.dataDir, `${name}.aside`));
  copyFileSync(yesterday, path);
  await practice.start().then(() => losses.push("yesterday's database was served"), () => undefined);
  return { figures: { secondsToEnd: seconds, sentBefore: sent.length }, losses };
}
