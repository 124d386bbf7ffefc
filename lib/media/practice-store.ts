import "server-only";
import { join } from "node:path";
import { openFolderStore } from "@/lib/media/folder-store";
import { earlierMediaKeys, openSecrets } from "@/lib/media/secrets";
import type { MediaStore } from "@/lib/media/store";

/** The media of a data folder, under its keys. Throws `SecretsDamaged`. */
export const openPracticeStore = (dataDir: string): MediaStore =>
  openFolderStore(join(dataDir, "media"), { current: openSecrets(dataDir).mediaKey, earlier: earlierMediaKeys(dataDir) });
