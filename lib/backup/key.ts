import "server-only";
import { createHash, randomBytes } from "node:crypto";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { BackupFault } from "@/lib/backup/fault";
import { openLaterKey, SecretsDamaged } from "@/lib/media/secrets";

const NAME = "backupKey";
/** Digits and letters without I, L, O and U, which are mistaken for others or spell words (Crockford's Base32). */
const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const KEY_LENGTH = 52;
const CHECK_LENGTH = 4;

export type BackupKey = {
  readonly key: Buffer;
  /** Made just now: whoever made it must show it once, to be written down. */
  readonly isNew: boolean;
  /** It lies in the data folder, not in a setting alone. */
  readonly isKept: boolean;
};

/** The key that the setting gives, else the one in the data folder, made at the first backup. Throws `BackupFault`. */
export function openBackupKey(dataDir: string, given: string | undefined): BackupKey {
  if (given) return { key: keyFromText(given), isNew: false, isKept: false };
  const folder = join(dataDir, "keys");
  if (!existsSync(folder)) throw new SecretsDamaged();
  return { ...openLaterKey(folder, NAME, () => randomBytes(32)), isKept: true };
}

/** Puts a key there that was typed in. */
export function keepBackupKey(dataDir: string, key: Buffer): void {
  openLaterKey(join(dataDir, "keys"), NAME, () => key);
}

/** As it is written down: 256 bits in fours, and four characters more by which a slip is noticed. */
export function keyToText(key: Uint8Array): string {
  return `${inLetters(key, KEY_LENGTH)}${checkOf(key)}`.replace(/(.{4})(?=.)/g, "$1-");
}

/** Read as it is meant: case, spaces, hyphens, O for 0 and I or L for 1. Throws `BackupFault` "key-unreadable". */
export function keyFromText(text: string): Buffer {
  const letters = text.toUpperCase().replace(/[\s-]/g, "").replaceAll("O", "0").replace(/[IL]/g, "1");
  const values = [...letters].map((letter) => ALPHABET.indexOf(letter));
  if (letters.length !== KEY_LENGTH + CHECK_LENGTH || values.includes(-1)) throw new BackupFault("key-unreadable");
  const bits = values.slice(0, KEY_LENGTH).map((value) => value.toString(2).padStart(5, "0")).join("");
  const key = Buffer.from((bits.match(/.{8}/g) ?? []).map((byte) => Number.parseInt(byte, 2)));
  if (keyToText(key).replaceAll("-", "") !== letters) throw new BackupFault("key-unreadable");
  return key;
}

const checkOf = (key: Uint8Array): string => inLetters(createHash("sha256").update("trueside backup key\0").update(key).digest(), CHECK_LENGTH);

/** So many letters of five bits each, filled up with zeros. */
function inLetters(bytes: Uint8Array, length: number): string {
  const bits = [...bytes].map((byte) => byte.toString(2).padStart(8, "0")).join("").padEnd(length * 5, "0");
  return Array.from({ length }, (_, at) => ALPHABET[Number.parseInt(bits.slice(at * 5, at * 5 + 5), 2)]).join("");
}
