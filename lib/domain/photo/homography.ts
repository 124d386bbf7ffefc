export type Point = { readonly x: number; readonly y: number };
/** Four corners in order round the figure. */
export type Quad = readonly [Point, Point, Point, Point];

/** Row by row, the ninth number 1: x' = (h0 x + h1 y + h2) / (h6 x + h7 y + 1), y' likewise from h3. */
export type Homography = readonly [number, number, number, number, number, number, number, number, 1];

export const UNIT_SQUARE: Quad = [{ x: 0, y: 0 }, { x: 1, y: 0 }, { x: 1, y: 1 }, { x: 0, y: 1 }];

/**
 * The projective map that takes four points to four others, by the eight linear equations they give.
 * Null where three of either four lie on one line, for then there is none.
 */
export function homographyOf(from: Quad, to: Quad): Homography | null {
  if (hasThreeInLine(from) || hasThreeInLine(to)) return null;
  const rows = from.flatMap(({ x, y }, at) => {
    const { x: u, y: v } = to[at] ?? { x: 0, y: 0 };
    return [[x, y, 1, 0, 0, 0, -x * u, -y * u, u], [0, 0, 0, x, y, 1, -x * v, -y * v, v]];
  });
  const solved = solve(rows);
  // Eight unknowns were solved for, in this order.
  return solved && ([...solved, 1] as unknown as Homography);
}

export function mapPoint([a, b, c, d, e, f, g, h]: Homography, { x, y }: Point): Point {
  const w = g * x + h * y + 1;
  return { x: (a * x + b * y + c) / w, y: (d * x + e * y + f) / w };
}

/** Where small steps along x and along y at a point lead: the derivative of the map there. */
export function stepsAt(map: Homography, at: Point): { readonly alongX: Point; readonly alongY: Point } {
  const [a, b, , d, e, , g, h] = map;
  const w = g * at.x + h * at.y + 1;
  const { x, y } = mapPoint(map, at);
  return { alongX: { x: (a - g * x) / w, y: (d - g * y) / w }, alongY: { x: (b - h * x) / w, y: (e - h * y) / w } };
}

/** Twice the signed area of a triangle; above zero where it runs clockwise in a picture, whose y points down. */
export const turnOf = (p: Point, q: Point, r: Point): number => (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);

function hasThreeInLine(quad: Quad): boolean {
  const [p, q, r, s] = quad;
  const span = Math.max(...quad.map(({ x }) => x)) - Math.min(...quad.map(({ x }) => x))
    + Math.max(...quad.map(({ y }) => y)) - Math.min(...quad.map(({ y }) => y));
  return [[p, q, r], [q, r, s], [r, s, p], [s, p, q]].some(([one, two, three]) =>
    one === undefined || two === undefined || three === undefined || Math.abs(turnOf(one, two, three)) <= 1e-9 * span * span);
}

/** Gauss with partial pivoting on eight rows of nine; null when they do not fix the unknowns. */
function solve(rows: readonly (readonly number[])[]): readonly number[] | null {
  const m = rows.map((row) => [...row]);
  const get = (row: number, column: number): number => m[row]?.[column] ?? 0;
  for (let column = 0; column < m.length; column += 1) {
    let best = column;
    for (let row = column + 1; row < m.length; row += 1) if (Math.abs(get(row, column)) > Math.abs(get(best, column))) best = row;
    const [pivot, other] = [m[best], m[column]];
    if (!pivot || !other || Math.abs(get(best, column)) < 1e-12) return null;
    [m[column], m[best]] = [pivot, other];
    for (const [index, row] of m.entries()) {
      const share = index === column ? 0 : (row[column] ?? 0) / (pivot[column] ?? 1);
      if (share !== 0) for (const [at, value] of pivot.entries()) row[at] = (row[at] ?? 0) - share * value;
    }
  }
  return m.map((row, at) => (row[m.length] ?? 0) / (row[at] ?? 1));
}
