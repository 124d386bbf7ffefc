import "server-only";
import { patternName } from "@/app/desk/queue-words";
import { patternOf } from "@/lib/domain/curve/record";
import { REGIONS } from "@/lib/domain/curve/region";
import type { CurveSide } from "@/lib/domain/setup/exercise";
import { recordOfPattern, type PatternStates } from "@/lib/domain/setup/resolve-all";
import type { WritingProblem } from "@/lib/domain/setup/write-exercise";
import { say } from "@/lib/messages/say";

/** "thoracic right, lumbar left". */
export const patternWords = (states: PatternStates): string => patternName(patternOf(recordOfPattern(states)));

/** "lumbar: the side it bulges to". */
export function curveSideWords(side: CurveSide): string {
  const region = REGIONS.find((each) => side.replace(/-con(?:vex|cave)$/, "") === each) ?? "lumbar";
  return say("exercises")(`curveSide.${side.endsWith("-convex") ? "convex" : "concave"}`, { region: say("exercise")("pattern.region", { region }) });
}

export const problemText = ({ code, item, phase, pattern }: WritingProblem): string => say("exercises")(`problem.${code}`, {
  item: item ?? "", phase: phase ? say("exercise")(`phases.${phase}`) : "", pattern: pattern ? patternWords(pattern) : "",
});
