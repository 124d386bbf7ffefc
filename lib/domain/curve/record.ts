import { REGIONS, type Level, type Region } from "@/lib/domain/curve/region";
import { opposite, type Side } from "@/lib/domain/sides";

export const SOURCES = ["radiograph", "other-imaging", "examination"] as const;
export type Source = (typeof SOURCES)[number];

/** How the picture was looked at when the sides were read off it; never assumed. */
export const FILM_VIEWS = ["behind", "front", "no-film"] as const;
export type FilmView = (typeof FILM_VIEWS)[number];

/** Which side of the back stands out when the child bends forward, seen in person. */
export const PROMINENCES = ["left", "right", "none", "not-looked"] as const;
export type Prominence = (typeof PROMINENCES)[number];

export type Curve = {
  readonly state: "curve";
  /** The child's own side toward which the curve bulges; a curve is named by it. */
  readonly convexSide: Side;
  readonly apex: Level;
  /** Cobb angle in degrees on a standing frontal film; null when nobody measured it. */
  readonly cobbDegrees: number | null;
};

/** `not-assessed` is nobody's knowledge and never counts as `none`. */
export type Finding = Curve | { readonly state: "none" } | { readonly state: "not-assessed" };

export type CurveRecord = {
  /** Local dates, `YYYY-MM-DD`. */
  readonly assessedOn: string;
  readonly source: Source;
  readonly filmViewedFrom: FilmView;
  readonly regions: Readonly<Record<Region, Finding>>;
  readonly prominence: { readonly ribs: Prominence; readonly lowBack: Prominence };
  /** The last day this record may be relied on; null when none is set. */
  readonly reassessBy: string | null;
  /** Curves under 10 degrees, or of a size nobody measured, that count by the therapist's word. */
  readonly therapistCounts: readonly Region[];
};

/** Scoliosis Research Society: a curve counts from a Cobb angle of 10 degrees; 10.0 does, 9.9 does not. */
export const COUNTING_DEGREES = 10;

/** An unmeasured curve may be under 10 degrees, so it needs the therapist's word as well. */
export const needsTherapistsWord = (curve: Curve): boolean =>
  curve.cobbDegrees === null || !(curve.cobbDegrees >= COUNTING_DEGREES);

/** False while a curve that needs the therapist's word does not have it. */
export const isCounted = (record: CurveRecord, region: Region): boolean => {
  const finding = record.regions[region];
  return finding.state !== "curve" || !needsTherapistsWord(finding) || record.therapistCounts.includes(region);
};

/** `today` is the practice's local date, `YYYY-MM-DD`; the reassessment day itself still counts. */
export const isCurrent = (record: CurveRecord, today: string): boolean =>
  record.reassessBy === null || today <= record.reassessBy;

export type Pattern = {
  /** One string for each pattern, such as `thoracic-right+lumbar-left`; unassessed regions are part of it. */
  readonly key: string;
  /** From head to seat. */
  readonly curves: readonly { readonly region: Region; readonly side: Side }[];
  readonly notAssessed: readonly Region[];
};

export function patternOf(record: CurveRecord): Pattern {
  const curves = REGIONS.flatMap((region) => {
    const finding = record.regions[region];
    return finding.state === "curve" ? [{ region, side: finding.convexSide }] : [];
  });
  const notAssessed = REGIONS.filter((region) => record.regions[region].state === "not-assessed");
  const parts = [
    ...curves.map(({ region, side }) => `${region}-${side}`),
    ...notAssessed.map((region) => `${region}-not-assessed`),
  ];
  return { key: parts.length === 0 ? "no-curve" : parts.join("+"), curves, notAssessed };
}

const mirrorFinding = (finding: Finding): Finding =>
  finding.state === "curve" ? { ...finding, convexSide: opposite(finding.convexSide) } : finding;

const mirrorProminence = (seen: Prominence): Prominence => (seen === "left" || seen === "right" ? opposite(seen) : seen);

/** The record of the mirror-image child. How the film was looked at stays: it is no side of the child. */
export const mirrorRecord = (record: CurveRecord): CurveRecord => ({
  ...record,
  regions: {
    "proximal-thoracic": mirrorFinding(record.regions["proximal-thoracic"]),
    thoracic: mirrorFinding(record.regions.thoracic),
    thoracolumbar: mirrorFinding(record.regions.thoracolumbar),
    lumbar: mirrorFinding(record.regions.lumbar),
  },
  prominence: { ribs: mirrorProminence(record.prominence.ribs), lowBack: mirrorProminence(record.prominence.lowBack) },
});
