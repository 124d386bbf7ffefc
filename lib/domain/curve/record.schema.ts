import { z } from "zod";
import { APEXES, REGIONS } from "@/lib/domain/curve/region";
import { SIDES } from "@/lib/domain/sides";

const Day = z.string().regex(/^\d{4}-\d{2}-\d{2}$/);
const Finding = z.discriminatedUnion("state", [
  z.strictObject({
    state: z.literal("curve"),
    convexSide: z.enum(SIDES),
    apex: z.enum(APEXES),
    cobbDegrees: z.number().min(0).max(180).nullable(),
  }),
  z.strictObject({ state: z.literal("none") }),
  z.strictObject({ state: z.literal("not-assessed") }),
]);
const Seen = z.enum([...SIDES, "none", "not-looked"]);

/** A curve record as stored; anything else in that column is refused. */
export const StoredCurveRecord = z.strictObject({
  assessedOn: Day,
  source: z.enum(["radiograph", "other-imaging", "examination"]),
  filmViewedFrom: z.enum(["behind", "front", "no-film"]),
  regions: z.strictObject({
    "proximal-thoracic": Finding,
    thoracic: Finding,
    thoracolumbar: Finding,
    lumbar: Finding,
  }),
  prominence: z.strictObject({ ribs: Seen, lowBack: Seen }),
  reassessBy: Day.nullable(),
  countedByWord: z.array(z.enum(REGIONS)),
});
