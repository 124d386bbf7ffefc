import "server-only";
import { REGIONS } from "@/lib/domain/curve/region";
import type { CurveRecord } from "@/lib/domain/curve/record";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** What a curve record says of each region, from head to seat; a curve by the child's own side to which it bulges. */
export function curveLines({ regions }: Pick<CurveRecord, "regions">, reader: Reader): readonly string[] {
  const t = say("archive", reader);
  return REGIONS.map((region) => {
    const finding = regions[region];
    if (finding.state !== "curve") return t(`curve.${finding.state}`, { region });
    const { convexSide: side, apex, cobbDegrees } = finding;
    return cobbDegrees === null ? t("curve.unmeasured", { region, side, apex }) : t("curve.measured", { region, side, apex, degrees: cobbDegrees });
  });
}
