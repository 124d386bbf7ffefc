import "server-only";
import { createECDH, randomBytes } from "node:crypto";
import { closeSync, existsSync, fsyncSync, linkSync, mkdirSync, mkdtempSync, openSync, readdirSync, readFileSync, renameSync, rmSync, writeSync } from "node:fs";
import { join } from "node:path";

const MEDIA_NAME = "mediaKey";
const NAMES = [MEDIA_NAME, "sessionSecret", "signInKey"] as const;
const PUSH_NAME = "pushKey";
/** In the data folder while a change to a key outside it is under way: the name of that key, which tells nothing about it. */
const CHANGE = "key-change";

export type Secrets = {
  /** Wraps the key of every media file. Lost, every photo is lost. */
  readonly mediaKey: Buffer;
  /** Signs session tokens. */
  readonly sessionSecret: Buffer;
  /** Keys what is kept of sign-in codes, and seals second factors at rest. */
  readonly signInKey: Buffer;
  /** Signs who sends a push: a private key on P-256 (RFC 8292). Lost, every phone is asked for anew. */
  readonly pushKey: Buffer;
};

/** The keys folder is incomplete or damaged; making new keys would lose every photo for good. */
export class SecretsDamaged extends Error {
  constructor() {
    super("The keys folder is incomplete or damaged. Put it back from a backup; new keys would not open the old photos. Where the practice key is kept outside it, set MEDIA_KEY_FILE.");
    this.name = "SecretsDamaged";
  }
}

/** The practice key that is kept outside the data folder cannot be the one; the message says why, and what to do. */
export class OutsideKeyRefused extends Error {
  constructor(sentence: string) {
    super(sentence);
    this.name = "OutsideKeyRefused";
  }
}

/**
 * Reads the keys in `keys/` of the data folder, 32 bytes each, and makes them at first start:
 * all together or not at all, folder 0700, files 0600, synced. The practice key is another file's where `MEDIA_KEY_FILE`
 * names one, and then never lies in the folder. Throws `SecretsDamaged` and `OutsideKeyRefused`.
 */
export function openSecrets(dataDir: string): Secrets {
  const folder = join(dataDir, "keys");
  const outside = readOutsideKey(dataDir);
  if (!existsSync(folder)) {
    if (["media", "bucket"].some((place) => existsSync(join(dataDir, place)))) throw new SecretsDamaged();
    makeKeys(dataDir, folder, outside ? NAMES.filter((name) => name !== MEDIA_NAME) : NAMES);
  }
  const [mediaKey, sessionSecret, signInKey] = NAMES.map((name) => (name === MEDIA_NAME && outside) || readKey(join(folder, name)));
  if (!mediaKey || !sessionSecret || !signInKey) throw new SecretsDamaged();
  return { mediaKey, sessionSecret, signInKey, pushKey: openPushKey(folder) };
}

/** Made when it is missing: folders are older than it, and nothing that is kept hangs on it. Throws `SecretsDamaged`. */
const openPushKey = (folder: string): Buffer => openLaterKey(folder, PUSH_NAME, newPushKey).key;

/** A key that folders may be older than; `isNew` for the one process that made it. Throws `SecretsDamaged`. */
export function openLaterKey(folder: string, name: string, make: () => Buffer): { readonly key: Buffer; readonly isNew: boolean } {
  const path = join(folder, name);
  let isNew = false;
  if (!existsSync(path)) {
    const aside = join(folder, `${name}-${randomBytes(8).toString("hex")}`);
    writeSynced(aside, make());
    try {
      linkSync(aside, path);
      isNew = true;
    } catch (error) {
      // Another process was first: its key is the key.
      if (!existsSync(path)) throw error;
    } finally {
      rmSync(aside);
    }
    syncFolder(folder);
  }
  const key = readKey(path);
  if (!key) throw new SecretsDamaged();
  return { key, isNew };
}

/** The key in the file that `MEDIA_KEY_FILE` names, or null where it is not set. Throws `OutsideKeyRefused`. */
function readOutsideKey(dataDir: string): Buffer | null {
  const path = process.env["MEDIA_KEY_FILE"];
  if (!path) return null;
  if (existsSync(join(dataDir, "keys", MEDIA_NAME))) {
    throw new OutsideKeyRefused("MEDIA_KEY_FILE is set, and the data folder holds a practice key of its own. To take it out of there, unset MEDIA_KEY_FILE and run npm run rotate-key -- NEW_KEY_FILE once.");
  }
  return readKeyFile(path);
}

/** A key outside the data folder: a file of 32 bytes and nothing else. Throws `OutsideKeyRefused`. */
export function readKeyFile(path: string): Buffer {
  const key = (() => {
    try {
      return readFileSync(path);
    } catch {
      return null;
    }
  })();
  if (key?.length !== 32) throw new OutsideKeyRefused(`${path} is no practice key: it has to be a file of exactly 32 bytes that this account may read. Nothing was changed.`);
  return key;
}

/** Keys that some files may still be wrapped by, while a change of key is under way. */
export const earlierMediaKeys = (dataDir: string): readonly Buffer[] => earlierNames(dataDir).map((name) => {
  const key = readKey(join(dataDir, "keys", name));
  if (!key) throw new SecretsDamaged();
  return key;
});

const earlierNames = (dataDir: string): readonly string[] => readdirSync(join(dataDir, "keys")).filter((name) => /^mediaKey-before-[0-9a-f]{16}$/.test(name));

/**
 * A new key of the media, with the one before kept beside it until `endKeyChange`. The one before is there under
 * its second name first: cut off at any moment, every file still opens, and this goes on from there.
 */
export function beginKeyChange(dataDir: string, idOf: (key: Buffer) => string): void {
  const folder = join(dataDir, "keys");
  const path = join(folder, MEDIA_NAME);
  const present = readKey(path);
  if (!present) throw new SecretsDamaged();
  const before = join(folder, `mediaKey-before-${idOf(present)}`);
  // Cut off after the new key came: what is left is to wrap the files by it.
  if (earlierNames(dataDir).length > 0 && !existsSync(before)) return;
  if (!existsSync(before)) writeSynced(before, present);
  syncFolder(folder);
  const aside = join(folder, `mediaKey-${randomBytes(8).toString("hex")}`);
  writeSynced(aside, randomBytes(32));
  renameSync(aside, path);
  syncFolder(folder);
}

/** Once no file is wrapped by an earlier key. */
export function endKeyChange(dataDir: string): void {
  for (const name of earlierNames(dataDir)) rmSync(join(dataDir, "keys", name));
  syncFolder(join(dataDir, "keys"));
}

/** The key of the media, or null where there is none; makes nothing. Throws `OutsideKeyRefused`. */
export const readMediaKey = (dataDir: string): Buffer | null => readOutsideKey(dataDir) ?? readKey(join(dataDir, "keys", MEDIA_NAME));

/** Which key a change is on its way to, one outside the data folder; null when none is under way. */
export function keyChangeTo(dataDir: string): string | null {
  const path = join(dataDir, CHANGE);
  return existsSync(path) ? readFileSync(path, "utf8").trim() : null;
}

/** Noted first: from here on some files open by the next key alone, until `endOutsideChange`. */
export function beginOutsideChange(dataDir: string, keyId: string): void {
  if (keyChangeTo(dataDir) !== null) return;
  const aside = join(dataDir, `.${CHANGE}`);
  rmSync(aside, { force: true });
  writeSynced(aside, Buffer.from(`${keyId}\n`));
  renameSync(aside, join(dataDir, CHANGE));
  syncFolder(dataDir);
}

/** Once every file is wrapped by the key outside: the note goes, and then a key that lay in the folder, so that a change cut off here can be run again. */
export function endOutsideChange(dataDir: string): void {
  rmSync(join(dataDir, CHANGE), { force: true });
  syncFolder(dataDir);
  for (const name of [...earlierNames(dataDir), MEDIA_NAME]) rmSync(join(dataDir, "keys", name), { force: true });
  syncFolder(join(dataDir, "keys"));
}

function newPushKey(): Buffer {
  const pair = createECDH("prime256v1");
  pair.generateKeys();
  const key = pair.getPrivateKey();
  // Leading zeros are left out.
  return Buffer.concat([Buffer.alloc(32 - key.length), key]);
}

function makeKeys(dataDir: string, folder: string, names: readonly string[]): void {
  mkdirSync(dataDir, { recursive: true, mode: 0o700 });
  const aside = mkdtempSync(join(dataDir, "keys-"));
  for (const name of names) writeSynced(join(aside, name), randomBytes(32));
  syncFolder(aside);
  try {
    renameSync(aside, folder);
  } catch (error) {
    rmSync(aside, { recursive: true });
    // Another process was first: its keys are the keys.
    if (!existsSync(folder)) throw error;
  }
  syncFolder(dataDir);
}

function writeSynced(path: string, bytes: Buffer): void {
  const file = openSync(path, "wx", 0o600);
  try {
    writeSync(file, bytes);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

function syncFolder(path: string): void {
  const handle = openSync(path, "r");
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

function readKey(path: string): Buffer | null {
  if (!existsSync(path)) return null;
  const key = readFileSync(path);
  return key.length === 32 ? key : null;
}
