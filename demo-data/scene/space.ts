/**
 * The child's own space, in shares of body height: `s` from the crown toward the feet, `y` up from
 * the floor, `p` from the back toward the front of the body.
 */
export type Body = { readonly s: number; readonly y: number; readonly p: number };
/** Picture pixels, y downward. */
export type Spot = { readonly x: number; readonly y: number };

export const body = (s: number, y: number, p: number): Body => ({ s, y, p });
export const plus = (a: Body, b: Body, times = 1): Body => body(a.s + b.s * times, a.y + b.y * times, a.p + b.p * times);
export const between = (a: Body, b: Body, share: number): Body => plus(a, plus(b, a, -1), share);
export const lengthOf = (a: Body): number => Math.hypot(a.s, a.y, a.p);
export const toward = (from: Body, to: Body, far: number): Body => {
  const way = plus(to, from, -1);
  return plus(from, way, far / (lengthOf(way) || 1));
};
export const radians = (degrees: number): number => (degrees * Math.PI) / 180;
export const degrees = (angle: number): number => (angle * 180) / Math.PI;

/** A smooth line (cubic Hermite) through rows of [where, value]; flat beyond the ends. */
export function along(rows: readonly (readonly [number, number])[], at: number): number {
  const next = rows.findIndex(([where]) => at <= where);
  if (next === -1) return rows.at(-1)?.[1] ?? 0;
  const slope = (index: number) => {
    const [a, b] = [rows[index - 1], rows[index + 1]];
    return a && b ? (b[1] - a[1]) / (b[0] - a[0]) : 0;
  };
  const [from, to] = [rows[next - 1], rows[next]];
  if (!from || !to) return to?.[1] ?? 0;
  const span = to[0] - from[0];
  const t = (at - from[0]) / span;
  const bend = (slope(next - 1) * (1 - t) - slope(next) * t) * span * t * (1 - t);
  return from[1] + (to[1] - from[1]) * t * t * (3 - 2 * t) + bend;
}

/** A cross-section about a centre, given by its two half axes: an ellipse, or squarer below 1. */
export type Slice = { readonly centre: Body; readonly a: Body; readonly b: Body; readonly round?: number };
/** A limb's station: a ball. */
export type Ball = { readonly centre: Body; readonly radius: number };

export type Camera = {
  readonly spot: (at: Body) => Spot;
  /** Pixels a unit measures at this depth. */
  readonly scale: (at: Body) => number;
};

/** The outline of a row of slices as one path: each neighbouring pair is wrapped in its hull. */
export function slicesPath(slices: readonly Slice[], camera: Camera): string {
  return hulls(slices.map(({ centre, a, b, round = 1 }) =>
    ring((cos, sin) => camera.spot(plus(plus(centre, a, power(cos, round)), b, power(sin, round))))));
}

const power = (value: number, exponent: number) => Math.sign(value) * Math.abs(value) ** exponent;

/** The outline of a limb: balls joined by their common tangents. */
export function limbPath(balls: readonly Ball[], camera: Camera): string {
  return hulls(
    balls.map(({ centre, radius }) => {
      const { x, y } = camera.spot(centre);
      const reach = radius * camera.scale(centre);
      return ring((cos, sin) => ({ x: x + reach * cos, y: y + reach * sin }));
    }),
  );
}

export const linePath = (points: readonly Body[], camera: Camera): string =>
  points.map((at, index) => `${index === 0 ? "M" : "L"}${pair(camera.spot(at))}`).join("");

/** Limb stations from joint to joint, with the flesh between given as [share of the bone, radius]. */
export function bone(from: Body, to: Body, flesh: readonly (readonly [number, number])[]): Ball[] {
  return Array.from({ length: 13 }, (_, step) => step / 12).map((share) => ({
    centre: between(from, to, share),
    radius: along(flesh, share),
  }));
}

const pair = ({ x, y }: Spot) => `${x.toFixed(1)} ${y.toFixed(1)}`;
export const closed = (points: readonly Spot[]): string => `M${points.map(pair).join("L")}Z`;

function ring(at: (cos: number, sin: number) => Spot): Spot[] {
  return Array.from({ length: 28 }, (_, step) => at(Math.cos((step * Math.PI) / 14), Math.sin((step * Math.PI) / 14)));
}

function hulls(rings: readonly (readonly Spot[])[]): string {
  if (rings.length === 1) return closed(hull(rings[0] ?? []));
  return rings.slice(1).map((next, index) => closed(hull([...(rings[index] ?? []), ...next]))).join("");
}

/** Convex hull by the monotone chain; always wound the same way, so that overlaps fill. */
function hull(points: readonly Spot[]): Spot[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (row: readonly Spot[]) => {
    const out: Spot[] = [];
    for (const point of row) {
      for (;;) {
        const [a, b] = [out.at(-2), out.at(-1)];
        if (!a || !b || (b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x) > 0) break;
        out.pop();
      }
      out.push(point);
    }
    return out.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}
