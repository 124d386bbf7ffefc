import {
  needsTherapistsWord, type CurveRecord, type FilmView, type Finding, type Prominence, type Source,
} from "@/lib/domain/curve/record";
import { placeOf, readApex, REGIONS, regionsOf, type Region } from "@/lib/domain/curve/region";
import { openWarnings, type RecordWarning } from "@/lib/domain/curve/record-warnings";
import { ok, refuse, type Problem, type Result } from "@/lib/domain/result";
import { opposite, type Side } from "@/lib/domain/sides";

export type FindingDraft =
  | { readonly state: "curve"; readonly convexSide: Side | null; readonly apex: string; readonly cobbDegrees: number | null }
  | { readonly state: "none" }
  | { readonly state: "not-assessed" };

/** As typed; null is "not said yet". Nothing is filled in for the therapist. Dates are `YYYY-MM-DD`. */
export type CurveRecordDraft = {
  readonly assessedOn: string;
  readonly source: Source | null;
  readonly filmViewedFrom: FilmView | null;
  readonly regions: Readonly<Record<Region, FindingDraft | null>>;
  readonly prominence: { readonly ribs: Prominence | null; readonly lowBack: Prominence | null };
  readonly reassessBy: string | null;
  readonly therapistCounts: readonly Region[];
};

/** What the therapist said a second time, without seeing the first. */
export type Confirmations = {
  /** "Bulges to the child's RIGHT": each curve's convex side, chosen again. */
  readonly readBack: Readonly<Partial<Record<Region, Side>>>;
  /**
   * For a picture looked at from the front only: the side of the picture toward which each curve
   * bulges. The child's left is then on the picture's right, so it must be the other side; whoever
   * entered the picture's side as the child's is caught here.
   */
  readonly onPicture: Readonly<Partial<Record<Region, Side>>>;
  /** Ids of the warnings looked at. */
  readonly acknowledged: readonly string[];
};

export type CheckedRecord = {
  /** Refused with the first thing that stands in the way. */
  readonly result: Result<CurveRecord>;
  /** Every second look the record asks for, acknowledged or not; none while the draft is incomplete. */
  readonly warnings: readonly RecordWarning[];
};

/** `today` is the practice's local date, `YYYY-MM-DD`. */
export function checkCurveRecord(draft: CurveRecordDraft, confirmations: Confirmations, today: string): CheckedRecord {
  const entered = enteredRecord(draft, today);
  if (!entered.ok) return { result: entered, warnings: [] };
  const record = entered.value;
  const warnings = openWarnings(record);
  const problem = unconfirmed(record, confirmations, warnings);
  return { result: problem ? { ok: false, problem } : ok(record), warnings };
}

/** A record with nothing left open and nothing contradictory in itself. */
function enteredRecord(draft: CurveRecordDraft, today: string): Result<CurveRecord> {
  const { source, filmViewedFrom, prominence } = draft;
  if (source === null) return refuse("record-incomplete", { field: "source" });
  // An examination has no film; every picture has a side it was looked at from.
  if (filmViewedFrom === null || (source === "examination") !== (filmViewedFrom === "no-film")) {
    return refuse("view-not-stated", { field: "filmViewedFrom" });
  }
  const dates = checkDates(draft, today);
  if (dates) return { ok: false, problem: dates };
  const regions = enteredRegions(draft, source);
  if (!regions.ok) return regions;
  const { ribs, lowBack } = prominence;
  if (ribs === null) return refuse("record-incomplete", { field: "ribs" });
  if (lowBack === null) return refuse("record-incomplete", { field: "lowBack" });
  const record: CurveRecord = {
    assessedOn: draft.assessedOn, source, filmViewedFrom, regions: regions.value, prominence: { ribs, lowBack },
    reassessBy: draft.reassessBy,
    // The word is kept for the curves that need it; a tick left behind by another entry says nothing.
    therapistCounts: REGIONS.filter((region) => {
      const finding = regions.value[region];
      return finding.state === "curve" && needsTherapistsWord(finding) && draft.therapistCounts.includes(region);
    }),
  };
  return ok(record);
}

function checkDates({ assessedOn, reassessBy }: CurveRecordDraft, today: string): Problem | null {
  if (!isDay(assessedOn) || assessedOn > today) return { code: "dates-disagree", field: "assessedOn" };
  if (reassessBy !== null && (!isDay(reassessBy) || reassessBy <= assessedOn)) return { code: "dates-disagree", field: "reassessBy" };
  return null;
}

/** A day of the calendar: `2026-02-30` is none. */
function isDay(text: string): boolean {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text)) return false;
  const at = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(at.getTime()) && at.toISOString().startsWith(text);
}

function enteredRegions({ regions }: CurveRecordDraft, source: Source): Result<CurveRecord["regions"]> {
  const proximal = enteredFinding("proximal-thoracic", regions["proximal-thoracic"], source);
  if (!proximal.ok) return proximal;
  const thoracic = enteredFinding("thoracic", regions.thoracic, source);
  if (!thoracic.ok) return thoracic;
  const thoracolumbar = enteredFinding("thoracolumbar", regions.thoracolumbar, source);
  if (!thoracolumbar.ok) return thoracolumbar;
  const lumbar = enteredFinding("lumbar", regions.lumbar, source);
  if (!lumbar.ok) return lumbar;
  const entered = {
    "proximal-thoracic": proximal.value, thoracic: thoracic.value, thoracolumbar: thoracolumbar.value, lumbar: lumbar.value,
  };
  if (REGIONS.every((region) => entered[region].state === "not-assessed")) return refuse("record-incomplete", { field: "regions" });
  const places = REGIONS.flatMap((region) => {
    const finding = entered[region];
    return finding.state === "curve" ? [placeOf(finding.apex)] : [];
  });
  // Both thoracic curves may have their apex at T2 to T5; the proximal one is the upper.
  const isInOrder = places.every((place, index) => index === 0 || place > (places[index - 1] ?? place));
  return isInOrder ? ok(entered) : refuse("curves-out-of-order", { field: "proximal-thoracic" });
}

function enteredFinding(region: Region, draft: FindingDraft | null, source: Source): Result<Finding> {
  if (draft === null) return refuse("record-incomplete", { field: region });
  if (draft.state !== "curve") return ok(draft);
  const { convexSide, cobbDegrees } = draft;
  if (convexSide === null) return refuse("record-incomplete", { field: region });
  const apex = readApex(draft.apex);
  if (!apex.ok) return refuse(apex.problem.code, { ...(apex.problem.values ? { values: apex.problem.values } : {}), field: region });
  if (!regionsOf(apex.value).includes(region)) {
    return refuse("apex-region-disagree", { values: { apex: apex.value, region }, field: region });
  }
  // A Cobb angle is measured on a picture of the spine; an examination alone has none.
  const isAngle = cobbDegrees === null || (source !== "examination" && cobbDegrees > 0 && cobbDegrees <= 180);
  return isAngle ? ok({ state: "curve", convexSide, apex: apex.value, cobbDegrees }) : refuse("form-invalid", { field: region });
}

/** What the therapist has not yet said a second time, the most dangerous first. */
function unconfirmed(record: CurveRecord, said: Confirmations, warnings: readonly RecordWarning[]): Problem | null {
  for (const region of REGIONS) {
    const finding = record.regions[region];
    if (finding.state !== "curve") continue;
    if (needsTherapistsWord(finding) && !record.therapistCounts.includes(region)) return { code: "curve-under-threshold", field: region };
    if (said.readBack[region] !== finding.convexSide) return { code: "side-not-read-back", field: region };
    if (record.filmViewedFrom === "front" && said.onPicture[region] !== opposite(finding.convexSide)) {
      return { code: "picture-side-disagree", field: region };
    }
  }
  const open = warnings.find((each) => !said.acknowledged.includes(each.id));
  if (!open) return null;
  const isUncommon = open.code === "left-thoracic" || open.code === "high-thoracic";
  return { code: isUncommon ? "uncommon-unconfirmed" : "prominence-disagree", field: open.region };
}
