import type { CurveRecord, Prominence } from "@/lib/domain/curve/record";
import { isHighThoracic, type Region } from "@/lib/domain/curve/region";
import type { Side } from "@/lib/domain/sides";

/** What asks for a second look. None is a diagnosis, none is wrong by itself. */
export const WARNINGS = ["ribs-disagree", "low-back-disagrees", "ribs-without-curve", "low-back-without-curve", "left-thoracic", "high-thoracic"] as const;
export type WarningCode = (typeof WARNINGS)[number];

export type RecordWarning = {
  /** Changes when a side in it does, so that an acknowledgement never outlives what was looked at. */
  readonly id: string;
  readonly code: WarningCode;
  readonly region: Region;
  /** The side the record says, where the warning is about one. */
  readonly recorded: Side | null;
  /** The side seen in person, where the warning is about one. */
  readonly seen: Side | null;
};

const warning = (code: WarningCode, region: Region, recorded: Side | null, seen: Side | null): RecordWarning => ({
  id: [code, region, recorded, seen].filter((part) => part !== null).join(":"),
  code, region, recorded, seen,
});

const sideSeen = (seen: Prominence): Side | null => (seen === "left" || seen === "right" ? seen : null);

/** The second looks a record asks for, from head to seat. */
export function openWarnings({ regions, prominence }: CurveRecord): readonly RecordWarning[] {
  return [
    ...disagreements("ribs-disagree", ["thoracic"], sideSeen(prominence.ribs)),
    ...disagreements("low-back-disagrees", ["thoracolumbar", "lumbar"], sideSeen(prominence.lowBack)),
    ...withoutCurve("ribs-without-curve", ["thoracic", "thoracolumbar"], sideSeen(prominence.ribs)),
    ...withoutCurve("low-back-without-curve", ["lumbar", "thoracolumbar"], sideSeen(prominence.lowBack)),
    ...uncommon(),
  ];

  /** A prominence stands on the convex side, so the other side means one of the two was read wrongly. */
  function disagreements(code: WarningCode, looked: readonly Region[], seen: Side | null): readonly RecordWarning[] {
    return looked.flatMap((region) => {
      const finding = regions[region];
      return seen !== null && finding.state === "curve" && finding.convexSide !== seen
        ? [warning(code, region, finding.convexSide, seen)]
        : [];
    });
  }

  /** Something stands out where every curve that could do it was assessed as none. */
  function withoutCurve(code: WarningCode, looked: readonly [Region, Region], seen: Side | null): readonly RecordWarning[] {
    return seen !== null && looked.every((region) => regions[region].state === "none") ? [warning(code, looked[0], null, seen)] : [];
  }

  function uncommon(): readonly RecordWarning[] {
    const { thoracic } = regions;
    if (thoracic.state !== "curve") return [];
    return [
      // 3 % of the thoracic curves of 1,835 young people were convex to the left (abstract of the
      // multicentre review that quotes the Scoliosis Research Society definitions).
      ...(thoracic.convexSide === "left" ? [warning("left-thoracic", "thoracic", "left", null)] : []),
      // Its commoner name is proximal thoracic, which this record may have meant (from memory).
      ...(isHighThoracic(thoracic.apex) ? [warning("high-thoracic", "thoracic", thoracic.convexSide, null)] : []),
    ];
  }
}
