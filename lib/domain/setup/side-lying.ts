import type { Exercise, ExerciseItem } from "@/lib/domain/setup/exercise";
import type { Evidence, Phase, View } from "@/lib/domain/setup/vocabulary";

const ANY: readonly View[] = ["behind", "front", "head-end", "other"];
const STILL: readonly Evidence[] = ["still", "clip", "live"];
const CLIP_OR_LIVE: readonly Evidence[] = ["clip", "live"];

const item = (key: string, phase: Phase, evidence: readonly Evidence[], views: readonly View[], detail: Partial<ExerciseItem> = {}): ExerciseItem =>
  ({ key, phase, requiredForGo: true, evidence, views, isStop: false, sideDependent: true, ...detail });

/**
 * Which items a photo can settle are required for `go`. What only a clip or being there shows is
 * asked and judged, yet does not hold back a family that can send photos only. Common practice, no source.
 */
const ITEMS: readonly ExerciseItem[] = [
  item("side-down", "position", STILL, ANY, { isStop: true }),
  item("prop-low-back", "position", STILL, ["behind"], { isStop: true }),
  // For an individual set-up with the prop higher up.
  item("prop-ribs", "position", STILL, ["behind"], { isStop: true }),
  item("prop-apex-spot", "position", STILL, ["behind"]),
  item("stacked", "position", STILL, ["head-end", "behind"]),
  item("head-neck", "position", STILL, ["behind", "front", "head-end"], { sideDependent: false }),
  item("bottom-arm-long", "position", STILL, ["behind", "front", "head-end"]),
  item("elbow-high", "position", STILL, ["behind", "front", "head-end"]),
  item("armpit-open", "position", STILL, ["front"]),
  item("bottom-knee-bent", "position", STILL, ["behind", "front"]),
  item("top-leg-straight", "position", STILL, ["behind", "front"]),
  item("ribs-wide", "breath", CLIP_OR_LIVE, ["behind", "front"], { requiredForGo: false }),
  item("shoulder-blade-forward", "movement", CLIP_OR_LIVE, ["behind"], { requiredForGo: false }),
  item("leg-reach", "movement", STILL, ["behind", "front"]),
  item("stool-steady", "activation", STILL, ["front", "head-end", "other"], { sideDependent: false }),
  item("stool-press", "activation", CLIP_OR_LIVE, ["front", "behind"], { requiredForGo: false }),
];

const SHARED = [
  "side-down", "prop-low-back", "prop-apex-spot", "stacked", "head-neck", "bottom-arm-long",
  "bottom-knee-bent", "top-leg-straight", "ribs-wide", "leg-reach",
] as const;

/**
 * Side-lying over a small prop, top arm up. Set-up rules: common practice, no source; the therapist
 * confirms each for the child. The mirror image of a curve pattern gets the mirror-image set-up.
 *
 * Proximal thoracic and thoracolumbar must both be assessed as none: a third curve makes another
 * pattern, which the rules do not cover.
 */
export const SIDE_LYING: Exercise = {
  key: "side-lying",
  version: 1,
  titleKey: "side-lying",
  phases: ["position", "breath", "movement", "activation"],
  items: ITEMS,
  variations: [
    {
      key: "thoracic-lumbar-opposite",
      coverage: "covered",
      when: { "proximal-thoracic": "none", thoracic: "curve", thoracolumbar: "none", lumbar: "curve" },
      opposite: [["thoracic", "lumbar"]],
      lieOn: "lumbar-convex",
      prop: { kind: "two-small-bags", place: "low-back" },
      topArm: "up",
      bottomArm: "long-palm-down",
      topLeg: "straight",
      bottomLeg: "knee-bent",
      breatheInto: "thoracic-concave",
      breath: "widen-upper-back",
      movement: "blade-slide-and-leg-reach",
      activation: "press-stool",
      phases: ["position", "breath", "movement", "activation"],
      items: [...SHARED, "elbow-high", "armpit-open", "shoulder-blade-forward", "stool-steady", "stool-press"],
    },
    {
      key: "lumbar-alone",
      coverage: "adapted",
      when: { "proximal-thoracic": "none", thoracic: "none", thoracolumbar: "none", lumbar: "curve" },
      opposite: [],
      lieOn: "lumbar-convex",
      prop: { kind: "two-small-bags", place: "low-back" },
      topArm: "on-hip",
      bottomArm: "long-palm-down",
      topLeg: "straight",
      bottomLeg: "knee-bent",
      breatheInto: null,
      breath: "slow-ribs-wide",
      movement: "leg-reach",
      activation: null,
      phases: ["position", "breath", "movement"],
      items: SHARED,
    },
  ],
  dose: { breaths: 5, times: 4 },
};
