import { DecoderPool } from "@/lib/photos/decoder-pool";
import { isModerate, MODULE_SIZES, tryCards, type Trial } from "@/tests/photos/card-trials";

const CASES = 320;

/**
 * The whole trial of the side card: found, missed and wrongly mirrored by module size, all cases and the
 * moderate ones, and the level's error. Proven when nothing is said wrongly and, of moderate cases of
 * three pixels a module and more, at least 95 of 100 are found.
 */
export async function proveCards(cases = CASES): Promise<{ readonly lines: readonly string[]; readonly isProven: boolean }> {
  const pool = new DecoderPool("photos");
  try {
    const trials = await tryCards(Array.from({ length: cases }, (_, seed) => seed), pool);
    const large = trials.filter((trial) => trial.modulePixels >= 3 && isModerate(trial));
    const isProven = wrong(trials) === 0 && large.length > 0 && found(large) >= 0.95 * large.length;
    const levels = trials.flatMap(({ levelError }) => levelError ?? []).sort((a, b) => a - b);
    const at = (share: number) => (levels.at(Math.min(levels.length - 1, Math.floor(levels.length * share))) ?? 0).toFixed(1);
    return {
      isProven,
      lines: [
        "pixels a module | cases  found  missed  wrong | moderate  found",
        ...MODULE_SIZES.map((size) => line(String(size), trials.filter(({ modulePixels }) => modulePixels === size))),
        line("all", trials), line("3 and more", trials.filter(({ modulePixels }) => modulePixels >= 3)),
        ...[0, 10, 20, 30, 40, 50].map((tilt) => line(`tilt ${tilt}°, 3 and more`, trials.filter((trial) => trial.tilt === tilt && trial.modulePixels >= 3))),
        ...[false, true].map((mirrored) => line(mirrored ? "mirrored" : "not mirrored", trials.filter((trial) => trial.mirrored === mirrored))),
        `level given in ${levels.length} of ${found(trials)} found: error of half ${at(0.5)}°, of nine in ten ${at(0.9)}°, greatest ${at(1)}°`,
        "moderate: tilt up to 30°, blur up to 0.3 modules, JPEG quality 70 and more",
      ],
    };
  } finally {
    await pool.close();
  }
}

const found = (trials: readonly Trial[]): number => trials.filter(({ outcome }) => outcome === "found").length;
const missed = (trials: readonly Trial[]): number => trials.filter(({ outcome }) => outcome === "missed").length;
const wrong = (trials: readonly Trial[]): number => trials.length - found(trials) - missed(trials);

function line(name: string, trials: readonly Trial[]): string {
  const moderate = trials.filter(isModerate);
  return `${name.padEnd(22)} | ${trials.length}  ${found(trials)}  ${missed(trials)}  ${wrong(trials)} | ${moderate.length}  ${found(moderate)}`;
}
