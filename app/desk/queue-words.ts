import "server-only";
import type { Pattern } from "@/lib/domain/curve/record";
import { say } from "@/lib/messages/say";

const MINUTE_MS = 60_000;

/** Working time in hours and minutes. */
export function spanWords(ms: number): string {
  const minutes = Math.round(Math.abs(ms) / MINUTE_MS);
  return say("desk")("times.span", { hours: Math.floor(minutes / 60), minutes: minutes % 60 });
}

/** "thoracic right, lumbar left". */
export function patternName({ curves, notAssessed }: Pattern): string {
  const exercise = say("exercise");
  const parts = [
    ...curves.map((each) => exercise("pattern.curve", each)),
    ...notAssessed.map((region) => exercise("pattern.not-assessed", { region })),
  ];
  return parts.length === 0 ? exercise("pattern.no-curve") : parts.join(", ");
}
