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

export const mirrorSetup = (setup: SetupSides): SetupSides => ({
  lieOn: opposite(setup.lieOn),
  prop: setup.prop && { ...setup.prop, side: opposite(setup.prop.side) },
  topArm: { ...setup.topArm, side: opposite(setup.topArm.side) },
  bottomArm: { ...setup.bottomArm, side: opposite(setup.bottomArm.side) },
  topLeg: { ...setup.topLeg, side: opposite(setup.topLeg.side) },
  bottomLeg: { ...setup.bottomLeg, side: opposite(setup.bottomLeg.side) },
  breatheInto: setup.breatheInto && { side: opposite(setup.breatheInto.side) },
});

/** Changes exactly when a side does; side-dependent items then start again. Opaque. */
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

/** A body that lies on one side has that side's arm and leg below, the other's above, and the prop below. */
export const isPossible = ({ lieOn, prop, topArm, bottomArm, topLeg, bottomLeg }: SetupSides): boolean =>
  [bottomArm.side, bottomLeg.side, prop?.side ?? lieOn].every((side) => side === lieOn) &&
  [topArm.side, topLeg.side].every((side) => side === opposite(lieOn));
