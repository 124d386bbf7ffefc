import { cameraOf } from "@/demo-data/scene/camera";
import { darker, lighter, paper } from "@/demo-data/scene/paper";
import type { Scene } from "@/demo-data/scene/params";
import type { Pose } from "@/demo-data/scene/pose";
import { body, bone, closed, limbPath, linePath, plus, slicesPath, type Ball, type Body, type Slice } from "@/demo-data/scene/space";

/** The child on the mat, painted from the far side to the near one. */
export function figureSvg(scene: Scene, pose: Pose): string {
  const camera = cameraOf(scene);
  const { colours } = scene;
  const cut = paper(scene.windowAt === "left" ? 1 : -1);
  const limb = (balls: readonly Ball[], colour: string, depth?: number) => cut.piece(limbPath(balls, camera), colour, depth);
  const fill = (path: string, colour: string) => `<path d="${path}" fill="${colour}"/>`;
  const line = (points: readonly Body[], colour: string, width: number) =>
    `<path d="${linePath(points, camera)}" fill="none" stroke="${colour}" stroke-width="${width}" stroke-linecap="round" stroke-linejoin="round"/>`;

  const arm = ({ sleeve, skin, thumb }: Pose["topArm"]) =>
    [limb(thumb, colours.skin, 3), limb(skin, colours.skin, 6), limb(sleeve, colours.top, 7)].join("");
  const leg = ({ cloth, foot }: Pose["topLeg"]) => [limb(foot, colours.skin, 5), limb(cloth, colours.leggings, 9)].join("");

  const isAt = (from: number, to: number) => (slice: Slice) => slice.centre.s >= from && slice.centre.s <= to;
  // Hips and the leg above are one piece of cloth.
  const hips = slicesPath(pose.trunk.filter(isAt(0.43, 0.56)), camera) + limbPath(pose.topLeg.cloth, camera);
  const shirt = slicesPath(pose.trunk.filter(isAt(0.174, 0.462)), camera);
  const trunk = () => {
    const faces = scene.view === "front" ? 1 : -1;
    const seam = Array.from({ length: 27 }, (_, step) => pose.joints.surface(0.19 + step * 0.0102, 0, faces));
    const waist = slicesPath(pose.trunk.filter(isAt(0.448, 0.462)), camera);
    const detail = scene.view === "head-end" ? "" : line(seam, darker(colours.top, 0.16), 3.5) + shoulderBlades(pose, scene, line);
    return [
      limb(pose.topLeg.foot, colours.skin, 5),
      cut.piece(hips, colours.leggings, 11),
      cut.piece(shirt, colours.top, 11),
      cut.shade(waist, shirt, darker(colours.top, 0.18)),
      detail,
    ].join("");
  };
  const bags = () =>
    pose.bags
      .map((bag) => {
        const seam = bag.slice(...(scene.view === "front" ? [14, 16] : [1, 3])).map(({ centre, a, b }) => ({ centre, a: plus(a, a, -0.14), b: plus(b, b, -0.94) }));
        return cut.piece(slicesPath(bag, camera), colours.prop, 6) + fill(slicesPath(seam, camera), darker(colours.prop, 0.26));
      })
      .join("");
  const head = () => headSvg(scene, pose, cut, camera);
  const ground = groundShadow(scene, pose, camera);
  const [topArm, bottomArm, bottomLeg] = [arm(pose.topArm), arm(pose.bottomArm), leg(pose.bottomLeg)];
  const neck = limb(pose.neck, darker(colours.skin, 0.06), 6);

  const onHip = scene.topArm === "on-hip";
  if (scene.view === "behind") {
    return [ground, bottomArm, bottomLeg, onHip ? "" : topArm, bags(), neck, trunk(), head(), onHip ? topArm : limb(pose.topArm.sleeve, colours.top, 7)].join("");
  }
  if (scene.view === "front") {
    return [ground, bags(), neck, trunk(), bottomLeg, bottomArm, head(), topArm].join("");
  }
  return [ground, bottomLeg, bags(), trunk(), neck, onHip ? topArm : "", bottomArm, head(), onHip ? "" : topArm].join("");
}

/** Two quiet folds where the shoulder blades lie: they show at a glance that this is the back. */
function shoulderBlades({ joints }: Pose, scene: Scene, line: (points: readonly Body[], colour: string, width: number) => string): string {
  if (scene.view !== "behind") return "";
  const fold = (side: number) =>
    Array.from({ length: 9 }, (_, step) => step / 8).map((t) =>
      joints.surface(0.222 + 0.07 * t, side * (0.3 + 0.16 * Math.sin(t * 2.6)), -Math.sqrt(1 - (0.3 + 0.16 * Math.sin(t * 2.6)) ** 2)),
    );
  return [-1, 1].map((side) => line(fold(side), darker(scene.colours.top, 0.13), 4)).join("");
}

function headSvg(scene: Scene, { head, joints }: Pose, cut: ReturnType<typeof paper>, camera: ReturnType<typeof cameraOf>): string {
  const { hair, skin } = scene.colours;
  const at = (s: number, y: number, p: number) => plus(joints.head, body(s, y, p));
  const scaled = (times: number, shift: Body) =>
    slicesPath(head.map(({ centre, a, b }) => ({
      centre: plus(plus(joints.head, plus(centre, joints.head, -1), times), shift),
      a: body(0, a.y * times, 0),
      b: body(0, 0, b.p * times),
    })), camera);
  const skull = scaled(1, body(0, 0, 0));
  const long = scene.hairStyle !== "short";
  const ear = limbPath(bone(at(0.004, 0.056, -0.006), at(0.022, 0.055, -0.004), [[0, 0.0135], [1, 0.009]]), camera);
  const strand = (points: readonly Body[], width: number) =>
    `<path d="${linePath(points, camera)}" fill="none" stroke="${lighter(hair, 0.14)}" stroke-width="${width}" stroke-linecap="round" opacity="0.75"/>`;
  const tail = scene.hairStyle === "tail"
    ? cut.piece(limbPath([...bone(at(-0.045, 0.02, -0.062), at(-0.02, 0.012, -0.115), [[0, 0.014], [0.4, 0.024], [1, 0.026]]), ...bone(at(-0.02, 0.012, -0.115), at(0.07, -0.035, -0.12), [[0, 0.026], [0.5, 0.024], [1, 0.007]])], camera), hair, 6)
    : "";
  const bun = scene.hairStyle === "bun" ? cut.piece(limbPath(bone(at(-0.068, 0, -0.04), at(-0.076, 0, -0.052), [[0, 0.03], [1, 0.032]]), camera), hair, 6) : "";
  const cap = scaled(1.05, body(-0.006, 0, -0.004));

  if (scene.view === "behind") {
    // The nape: short hair ends above it, longer hair falls over it toward the floor.
    const nape = long
      ? limbPath(bone(at(0.03, -0.006, -0.04), at(scene.hairStyle === "bob" ? 0.085 : 0.066, -0.012, -0.036), [[0, 0.058], [1, scene.hairStyle === "bob" ? 0.042 : 0.036]]), camera)
      : "";
    const arcs = [0.024, 0, -0.024].map((y) => strand([at(-0.05, y * 0.5, -0.05), at(-0.02, y, -0.075), at(0.03, y * 1.25, -0.07)], 3.5)).join("");
    return [bun, cut.piece(skull, skin, 7), cut.piece(ear, skin, 3), cut.piece(cap + nape, hair, 8), scene.hairStyle === "bun" ? "" : arcs, tail].join("");
  }
  if (scene.view === "front") {
    const behind = long && scene.hairStyle === "bob" ? cut.piece(limbPath(bone(at(-0.012, -0.006, -0.03), at(0.03, -0.04, -0.05), [[0, 0.066], [1, 0.034]]), camera), hair, 6) : "";
    // The hairline: a cap over the crown that comes down a little at both temples.
    const line = closed([
      ...Array.from({ length: 9 }, (_, step) => -1 + step / 4).map((t) => camera.spot(at(-0.028 + 0.042 * t * t, 0.075 * t, 0.07))),
      camera.spot(at(-0.12, 0.1, 0)),
      camera.spot(at(-0.12, -0.1, 0)),
    ]);
    // Eyes closed, nothing more: a picture of a set-up, not of a person.
    const eyes = [0.026, -0.024].map((y) => `<path d="${linePath([-1, -0.5, 0, 0.5, 1].map((t) => at(0.022 + 0.006 * (1 - t * t), y + 0.012 * t, 0.066)), camera)}" fill="none" stroke="${darker(skin, 0.5)}" stroke-width="4" stroke-linecap="round"/>`).join("");
    return [bun, tail, behind, cut.piece(skull, skin, 8), cut.piece(ear, skin, 3), cut.shade(cap, line, hair), cut.shade(scaled(0.99, body(-0.008, 0.004, 0)), line, lighter(hair, 0.07)), eyes].join("");
  }
  const face = scaled(1, body(0, 0, 0.006));
  const hairCap = slicesPath(head.map(({ centre, a, b }) => ({ centre: plus(centre, body(-0.004, 0, -0.016)), a: body(0, a.y * 1.06, 0), b: body(0, 0, b.p * 0.96) })), camera);
  const whorl = [0, 1, 2].map((turn) => strand(Array.from({ length: 7 }, (_, step) => turn * 2.1 + step * 0.22).map((angle, step) => at(-0.078, Math.sin(angle) * 0.006 * (step + 1), -0.02 + Math.cos(angle) * 0.006 * (step + 1))), 4)).join("");
  return [tail, cut.piece(face, skin, 8), cut.piece(ear, skin, 3), cut.piece(hairCap, hair, 9), scene.hairStyle === "bun" ? bun : whorl].join("");
}

/** The soft dark under whatever touches the mat. */
function groundShadow(scene: Scene, pose: Pose, camera: ReturnType<typeof cameraOf>): string {
  const flat = (balls: readonly Ball[], spread: number) =>
    limbPath(balls.map(({ centre, radius }) => ({ centre: body(centre.s, 0.004, centre.p), radius: Math.max(0.008, radius * spread - centre.y * 0.16) })), camera);
  const trunk = pose.trunk.filter((_, index) => index % 3 === 0).map(({ centre }) => ({ centre, radius: 0.07 }));
  const paths = [trunk, pose.bottomArm.skin, pose.bottomLeg.cloth, pose.bottomLeg.foot, pose.topLeg.cloth].map((balls) => flat(balls, 1.05)).join("");
  return `<path d="${paths}" fill="${darker(scene.colours.mat, 0.6)}" opacity="0.55" filter="url(#soft)" transform="translate(${scene.windowAt === "left" ? 12 : -12} 14)"/>`;
}
