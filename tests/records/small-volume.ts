import { execFileSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, rmSync, statfsSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

export type SmallVolume = { readonly folder: string; freeBytes(): number; fill(leaving: number): void; clear(): void; close(): void };

/** Whether this machine lets a test have a filesystem of its own: root on Linux, in most containers not. */
export function canMount(): boolean {
  if (process.getuid?.() !== 0) return false;
  const folder = mkdtempSync(join(tmpdir(), "trueside-mount-"));
  try {
    execFileSync("mount", ["-t", "tmpfs", "-o", "size=1m", "tmpfs", folder], { stdio: "ignore" });
    execFileSync("umount", [folder], { stdio: "ignore" });
    return true;
  } catch {
    return false;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A real filesystem of so many megabytes that can be filled to the last block. */
export function mountSmall(megabytes: number): SmallVolume {
  const folder = mkdtempSync(join(tmpdir(), "trueside-small-"));
  execFileSync("mount", ["-t", "tmpfs", "-o", `size=${megabytes}m`, "tmpfs", folder]);
  const filler = join(folder, "filler");
  const freeBytes = (): number => {
    const { bsize, bavail } = statfsSync(folder);
    return bsize * bavail;
  };
  return {
    folder,
    freeBytes,
    fill(leaving) {
      const file = openSync(filler, "a");
      const block = Buffer.alloc(4096);
      try {
        while (freeBytes() > leaving) writeSync(file, freeBytes() - leaving > 1e6 ? Buffer.alloc(1e6) : block);
      } catch (error) {
        if (!(error instanceof Error && "code" in error && error.code === "ENOSPC")) throw error;
      } finally {
        closeSync(file);
      }
    },
    clear: () => rmSync(filler, { force: true }),
    close() {
      // The audit's mark stays open until the next folder's is: gone from the tree now, from memory then.
      execFileSync("umount", ["-l", folder]);
      rmSync(folder, { recursive: true });
    },
  };
}
