import { z } from "zod";
import { apexesOf, placeOf, REGIONS, type Region } from "@/lib/domain/curve/region";
import { FILM_VIEWS, PROMINENCES, SOURCES, type CurveRecord } from "@/lib/domain/curve/record";
import { SIDES } from "@/lib/domain/sides";

const findingIn = (region: Region) =>
  z.discriminatedUnion("state", [
    z.strictObject({
      state: z.literal("curve"),
      convexSide: z.enum(SIDES),
      // A stored record whose apex and region disagree is no record.
      apex: z.enum(apexesOf(region)),
      cobbDegrees: z.number().positive().max(180).nullable(),
    }),
    z.strictObject({ state: z.literal("none") }),
    z.strictObject({ state: z.literal("not-assessed") }),
  ]);

/** The stored form of a curve record. Strict: what it does not know, it refuses. */
export const StoredCurveRecord: z.ZodType<CurveRecord> = z
  .strictObject({
    assessedOn: z.iso.date(),
    source: z.enum(SOURCES),
    filmViewedFrom: z.enum(FILM_VIEWS),
    regions: z.strictObject({
      "proximal-thoracic": findingIn("proximal-thoracic"),
      thoracic: findingIn("thoracic"),
      thoracolumbar: findingIn("thoracolumbar"),
      lumbar: findingIn("lumbar"),
    }),
    prominence: z.strictObject({ ribs: z.enum(PROMINENCES), lowBack: z.enum(PROMINENCES) }),
    reassessBy: z.iso.date().nullable(),
    therapistCounts: z.array(z.enum(REGIONS)),
  })
  .refine(({ source, filmViewedFrom }) => (source === "examination") === (filmViewedFrom === "no-film"))
  .refine(({ regions }) => {
    const places = REGIONS.flatMap((region) => {
      const finding = regions[region];
      return finding.state === "curve" ? [placeOf(finding.apex)] : [];
    });
    return places.every((place, index) => index === 0 || place > (places[index - 1] ?? place));
  });
