/** Plain polyline geometry. All points of one call share one unit. */
export interface XY {
  readonly x: number;
  readonly y: number;
}

export const distance = (a: XY, b: XY): number => Math.hypot(b.x - a.x, b.y - a.y);

/** Length of the whole line: the sum of its parts. */
export function pathLength(points: readonly XY[]): number {
  let sum = 0;
  for (let i = 1; i < points.length; i++) sum += distance(points[i - 1], points[i]);
  return sum;
}

/** Distance of p from the stretch a-b. */
export function distanceToStretch(p: XY, a: XY, b: XY): number {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const square = dx * dx + dy * dy;
  const t = square === 0 ? 0 : Math.min(1, Math.max(0, ((p.x - a.x) * dx + (p.y - a.y) * dy) / square));
  return distance(p, { x: a.x + t * dx, y: a.y + t * dy });
}

/** Distance of p from a line of one or more points; Infinity for none. */
export function distanceToPath(p: XY, points: readonly XY[]): number {
  if (points.length === 1) return distance(p, points[0]);
  let least = Infinity;
  for (let i = 1; i < points.length; i++) least = Math.min(least, distanceToStretch(p, points[i - 1], points[i]));
  return least;
}

/** The two barbs of an arrow head at `to`, each `size` long and `spread` radians off the shaft. */
export function arrowHead(from: XY, to: XY, size: number, spread = Math.PI / 7): [XY, XY] {
  const angle = Math.atan2(to.y - from.y, to.x - from.x);
  const barb = (turn: number): XY => ({ x: to.x - size * Math.cos(angle + turn), y: to.y - size * Math.sin(angle + turn) });
  return [barb(-spread), barb(spread)];
}
