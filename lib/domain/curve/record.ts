import { canHaveApex, REGIONS, type Apex, type Region } from "@/lib/domain/curve/region";
import { refuse, ok, type Result } from "@/lib/domain/result";
import { opposite, type Side } from "@/lib/domain/sides";

export type Curve = {
  readonly state: "curve";
  /** The child's own side toward which the curve bulges; it names the curve. */
  readonly convexSide: Side;
  readonly apex: Apex;
  /** From a standing film, degrees; null when there is none. Never from a photo. */
  readonly cobbDegrees: number | null;
};
export type Finding = Curve | { readonly state: "none" } | { readonly state: "not-assessed" };

export type Prominence = Side | "none" | "not-looked";

/** A dated, sourced statement about one child. Dates are local, "YYYY-MM-DD". */
export type CurveRecord = {
  readonly assessedOn: string;
  readonly source: "radiograph" | "other-imaging" | "examination";
  readonly filmViewedFrom: "behind" | "front" | "no-film";
  readonly regions: Readonly<Record<Region, Finding>>;
  /** What was seen on the child's own back, bending forward. */
  readonly prominence: { readonly ribs: Prominence; readonly lowBack: Prominence };
  readonly reassessBy: string | null;
  /** Curves that count by the therapist's word: under 10 degrees, or not measured. */
  readonly countedByWord: readonly Region[];
};

/** Scoliosis begins at a Cobb angle of 10 degrees (Scoliosis Research Society; SOSORT 2016). */
export const COBB_THRESHOLD = 10;

export type Pattern = {
  /** Such as "thoracic-right+lumbar-left"; "none" without a curve. */
  readonly key: string;
  readonly curves: readonly { readonly region: Region; readonly side: Side }[];
  readonly notAssessed: readonly Region[];
};

export function patternOf(record: CurveRecord): Pattern {
  const curves = REGIONS.flatMap((region) => {
    const finding = record.regions[region];
    return finding.state === "curve" ? [{ region, side: finding.convexSide }] : [];
  });
  return {
    key: curves.map(({ region, side }) => `${region}-${side}`).join("+") || "none",
    curves,
    notAssessed: REGIONS.filter((region) => record.regions[region].state === "not-assessed"),
  };
}

export function mirrorRecord(record: CurveRecord): CurveRecord {
  const mirrored = (finding: Finding): Finding =>
    finding.state === "curve" ? { ...finding, convexSide: opposite(finding.convexSide) } : finding;
  const other = (seen: Prominence): Prominence => (seen === "left" || seen === "right" ? opposite(seen) : seen);
  return {
    ...record,
    regions: {
      "proximal-thoracic": mirrored(record.regions["proximal-thoracic"]),
      thoracic: mirrored(record.regions.thoracic),
      thoracolumbar: mirrored(record.regions.thoracolumbar),
      lumbar: mirrored(record.regions.lumbar),
    },
    prominence: { ribs: other(record.prominence.ribs), lowBack: other(record.prominence.lowBack) },
  };
}

/** On which side of the film the child's own side is seen. */
export const filmSide = (side: Side, viewedFrom: "behind" | "front"): Side =>
  viewedFrom === "behind" ? side : opposite(side);

/** What makes the therapist look a second time. Each must be acknowledged; none is a diagnosis. */
export const SECOND_LOOKS = ["ribs-disagree", "low-back-disagrees", "uncommon-side"] as const;
export type SecondLook = (typeof SECOND_LOOKS)[number];

export function secondLooks(record: CurveRecord): readonly SecondLook[] {
  const { thoracic, thoracolumbar, lumbar } = record.regions;
  const { ribs, lowBack } = record.prominence;
  const disagrees = (finding: Finding, seen: Prominence) =>
    finding.state === "curve" && (seen === "left" || seen === "right") && seen !== finding.convexSide;
  const looks: SecondLook[] = [];
  if (disagrees(thoracic, ribs)) looks.push("ribs-disagree");
  if (disagrees(lumbar, lowBack) || disagrees(thoracolumbar, lowBack)) looks.push("low-back-disagrees");
  // Of 1,835 adolescent curves, 3 % of the thoracic ones were convex to the left (abstract read).
  if (thoracic.state === "curve" && thoracic.convexSide === "left") looks.push("uncommon-side");
  return looks;
}

/** As typed: nothing about the film or a side is assumed. */
export type CurveRecordDraft = Omit<CurveRecord, "filmViewedFrom"> & {
  readonly filmViewedFrom: CurveRecord["filmViewedFrom"] | null;
};

/** What the therapist said back: each convex side chosen once more, and the second looks taken. */
export type ReadBackOfRecord = {
  readonly sides: Readonly<Partial<Record<Region, Side>>>;
  readonly looks: readonly SecondLook[];
};

/** Lets a record stand only when nothing in it is assumed, contradictory or unconfirmed. */
export function checkCurveRecord(draft: CurveRecordDraft, said: ReadBackOfRecord): Result<CurveRecord> {
  const { filmViewedFrom } = draft;
  if (filmViewedFrom === null) return refuse("view-not-stated", { field: "filmViewedFrom" });
  if ((draft.source === "radiograph") !== (filmViewedFrom !== "no-film")) {
    return refuse("view-not-stated", { field: "filmViewedFrom" });
  }
  if (draft.reassessBy !== null && draft.reassessBy <= draft.assessedOn) return refuse("record-incomplete", { field: "reassessBy" });
  const record: CurveRecord = { ...draft, filmViewedFrom };
  for (const region of REGIONS) {
    const refused = checkFinding(record, region, said);
    if (refused) return refused;
  }
  const open = secondLooks(record).find((look) => !said.looks.includes(look));
  if (open) return refuse(open === "uncommon-side" ? "uncommon-unconfirmed" : "prominence-disagree", { field: open });
  return ok(record);
}

function checkFinding(record: CurveRecord, region: Region, said: ReadBackOfRecord) {
  const finding = record.regions[region];
  if (finding.state !== "curve") return null;
  if (!canHaveApex(region, finding.apex)) return refuse("apex-region-disagree", { field: region, values: { apex: finding.apex } });
  const isMeasured = finding.cobbDegrees !== null && finding.cobbDegrees >= COBB_THRESHOLD;
  if (!isMeasured && !record.countedByWord.includes(region)) return refuse("curve-under-threshold", { field: region });
  if (said.sides[region] !== finding.convexSide) return refuse("side-not-read-back", { field: region });
  return null;
}
