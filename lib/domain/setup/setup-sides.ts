import type {
  BottomArmPosition, BottomLegPosition, PropKind, PropPlace, TopArmPosition, TopLegPosition,
} from "@/lib/domain/setup/exercise";
import { opposite, type Side } from "@/lib/domain/sides";

/** A set-up with its sides resolved: the child's own left and right. Plain data. */
export type SetupSides = {
  readonly lieOn: Side;
  readonly prop: { readonly kind: PropKind; readonly side: Side; readonly place: PropPlace } | null;
  readonly topArm: { readonly side: Side; readonly position: TopArmPosition };
  readonly bottomArm: { readonly side: Side; readonly position: BottomArmPosition };
  readonly topLeg: { readonly side: Side; readonly position: TopLegPosition };
  readonly bottomLeg: { readonly side: Side; readonly position: BottomLegPosition };
  /** Null when the breath is taught with no side. */
  readonly breatheInto: { readonly side: Side } | null;
};

type OfSide = { readonly side: Side };
/** The sides alone, which is all that a cue asks for. */
export type CueSides = Pick<SetupSides, "lieOn" | "breatheInto"> & { readonly prop: OfSide | null } & Readonly<Record<"topArm" | "bottomArm" | "topLeg" | "bottomLeg", OfSide>>;

export const mirrorSetup = (setup: SetupSides): SetupSides => ({
  lieOn: opposite(setup.lieOn),
  prop: setup.prop && { ...setup.prop, side: opposite(setup.prop.side) },
  topArm: { ...setup.topArm, side: opposite(setup.topArm.side) },
  bottomArm: { ...setup.bottomArm, side: opposite(setup.bottomArm.side) },
  topLeg: { ...setup.topLeg, side: opposite(setup.topLeg.side) },
  bottomLeg: { ...setup.bottomLeg, side: opposite(setup.bottomLeg.side) },
  breatheInto: setup.breatheInto && { side: opposite(setup.breatheInto.side) },
});

/** Changes exactly when a side does; side-dependent items then start again. Read by `sidesOfKey` alone. */
export const sidesKey = (setup: SetupSides): string =>
  [
    `lie-${setup.lieOn}`,
    `prop-${setup.prop?.side ?? "none"}`,
    `top-arm-${setup.topArm.side}`,
    `bottom-arm-${setup.bottomArm.side}`,
    `top-leg-${setup.topLeg.side}`,
    `bottom-leg-${setup.bottomLeg.side}`,
    `breath-${setup.breatheInto?.side ?? "none"}`,
  ].join(" ");

const KEY = /^lie-(left|right) prop-(left|right|none) top-arm-(left|right) bottom-arm-(left|right) top-leg-(left|right) bottom-leg-(left|right) breath-(left|right|none)$/;

/** The sides behind a key; null for none that `sidesKey` made. */
export function sidesOfKey(key: string): CueSides | null {
  const sides = KEY.exec(key)?.slice(1).map((word): Side | null => (word === "left" || word === "right" ? word : null));
  const [lieOn, prop, topArm, bottomArm, topLeg, bottomLeg, breath] = sides ?? [];
  if (!lieOn || !topArm || !bottomArm || !topLeg || !bottomLeg) return null;
  return {
    lieOn, prop: prop ? { side: prop } : null, topArm: { side: topArm }, bottomArm: { side: bottomArm },
    topLeg: { side: topLeg }, bottomLeg: { side: bottomLeg }, breatheInto: breath ? { side: breath } : null,
  };
}

/** A body that lies on one side has that side's arm and leg below, the other's above, and the prop below. */
export const isPossible = ({ lieOn, prop, topArm, bottomArm, topLeg, bottomLeg }: SetupSides): boolean =>
  [bottomArm.side, bottomLeg.side, prop?.side ?? lieOn].every((side) => side === lieOn) &&
  [topArm.side, topLeg.side].every((side) => side === opposite(lieOn));
