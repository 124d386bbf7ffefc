import { lensOf, type Place } from "@/demo-data/scene/camera";
import { darker, lift, lighter } from "@/demo-data/scene/paper";
import { picker, type Scene } from "@/demo-data/scene/params";
import { closed } from "@/demo-data/scene/space";

/** Past every edge of the picture, so that a tilted or tall one shows no bare corner. */
const FAR = { left: -1000, right: 2600, top: -1400, bottom: 2600 } as const;
const BACK = -0.98;

/** A plain living room: wall, skirting board, boards, a mat, a window's light, a picture and a plant. */
export function roomSvg(scene: Scene): string {
  const { colours } = scene;
  const lens = lensOf(scene);
  const headEnd = scene.view === "head-end";
  const wallZ = headEnd ? -1.75 : BACK;
  const seam = lens.spot({ x: 0, y: 0, z: wallZ }).y;
  const unit = lens.scale({ x: 0, y: 0, z: wallZ });
  const side = scene.windowAt === "left" ? -1 : 1;
  const pick = picker(scene.seed + 107);
  const onFloor = (corners: readonly (readonly [number, number])[], y = 0) =>
    closed(corners.map(([x, z]) => lens.spot({ x, y, z } satisfies Place)));

  const board = Array.from({ length: 15 }, (_, row) => wallZ + 0.05 + row * 0.17)
    .map((z) => lens.spot({ x: 0, y: 0, z }).y)
    .map((y) => `<path d="M${FAR.left} ${y.toFixed(1)}H${FAR.right}" stroke="${darker(colours.floor, 0.16)}" stroke-width="2.5"/>`)
    .join("");
  const joints = Array.from({ length: 15 }, (_, row) => {
    const z = wallZ + 0.05 + row * 0.17;
    const x = ((row * 0.83 + scene.seed * 0.37) % 1.3) - 0.65;
    return [x, x + 1.3, x - 1.3].map((at) => {
      const [a, b] = [lens.spot({ x: at, y: 0, z }), lens.spot({ x: at, y: 0, z: z + 0.17 })];
      return `<path d="M${a.x.toFixed(1)} ${a.y.toFixed(1)}L${b.x.toFixed(1)} ${b.y.toFixed(1)}" stroke="${darker(colours.floor, 0.14)}" stroke-width="2.5"/>`;
    }).join("");
  }).join("");

  const mat = headEnd
    ? { left: -0.42, right: 0.42, back: -1.25, front: 0.34 }
    : { left: -0.69, right: 0.69, back: -0.33, front: 0.3 };
  const corners = (inset: number): [number, number][] => rounded(mat.left + inset, mat.right - inset, mat.back + inset, mat.front - inset, 0.05 - inset / 2);

  const skirting = unit * 0.085;
  return [
    `<rect x="${FAR.left}" y="${FAR.top}" width="3600" height="${seam - FAR.top}" fill="${colours.wall}"/>`,
    windowLight(scene, seam, unit, side, pick),
    art(scene, seam, unit, -side, pick),
    `<rect x="${FAR.left}" y="${seam - skirting}" width="3600" height="${skirting}" fill="${colours.skirting}"/>`,
    `<path d="M${FAR.left} ${seam - skirting + 1}H${FAR.right}" stroke="${darker(colours.wall, 0.16)}" stroke-width="3"/>`,
    `<path d="M${FAR.left} ${seam - skirting * 0.78}H${FAR.right}" stroke="${darker(colours.skirting, 0.08)}" stroke-width="3"/>`,
    `<rect x="${FAR.left}" y="${seam}" width="3600" height="${FAR.bottom - seam}" fill="${colours.floor}"/>`,
    board,
    joints,
    `<rect x="${FAR.left}" y="${seam}" width="3600" height="16" fill="${darker(colours.floor, 0.35)}" opacity="0.5"/>`,
    `<path d="${onFloor([[side * 0.98, wallZ], [side * 0.3, wallZ], [side * -0.05, 1.6], [side * 0.86, 1.6]])}" fill="#fff6dc" opacity="0.1"/>`,
    plant(scene, seam, unit, -side),
    `<path d="${onFloor(corners(0))}" fill="${darker(colours.mat, 0.34)}" transform="translate(0 13)"/>`,
    `<path d="${onFloor(corners(0))}" fill="${colours.mat}"/>`,
    `<path d="${onFloor(corners(0.025))}" fill="none" stroke="${lighter(colours.mat, 0.3)}" stroke-width="5"/>`,
    `<path d="${onFloor([[side * 0.62, mat.back + 0.03], [side * 0.22, mat.back + 0.03], [side * 0.02, mat.front - 0.03], [side * 0.6, mat.front - 0.03]])}" fill="#fff6dc" opacity="0.13"/>`,
  ].join("");
}

function rounded(left: number, right: number, back: number, front: number, radius: number): [number, number][] {
  const turn = (x: number, z: number, from: number) =>
    Array.from({ length: 7 }, (_, step) => from + (step / 6) * (Math.PI / 2)).map(
      (angle): [number, number] => [x + radius * Math.cos(angle), z + radius * Math.sin(angle)],
    );
  return [
    ...turn(right - radius, front - radius, 0),
    ...turn(left + radius, front - radius, Math.PI / 2),
    ...turn(left + radius, back + radius, Math.PI),
    ...turn(right - radius, back + radius, Math.PI * 1.5),
  ];
}

/** The sun through a window that is out of the picture: four slanting panes on the wall. */
function windowLight(scene: Scene, seam: number, unit: number, side: number, pick: ReturnType<typeof picker>): string {
  const centre = 800 + side * pick([150, 260, 345, 430, 520]);
  const slant = -side * 0.2 * unit;
  const [wide, high, bar] = [0.19 * unit, 0.27 * unit, 0.022 * unit];
  const pane = (column: number, row: number) => {
    const [x, y] = [centre + column * (wide + bar), seam - 0.56 * unit + row * (high + bar)];
    const shift = (at: number) => ((at - (seam - 0.56 * unit)) / unit) * slant * 1.7;
    const [top, bottom] = [y - high / 2, y + high / 2];
    return closed([
      { x: x - wide / 2 + shift(top), y: top },
      { x: x + wide / 2 + shift(top), y: top + 0.03 * unit },
      { x: x + wide / 2 + shift(bottom), y: bottom + 0.03 * unit },
      { x: x - wide / 2 + shift(bottom), y: bottom },
    ]);
  };
  const panes = [-0.5, 0.5].flatMap((column) => [-0.5, 0.5].map((row) => pane(column, row))).join("");
  return `<path d="${panes}" fill="${lighter(scene.colours.wall, 0.62)}"/>`;
}

/** A small framed picture of hills, cut from the room's own colours. */
function art(scene: Scene, seam: number, unit: number, side: number, pick: ReturnType<typeof picker>): string {
  const { colours } = scene;
  const larger = pick([0.75, 1, 1.3]);
  const [wide, high] = [0.27 * unit * larger, 0.34 * unit * larger];
  const [x, y] = [800 + side * pick([180, 290, 395, 480]) - wide / 2, seam - pick([0.62, 0.7, 0.79]) * unit - (high - 0.34 * unit) / 2];
  const inner = 0.032 * unit * larger;
  const [left, top, w, h] = [x + inner, y + inner, wide - 2 * inner, high - 2 * inner];
  const sun = pick([0.3, 0.5, 0.7]);
  const hill = (from: number, peak: number, to: number) =>
    `M${left} ${top + h * from}Q${left + w * 0.4} ${top + h * peak} ${left + w} ${top + h * to}V${top + h}H${left}Z`;
  return [
    lift(`<rect x="${x}" y="${y}" width="${wide}" height="${high}"/>`),
    `<rect x="${x}" y="${y}" width="${wide}" height="${high}" fill="${darker(colours.floor, 0.1)}"/>`,
    `<rect x="${left}" y="${top}" width="${w}" height="${h}" fill="${lighter(colours.wall, 0.5)}"/>`,
    `<circle cx="${left + w * sun}" cy="${top + h * 0.3}" r="${w * 0.15}" fill="#dfa25c"/>`,
    `<path d="${hill(0.62, 0.36, 0.58)}" fill="${lighter(colours.mat, 0.2)}"/>`,
    `<path d="${hill(0.86, 0.68, 0.66)}" fill="${darker(colours.mat, 0.22)}"/>`,
  ].join("");
}

/** A pot plant against the wall, on the side away from the window. */
function plant(scene: Scene, seam: number, unit: number, side: number): string {
  const x = 800 + side * 700;
  const foot = seam + 0.06 * unit;
  const green = scene.colours.plant;
  const leaf = (angle: number, length: number, colour: string) =>
    `<path d="M0 0C${-0.2 * length} ${-0.35 * length} ${-0.14 * length} ${-0.8 * length} 0 ${-length}C${0.14 * length} ${-0.8 * length} ${0.2 * length} ${-0.35 * length} 0 0Z" fill="${colour}" transform="translate(${x} ${foot - 0.2 * unit}) rotate(${angle})"/>`;
  const [top, bottom, high] = [0.085 * unit, 0.062 * unit, 0.18 * unit];
  return [
    leaf(-52, 0.26 * unit, darker(green, 0.2)),
    leaf(48, 0.27 * unit, darker(green, 0.24)),
    leaf(-26, 0.38 * unit, green),
    leaf(24, 0.36 * unit, darker(green, 0.1)),
    leaf(-3, 0.43 * unit, lighter(green, 0.12)),
    `<path d="M${x - top} ${foot - high}H${x + top}L${x + bottom} ${foot}H${x - bottom}Z" fill="#b9694c"/>`,
    `<rect x="${x - top * 1.08}" y="${foot - high - 0.012 * unit}" width="${top * 2.16}" height="${0.045 * unit}" rx="4" fill="#c67a5b"/>`,
  ].join("");
}
