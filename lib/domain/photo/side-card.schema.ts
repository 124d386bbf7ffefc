import { z } from "zod";
import { isCardNumber } from "@/lib/domain/photo/card-number";
import type { CardFinding } from "@/lib/domain/photo/side-card";

const Corner = z.strictObject({ x: z.number().min(0).max(1), y: z.number().min(0).max(1) }).readonly();
const Reading = z.strictObject({
  number: z.string().refine(isCardNumber),
  mirrored: z.boolean(),
  corners: z.tuple([Corner, Corner, Corner, Corner]).readonly(),
  turnToUpright: z.union([z.literal(0), z.literal(90), z.literal(180), z.literal(270)]),
  levelDegrees: z.number().min(-45).max(45).nullable(),
  modulePixels: z.number().positive(),
});
const Version1 = z.discriminatedUnion("found", [
  z.strictObject({ version: z.literal(1), found: z.literal("one"), reading: Reading }),
  z.strictObject({ version: z.literal(1), found: z.literal("several") }),
]);

export const serialiseFinding = (finding: CardFinding): string => JSON.stringify({ version: 1, ...finding });

/** What is stored with a photo; null where no card was found. Throws on anything else that is no finding of ours. */
export function parseFinding(stored: string | null): CardFinding | null {
  if (stored === null) return null;
  const finding = Version1.parse(JSON.parse(stored));
  return finding.found === "several" ? { found: "several" } : { found: "one", reading: finding.reading };
}
