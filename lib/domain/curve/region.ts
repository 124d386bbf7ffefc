/** Regions a curve is named for, from the top down. */
export const REGIONS = ["proximal-thoracic", "thoracic", "thoracolumbar", "lumbar"] as const;
export type Region = (typeof REGIONS)[number];

/** Vertebrae and the discs between them, from the top down; a disc is written "T11/12". */
export const APEXES = [
  "T2", "T2/3", "T3", "T3/4", "T4", "T4/5", "T5", "T5/6", "T6", "T6/7", "T7", "T7/8", "T8", "T8/9", "T9", "T9/10",
  "T10", "T10/11", "T11", "T11/12", "T12", "T12/L1", "L1", "L1/2", "L2", "L2/3", "L3", "L3/4", "L4",
] as const;
export type Apex = (typeof APEXES)[number];

const at = (apex: Apex): number => APEXES.indexOf(apex);

/**
 * Where a curve with this apex belongs by the Scoliosis Research Society's definitions (revised
 * glossary, 2000; J Bone Joint Surg Am 2001;83-A:1169-1181): thoracic T2 to the T11/12 disc,
 * thoracolumbar T12 to L1, lumbar the L1/2 disc to L4. Levels on which lists differ are no apex here.
 */
export function societyRegion(apex: Apex): Exclude<Region, "proximal-thoracic"> {
  if (at(apex) <= at("T11/12")) return "thoracic";
  return at(apex) <= at("L1") ? "thoracolumbar" : "lumbar";
}

/**
 * Whether a curve of this region can have this apex. A proximal thoracic curve is the upper of the
 * thoracic ones, apex T3 to T5 (same classification paper, from memory).
 */
export function canHaveApex(region: Region, apex: Apex): boolean {
  if (region === "proximal-thoracic") return at(apex) >= at("T3") && at(apex) <= at("T5");
  return societyRegion(apex) === region;
}

export const isApex = (text: string): text is Apex => (APEXES as readonly string[]).includes(text);
