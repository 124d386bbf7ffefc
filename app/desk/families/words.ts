import "server-only";
import { patternName } from "@/app/desk/queue-words";
import type { SetupLabel } from "@/app/ui/schematic/setup-schematic";
import type { SpineLabel } from "@/app/ui/schematic/spine-schematic";
import type { DrawnCurve } from "@/app/ui/schematic/spine-geometry";
import { patternOf, type CurveRecord } from "@/lib/domain/curve/record";
import { REGIONS } from "@/lib/domain/curve/region";
import type { GoAhead } from "@/lib/domain/setup/go-ahead";
import { REASON_STATE } from "@/lib/domain/setup/go-ahead-reasons";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { opposite } from "@/lib/domain/sides";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import { personName } from "@/lib/records/standing";

const desk = say("desk");
const exercise = say("exercise");

/** "thoracic right, lumbar left"; what was not assessed is part of it. */
export const patternWords = (record: CurveRecord): string => patternName(patternOf(record));

export const drawnCurves = (record: CurveRecord): readonly DrawnCurve[] => REGIONS.flatMap((region) => {
  const finding = record.regions[region];
  return finding.state === "curve" ? [{ region, side: finding.convexSide, apex: finding.apex }] : [];
});

export const spineLabel = (pattern: string): SpineLabel => ({
  title: desk("families.spineTitle"),
  desc: desk("families.spineDesc", { pattern }),
  letters: { left: desk("families.letters.left"), right: desk("families.letters.right") },
  words: { left: exercise("side", { side: "left" }), right: exercise("side", { side: "right" }) },
});

export const setupLabel = ({ setup }: Pick<CoveredResolution, "setup">): SetupLabel => ({
  title: desk("families.setupTitle"),
  desc: desk("families.setupDesc", { side: setup.lieOn }),
  down: desk("families.down", { side: setup.lieOn }),
  up: desk("families.up", { side: opposite(setup.lieOn) }),
  ...(setup.breatheInto ? { breathe: desk("families.breathe", { side: setup.breatheInto.side }) } : {}),
});

/** The whole set-up in sentences, the side down first. */
export function setupSentences({ setup, breath, movement, activation, dose }: CoveredResolution): readonly string[] {
  const { lieOn, prop, topArm, bottomArm, topLeg, bottomLeg, breatheInto } = setup;
  return [
    exercise("setup.lieOn", { side: lieOn }),
    prop ? exercise(`setup.prop.${prop.kind}.${prop.place}`, { side: prop.side }) : exercise("setup.prop.none"),
    exercise(`setup.bottomArm.${bottomArm.position}`, { side: bottomArm.side }),
    exercise(`setup.topArm.${topArm.position}`, { side: topArm.side }),
    exercise(`setup.bottomLeg.${bottomLeg.position}`, { side: bottomLeg.side }),
    exercise(`setup.topLeg.${topLeg.position}`, { side: topLeg.side }),
    exercise(`setup.breath.${breath}`, { side: breatheInto?.side ?? "none" }),
    exercise(`setup.movement.${movement}`, { side: topLeg.side }),
    ...(activation ? [exercise(`setup.activation.${activation}`, { side: topArm.side })] : []),
    exercise("setup.dose", { breaths: dose.breaths, times: dose.times }),
  ];
}

/** `decides` is false for a reason weaker than the go-ahead itself. */
export type ReasonWords = { readonly key: string; readonly text: string; readonly decided: string; readonly decides: boolean };

/** Every reason with its date and who decided. */
export function reasonWords({ state, reasons }: GoAhead, names: ExerciseNames, practiceId: string, zone: string): readonly ReasonWords[] {
  return reasons.map((reason) => {
    const item = "itemKey" in reason ? names.itemTitle(reason.itemKey) : "";
    return {
      key: `${reason.code} ${"itemKey" in reason ? reason.itemKey : "stopId" in reason ? reason.stopId : ""}`,
      text: desk(`families.reason.${reason.code}`, { item }),
      decides: REASON_STATE[reason.code] === state,
      decided: reason.since === null
        ? desk("families.nobody")
        : desk("families.decided", { date: formatDate(reason.since, zone), who: personName(practiceId, reason.by) ?? desk("families.system") }),
    };
  });
}
