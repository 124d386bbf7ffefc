import "server-only";
import { join } from "node:path";
import { dataDir } from "@/db/client";
import { openBucketStore } from "@/lib/media/bucket-store";
import { openFolderStore } from "@/lib/media/folder-store";
import type { MediaKeys } from "@/lib/media/frames";
import { settledPlace } from "@/lib/media/place";
import { earlierMediaKeys, openSecrets } from "@/lib/media/secrets";
import type { MediaStore } from "@/lib/media/store";

/** The practice's keys, the one that wraps what is new first. Throws `SecretsDamaged` and `OutsideKeyRefused`. */
export const practiceKeys = (dir: string): MediaKeys => ({ current: openSecrets(dir).mediaKey, earlier: earlierMediaKeys(dir) });

/** The media of a data folder, under its keys, in its bucket where it has one. Throws as `practiceKeys` does, and `PlaceFault`. */
export const openPracticeStore = (dir: string): MediaStore => openStoreUnder(dir, practiceKeys(dir));

/** The same for whoever must not make keys. Throws `PlaceFault`. */
export function openStoreUnder(dir: string, keys: MediaKeys): MediaStore {
  const bucket = settledPlace(dir);
  return bucket ? openBucketStore(bucket, keys) : openFolderStore(join(dir, "media"), keys);
}

const SHARED = Symbol.for("trueside.media");
type Shared = { [SHARED]?: { readonly dir: string; readonly store: MediaStore } };

/** The media of this process's data folder, opened once. */
export function practiceStore(): MediaStore {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  const dir = dataDir();
  if (shared[SHARED]?.dir !== dir) shared[SHARED] = { dir, store: openPracticeStore(dir) };
  return shared[SHARED].store;
}
