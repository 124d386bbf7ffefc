import type { Exercise, ExerciseItem } from "@/lib/domain/setup/exercise";
import type { Evidence, Phase, View } from "@/lib/domain/setup/vocabulary";

type Traits = { stop?: true; optional?: true; anySide?: true };

const item = (key: string, phase: Phase, evidence: Evidence[], views: View[], traits: Traits = {}): ExerciseItem => ({
  key,
  phase,
  requiredForGo: !traits.optional,
  evidence,
  views,
  isStop: traits.stop ?? false,
  sideDependent: !traits.anySide,
});

const STILL: Evidence[] = ["still", "clip", "live"];
const MOVING: Evidence[] = ["clip", "live"];

const IN_BOTH = [
  "side-down", "prop-low-back", "prop-apex-spot", "stacked", "head-neck", "bottom-arm-long", "bottom-knee-bent", "top-leg-straight",
  "ribs-wide", "leg-reach",
];

/**
 * Side-lying over a small prop, top arm up. Rules, items and dose: common practice, no source.
 * What only a clip or a visit can show is not required for `go`, or a photo could never earn it.
 */
export const SIDE_LYING: Exercise = {
  key: "side-lying",
  version: 1,
  dose: { breaths: 5, times: 4 },
  items: [
    item("side-down", "position", STILL, [], { stop: true }),
    item("prop-low-back", "position", STILL, ["behind"], { stop: true }),
    item("prop-apex-spot", "position", STILL, ["behind"]),
    item("stacked", "position", STILL, ["head-end", "behind"], { anySide: true }),
    item("head-neck", "position", STILL, ["behind", "front", "head-end"], { anySide: true }),
    item("bottom-arm-long", "position", STILL, ["behind", "front"]),
    item("elbow-high", "position", STILL, ["behind", "front"]),
    item("armpit-open", "position", STILL, ["front"]),
    item("bottom-knee-bent", "position", STILL, ["behind", "front"]),
    item("top-leg-straight", "position", STILL, ["behind", "front"]),
    item("ribs-wide", "breath", MOVING, [], { optional: true }),
    item("shoulder-blade-forward", "movement", MOVING, ["behind"], { optional: true }),
    item("leg-reach", "movement", STILL, ["behind", "front"]),
    item("stool-steady", "activation", STILL, ["behind", "front"], { anySide: true }),
    item("stool-press", "activation", MOVING, [], { optional: true }),
  ],
  variations: [
    {
      key: "thoracic-and-lumbar",
      coverage: "covered",
      regions: { "proximal-thoracic": "none", thoracic: "curve", thoracolumbar: "none", lumbar: "curve" },
      opposed: [["thoracic", "lumbar"]],
      lieOn: { region: "lumbar", is: "convex" },
      prop: { kind: "two-small-bags", place: "low-back" },
      topArm: "up-elbow-high",
      bottomArm: "long-palm-down",
      topLeg: "straight",
      bottomLeg: "knee-bent",
      breatheInto: { region: "thoracic", is: "concave" },
      phases: ["position", "breath", "movement", "activation"],
      items: [...IN_BOTH, "elbow-high", "armpit-open", "shoulder-blade-forward", "stool-steady", "stool-press"],
    },
    {
      key: "lumbar-alone",
      coverage: "adapted",
      regions: { "proximal-thoracic": "none", thoracic: "none", thoracolumbar: "none", lumbar: "curve" },
      opposed: [],
      lieOn: { region: "lumbar", is: "convex" },
      prop: { kind: "two-small-bags", place: "low-back" },
      topArm: "on-hip-or-resting",
      bottomArm: "long-palm-down",
      topLeg: "straight",
      bottomLeg: "knee-bent",
      breatheInto: null,
      phases: ["position", "breath", "movement"],
      items: IN_BOTH,
    },
  ],
};
