import type { Confirmations, CurveRecordDraft, FindingDraft } from "@/lib/domain/curve/check-record";
import type { Curve, CurveRecord } from "@/lib/domain/curve/record";
import type { Level } from "@/lib/domain/curve/region";
import type { Side } from "@/lib/domain/sides";

export const TODAY = "2026-03-02";

export const curve = (convexSide: Side, apex: Level, cobbDegrees: number | null = 22): Curve => ({ state: "curve", convexSide, apex, cobbDegrees });
export const NONE = { state: "none" } as const;
export const NOT_ASSESSED = { state: "not-assessed" } as const;

/** The common double pattern: thoracic right, lumbar left. */
export const RECORD: CurveRecord = {
  assessedOn: "2026-02-10",
  source: "radiograph",
  filmViewedFrom: "behind",
  regions: { "proximal-thoracic": NONE, thoracic: curve("right", "T8"), thoracolumbar: NONE, lumbar: curve("left", "L2") },
  prominence: { ribs: "right", lowBack: "left" },
  reassessBy: "2026-08-10",
  therapistCounts: [],
};

export const SAID: Confirmations = { readBack: { thoracic: "right", lumbar: "left" }, onPicture: {}, acknowledged: [] };

export const draft = (change: Partial<CurveRecordDraft> = {}): CurveRecordDraft => ({ ...RECORD, ...change });
export const withRegions = (change: Partial<Record<keyof CurveRecord["regions"], FindingDraft | null>>): CurveRecordDraft =>
  draft({ regions: { ...RECORD.regions, ...change } });
