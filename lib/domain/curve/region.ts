import { ok, refuse, type Result } from "@/lib/domain/result";

/** From head to seat; one curve at most in each. */
export const REGIONS = ["proximal-thoracic", "thoracic", "thoracolumbar", "lumbar"] as const;
export type Region = (typeof REGIONS)[number];

const LEVELS = [
  "C1", "C1/2", "C2", "C2/3", "C3", "C3/4", "C4", "C4/5", "C5", "C5/6", "C6", "C6/7", "C7", "C7/T1",
  "T1", "T1/2", "T2", "T2/3", "T3", "T3/4", "T4", "T4/5", "T5", "T5/6", "T6", "T6/7", "T7", "T7/8", "T8", "T8/9",
  "T9", "T9/10", "T10", "T10/11", "T11", "T11/12", "T12", "T12/L1",
  "L1", "L1/2", "L2", "L2/3", "L3", "L3/4", "L4", "L4/5", "L5", "L5/S1", "S1",
] as const;
/** A vertebra ("T9") or the disc below it ("T11/12", "T12/L1"). */
export type Level = (typeof LEVELS)[number];

/** Region of a level after the definitions; `null` where published lists differ: nobody guesses. */
export type LevelRegion = "cervical" | "cervicothoracic" | "thoracic" | "thoracolumbar" | "lumbar" | "lumbosacral";

/** Where lists differ or end: C1 and C1/2 (above the usual list), C6/7, T1/2 and L4/5. */
const AMBIGUOUS: readonly Level[] = ["C1", "C1/2", "C6/7", "T1/2", "L4/5"];

/**
 * Last level of each region. Scoliosis Research Society definitions (glossary of 2000; J Bone Joint
 * Surg Am 2001;83-A:1169-1181): thoracic T2 to the T11/12 disc, thoracolumbar T12 to L1, lumbar
 * L1/2 disc to L4. T11, T11/12 and L1 read in an abstract quoting them; the rest from memory.
 */
const ENDS: readonly (readonly [LevelRegion, Level])[] = [
  ["cervical", "C6"],
  ["cervicothoracic", "T1"],
  ["thoracic", "T11/12"],
  ["thoracolumbar", "L1"],
  ["lumbar", "L4"],
  ["lumbosacral", "S1"],
];

/** Place along the spine, from 0 at C1; a greater place is nearer the seat. */
export const placeOf = (level: Level): number => LEVELS.indexOf(level);

export function regionOfLevel(level: Level): LevelRegion | null {
  if (AMBIGUOUS.includes(level)) return null;
  const found = ENDS.find(([, last]) => placeOf(level) <= placeOf(last));
  return found ? found[0] : null;
}

/**
 * Proximal thoracic curves have their apex at T3, T4 or T5 in the common classification (from
 * memory). T2 is let in too: where a second thoracic curve lies below, it can be called nothing else.
 */
const LAST_PROXIMAL: Level = "T5";

/**
 * The regions a curve with this apex may be entered under; none for a level outside them or
 * ambiguous. T2 to T5 may be either thoracic one: the definitions call them thoracic, so a high
 * apex alone is no ground to refuse that word.
 */
export function regionsOf(level: Level): readonly Region[] {
  const region = regionOfLevel(level);
  if (region === "thoracic") return placeOf(level) <= placeOf(LAST_PROXIMAL) ? ["proximal-thoracic", "thoracic"] : ["thoracic"];
  return region === "thoracolumbar" || region === "lumbar" ? [region] : [];
}

/** Thoracic by the definitions, though proximal thoracic is its commoner name. */
export const isHighThoracic = (level: Level): boolean => regionsOf(level).includes("proximal-thoracic");

/** The levels a curve of this region may have its apex at, from head to seat. */
export const apexesOf = (region: Region): readonly Level[] => LEVELS.filter((level) => regionsOf(level).includes(region));

/**
 * Reads an apex as typed: "t9", "T11-12", "T11/T12", "T12/L1".
 * Refused: `apex-unknown` when it is no level of the spine, `apex-ambiguous` where lists differ.
 */
export function readApex(typed: string): Result<Level> {
  const level = LEVELS.find((each) => each === plainLevel(typed));
  if (level === undefined) return refuse("apex-unknown", { field: "apex" });
  return AMBIGUOUS.includes(level) ? refuse("apex-ambiguous", { values: { level }, field: "apex" }) : ok(level);
}

/** "t11-t12" and "T11 / 12" are the disc "T11/12"; the letter is kept where it changes. */
function plainLevel(typed: string): string {
  const found = /^([CTL])(\d{1,2})(?:[/-]([CTLS]?)(\d{1,2}))?$|^S1$/.exec(typed.toUpperCase().replaceAll(/\s/g, ""));
  if (!found) return "";
  const [all, letter, figure, belowLetter, belowFigure] = found;
  if (letter === undefined || figure === undefined) return all;
  if (belowFigure === undefined) return letter + figure;
  return `${letter}${figure}/${belowLetter === letter ? "" : (belowLetter ?? "")}${belowFigure}`;
}
