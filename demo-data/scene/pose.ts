import type { Scene } from "@/demo-data/scene/params";
import { along, body, bone, degrees, lengthOf, plus, radians, toward, type Ball, type Body, type Slice } from "@/demo-data/scene/space";

/** Where the low back bends most in the figure: between the ribs and the hip bone, in body heights from the crown. */
export const APEX_AT = 0.405;
const SHOULDER_AT = 0.212;
const HIP_AT = 0.5;
/** Shoulder line to hip line, in body heights: the unit of `propOffset`. */
export const TRUNK = HIP_AT - SHOULDER_AT;

const BAG_HEIGHT = 0.0225;

// A child of about ten: half breadth and half depth of the trunk, drawn by eye.
const BREADTH = [[0.165, 0.034], [0.185, 0.066], [0.208, 0.102], [0.25, 0.1], [0.3, 0.0895], [0.35, 0.0755], [0.395, 0.067], [0.435, 0.0735], [0.48, 0.0905], [0.515, 0.096], [0.555, 0.088]] as const;
const DEPTH = [[0.165, 0.034], [0.208, 0.052], [0.27, 0.064], [0.355, 0.058], [0.405, 0.053], [0.5, 0.066], [0.555, 0.058]] as const;
/** Air between the trunk and the floor. */
const GAP = [[0.165, 0.068], [0.185, 0.036], [0.21, 0.006], [0.25, 0.001], [0.3, 0.003], [0.35, 0.013], [0.4, 0.024], [0.44, 0.016], [0.49, 0.001], [0.555, 0.006]] as const;

export type Pose = {
  readonly trunk: readonly Slice[];
  readonly head: readonly Slice[];
  readonly neck: readonly Ball[];
  readonly topArm: Arm;
  readonly bottomArm: Arm;
  readonly topLeg: Leg;
  readonly bottomLeg: Leg;
  readonly bags: readonly (readonly Slice[])[];
  readonly joints: Joints;
  readonly angles: Angles;
};
export type Arm = { readonly sleeve: readonly Ball[]; readonly skin: readonly Ball[]; readonly thumb: readonly Ball[] };
export type Leg = { readonly cloth: readonly Ball[]; readonly foot: readonly Ball[] };
export type Joints = Record<"head" | "shoulder" | "elbow" | "hip" | "knee" | "topKnee" | "apexBack" | "apexFront" | "prop", Body> & {
  /** Front of the body as it turns with the trunk, at a place along it. */
  readonly surface: (s: number, up: number, front: number) => Body;
};
export type Angles = {
  /** Degrees from straight, at the knee of the leg below and of the leg above. */
  readonly kneeBend: number;
  readonly topKneeBend: number;
  /** Degrees above level. */
  readonly topLegLift: number;
  readonly elbowRise: number;
  /** Degrees between the upper arm and the trunk's long axis toward the feet. */
  readonly armpit: number;
  /** Degrees from stacked. */
  readonly shoulderRoll: number;
};

/** The body that the parameters describe, whichever side is down: nothing here is left or right. */
export function poseOf(scene: Scene): Pose {
  const roll = radians(scene.rolled * 38);
  const propAt = APEX_AT - scene.propOffset * TRUNK;
  const turn = (s: number) => roll * along([[0.2, 1], [0.5, 0.2]], s);
  const rise = scene.propCount > 0 ? Math.max(0, BAG_HEIGHT * scene.propCount - along(GAP, propAt)) : 0;

  const axis = (s: number) => {
    const [breadth, depth, angle] = [along(BREADTH, s), along(DEPTH, s), turn(s)];
    const lowest = Math.hypot(breadth * Math.cos(angle), depth * Math.sin(angle));
    return body(s, lowest + along(GAP, s) + rise * Math.exp(-(((s - propAt) / 0.1) ** 2)), 0);
  };
  const upOf = (s: number) => body(0, Math.cos(turn(s)), Math.sin(turn(s)));
  const frontOf = (s: number) => body(0, -Math.sin(turn(s)), Math.cos(turn(s)));
  const surface = (s: number, up: number, front: number) =>
    plus(plus(axis(s), upOf(s), up * along(BREADTH, s)), frontOf(s), front * along(DEPTH, s));

  const trunk = Array.from({ length: 40 }, (_, step) => 0.165 + (step / 39) * 0.39).map((s) => ({
    centre: axis(s),
    a: body(0, upOf(s).y * along(BREADTH, s), upOf(s).p * along(BREADTH, s)),
    b: body(0, frontOf(s).y * along(DEPTH, s), frontOf(s).p * along(DEPTH, s)),
  }));

  const head = body(0.082, 0.107 - 0.03 * scene.headDrop, 0.008);
  const topShoulder = surface(SHOULDER_AT, 0.72, 0);
  const topArm = scene.topArm === "up" ? armUp(topShoulder, head, scene) : armOnHip(topShoulder, surface(0.462, 0.96, 0.1));
  const topHip = surface(HIP_AT, 0.47, 0);
  const topLeg = legAbove(topHip, scene);
  const bottomLeg = legBelow(surface(HIP_AT, -0.5, 0), scene);
  return {
    trunk,
    head: headSlices(head),
    neck: bone(plus(head, body(0.035, 0, -0.008)), axis(0.2), [[0, 0.031], [0.6, 0.03], [1, 0.045]]),
    topArm: topArm.arm,
    bottomArm: armBelow(surface(SHOULDER_AT + 0.004, -0.72, 0.1), scene.bottomArmBend),
    topLeg: topLeg.leg,
    bottomLeg: bottomLeg.leg,
    bags: bagsAt(propAt, scene.propCount),
    joints: {
      head,
      shoulder: topShoulder,
      elbow: topArm.elbow,
      hip: topHip,
      knee: bottomLeg.knee,
      topKnee: topLeg.knee,
      apexBack: surface(APEX_AT, 0, -1),
      apexFront: surface(APEX_AT, 0, 1),
      prop: body(propAt, (BAG_HEIGHT * Math.max(1, scene.propCount)) / 2, 0),
      surface,
    },
    angles: {
      kneeBend: scene.kneeBend,
      topKneeBend: scene.topKneeBend,
      topLegLift: scene.topLegLift,
      elbowRise: degrees(Math.asin((topArm.elbow.y - topShoulder.y) / UPPER_ARM)),
      armpit: degrees(Math.acos((topArm.elbow.s - topShoulder.s) / UPPER_ARM)),
      shoulderRoll: degrees(roll),
    },
  };
}

function headSlices(centre: Body): Slice[] {
  return Array.from({ length: 21 }, (_, step) => -1 + step / 10).map((t) => {
    const swell = Math.sqrt(Math.max(0, 1 - t * t));
    // The skull is fuller toward the crown than at the jaw.
    const jaw = 1 - 0.1 * Math.max(0, t);
    return { centre: plus(centre, body(0.077 * t, 0, 0)), a: body(0, 0.061 * swell * jaw, 0), b: body(0, 0, 0.07 * swell) };
  });
}

const UPPER_ARM = 0.172;
const FOREARM = 0.148;
const HAND = 0.074;

function armUp(shoulder: Body, head: Body, { elbowHeight, armpitOpen }: Scene) {
  const rise = radians(-22 + 80 * elbowHeight);
  // From pointing forward, across the body, to opening toward the head.
  const swing = radians(-15 + 90 * armpitOpen);
  const way = body(-Math.cos(rise) * Math.sin(swing), Math.sin(rise), Math.cos(rise) * Math.cos(swing));
  const elbow = plus(shoulder, way, UPPER_ARM);
  // A high elbow lets the hand rest by the head; a low one leaves it on the floor in front.
  const onHead = plus(head, body(-0.035, 0.075, 0.05));
  const onFloor = body(head.s + 0.01, 0.03, 0.2);
  const rest = along([[0, 0], [0.75, 1]], elbowHeight);
  return { elbow, arm: arm(shoulder, elbow, plus(onFloor, plus(onHead, onFloor, -1), rest)) };
}

function armOnHip(shoulder: Body, hip: Body) {
  const reach = FOREARM + HAND * 0.55;
  const way = plus(hip, shoulder, -1);
  const far = lengthOf(way);
  const down = (UPPER_ARM ** 2 - reach ** 2 + far ** 2) / (2 * far);
  const out = Math.sqrt(Math.max(0, UPPER_ARM ** 2 - down ** 2));
  const foot = toward(shoulder, hip, down);
  const elbow = plus(foot, body(0, Math.cos(radians(12)), -Math.sin(radians(12))), out);
  return { elbow, arm: arm(shoulder, elbow, hip) };
}

function armBelow(shoulder: Body, bend: number): Arm {
  // Long on the floor, a little in front of the head, so that the head has room above it.
  const first = radians(30);
  const second = radians(18 + bend);
  const elbow = plus(body(shoulder.s, 0.03, shoulder.p), body(-Math.cos(first), -0.03, Math.sin(first)), UPPER_ARM);
  const end = plus(body(elbow.s, 0.02, elbow.p), body(-Math.cos(second), 0, Math.sin(second)), FOREARM + HAND);
  return arm(body(shoulder.s, 0.034, shoulder.p), elbow, end);
}

function arm(shoulder: Body, elbow: Body, target: Body): Arm {
  const cuff = toward(shoulder, elbow, UPPER_ARM * 0.5);
  const wrist = toward(elbow, target, FOREARM);
  const tip = toward(elbow, target, FOREARM + HAND);
  return {
    sleeve: bone(shoulder, cuff, [[0, 0.04], [1, 0.0335]]),
    skin: [
      ...bone(toward(shoulder, elbow, UPPER_ARM * 0.3), elbow, [[0, 0.03], [1, 0.0225]]),
      ...bone(elbow, wrist, [[0, 0.0225], [0.3, 0.0245], [1, 0.0155]]),
      ...bone(wrist, tip, [[0, 0.0155], [0.4, 0.0205], [0.75, 0.0165], [1, 0.0095]]),
    ],
    thumb: bone(toward(wrist, tip, HAND * 0.2), plus(toward(wrist, tip, HAND * 0.62), body(0, 0.012, 0.022)), [[0, 0.01], [1, 0.0068]]),
  };
}

const THIGH = 0.228;
const SHIN = 0.215;
const THIGH_FLESH = [[0, 0.053], [0.25, 0.054], [1, 0.0345]] as const;
const SHIN_FLESH = [[0, 0.0345], [0.3, 0.0365], [1, 0.0205]] as const;

function legAbove(hip: Body, { topLegLift, topKneeBend }: Scene) {
  const lift = radians(topLegLift - 3);
  const way = (bend: number) => body(Math.cos(lift) * Math.cos(bend), Math.sin(lift), Math.cos(lift) * Math.sin(bend));
  const bend = radians(topKneeBend);
  const knee = plus(hip, way(bend / 2), THIGH);
  const ankle = plus(knee, way(-bend / 2), SHIN);
  return { knee, leg: leg(hip, knee, ankle, bend / 2) };
}

function legBelow(hip: Body, { kneeBend }: Scene) {
  const bend = radians(kneeBend);
  // The hip bends by rather less, so that the foot ends a little behind the trunk.
  const flex = bend * 0.4;
  const knee = plus(body(hip.s, hip.y, hip.p), body(Math.cos(flex), 0, Math.sin(flex)), THIGH);
  const ankle = plus(body(knee.s, 0.034, knee.p), body(Math.cos(flex - bend), -0.01, Math.sin(flex - bend)), SHIN);
  return { knee, leg: leg(hip, body(knee.s, 0.037, knee.p), ankle, bend - flex) };
}

function leg(hip: Body, knee: Body, ankle: Body, back: number): Leg {
  const shin = plus(ankle, knee, -1);
  const far = lengthOf(shin);
  const on = body(shin.s / far, shin.y / far, shin.p / far);
  // Toes forward, the foot easy: between square to the shin and in line with it.
  const toes = body(Math.sin(back) + 0.25 * on.s, 0.25 * on.y, Math.cos(back) + 0.25 * on.p);
  const heel = plus(plus(ankle, on, 0.03), toes, -0.022);
  const ball = plus(plus(ankle, on, 0.028), toes, 0.07);
  const cuff = plus(ankle, on, -0.028);
  return {
    cloth: [...bone(hip, knee, THIGH_FLESH), ...bone(knee, cuff, SHIN_FLESH)],
    foot: [
      ...bone(plus(ankle, on, -0.05), plus(ankle, on, 0.012), [[0, 0.02], [1, 0.0195]]),
      ...bone(heel, ball, [[0, 0.0195], [0.7, 0.0185], [1, 0.017]]),
      ...bone(ball, plus(ball, toes, 0.024), [[0, 0.017], [1, 0.0115]]),
    ],
  };
}

/** Small flat bags, one on the other, each a little askew. */
function bagsAt(at: number, count: number): Slice[][] {
  return Array.from({ length: count }, (_, index) => {
    const askew = index % 2 === 0 ? -0.006 : 0.007;
    return Array.from({ length: 17 }, (_unused, step) => -1 + step / 8).map((t) => {
      // Soft: full in the middle, quickly rounded off at both ends.
      const swell = (1 - Math.abs(t) ** 6) ** 0.5;
      const centre = body(at + askew * (1 + 0.6 * t), BAG_HEIGHT * (index + 0.5), 0.145 * t - 0.004 * index);
      return { centre, a: body(0.046 * (0.8 + 0.2 * swell), 0, 0), b: body(0, (BAG_HEIGHT / 2) * (0.35 + 0.68 * swell), 0), round: 0.55 };
    });
  });
}
