import { z } from "zod";
import { isLocalDate } from "@/lib/domain/time/local";
import { CLOCK, minutesOf } from "@/lib/domain/time/spans";
import type { OpenSpan } from "@/lib/domain/time/working-week";

export const LocalDateSchema = z.string().refine(isLocalDate);

const OpenSpanSchema = z
  .tuple([z.string().regex(CLOCK), z.string().regex(CLOCK)])
  .refine(([from, to]) => from !== "24:00" && from !== to)
  .readonly();

/** The spans of one day, as they enter from a form or leave a JSON column; they do not overlap. */
export const OpenSpansSchema = z.array(OpenSpanSchema).max(12).refine(doNotOverlap).readonly();

/** A week of working hours, day by day. */
export const WorkingWeekSchema = z
  .object({
    "1": OpenSpansSchema.exactOptional(),
    "2": OpenSpansSchema.exactOptional(),
    "3": OpenSpansSchema.exactOptional(),
    "4": OpenSpansSchema.exactOptional(),
    "5": OpenSpansSchema.exactOptional(),
    "6": OpenSpansSchema.exactOptional(),
    "7": OpenSpansSchema.exactOptional(),
  })
  .strict()
  .readonly();

function doNotOverlap(spans: readonly OpenSpan[]): boolean {
  const inOrder = spans
    .filter(([from, to]) => CLOCK.test(from) && CLOCK.test(to))
    .map(([from, to]) => [minutesOf(from), minutesOf(to)] as const)
    .sort((a, b) => a[0] - b[0]);
  return inOrder.every(([from, to], at) => {
    const next = inOrder[at + 1];
    return next === undefined || (to > from && next[0] >= to);
  });
}
