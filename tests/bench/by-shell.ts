import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const SIZES = [2048, 1024, 320];

/** Which ImageMagick and ExifTool are installed, or null unless both are. */
export function shellVersion(): string | null {
  try {
    const magick = /Version: (ImageMagick \S+)/.exec(execFileSync("convert", ["-version"], { encoding: "utf8" }))?.[1];
    const exiftool = execFileSync("exiftool", ["-ver"], { encoding: "utf8" }).trim();
    return magick ? `${magick}, ExifTool ${exiftool}` : null;
  } catch {
    return null;
  }
}

/**
 * What a careful administrator would write for a folder of photos (common practice, no source): upright, three sizes,
 * without metadata, each size read once more and emptied by a second tool. Nothing is encrypted, measured or synced.
 */
export function byShell(photo: Buffer): void {
  const folder = mkdtempSync(join(tmpdir(), "trueside-shell-"));
  try {
    writeFileSync(join(folder, "in"), photo);
    const sizes = SIZES.flatMap((size) => ["(", "+clone", "-resize", `${size}x${size}>`, "-write", `jpeg:${size}.jpg`, "+delete", ")"]);
    execFileSync("convert", ["in", "-auto-orient", "-strip", "-quality", "82", ...sizes, "null:"], { cwd: folder });
    execFileSync("exiftool", ["-q", "-all=", "-overwrite_original", ...SIZES.map((size) => `${size}.jpg`)], { cwd: folder });
    if (SIZES.some((size) => !existsSync(join(folder, `${size}.jpg`)))) throw new Error("the shell's pictures were not made");
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
