import { getStroke } from 'perfect-freehand';
import type { Stroke } from '../api/types';
import { arrowHead, type XY } from '../geometry/paths';

/** Outlines are made in units of a picture that is UNITS high, so that they look the same at every zoom. */
export const UNITS = 1000;
const THINNING = 0.6;
const SMOOTHING = 0.5;
const STREAMLINE = 0.35;
/** Little: the line must lie where the pen was (guess). */
const HEAD = 34;
/** Length of an arrow head, units. */

/** The stroke's raw points in outline units. */
export function inUnits(stroke: Stroke, aspect: number): XY[] {
  return stroke.points.map(([x, y]) => ({ x: x * UNITS * aspect, y: y * UNITS }));
}

/** Outline polygon of a pencil or eraser stroke, in units. */
export function pencilOutline(stroke: Stroke, aspect: number): number[][] {
  const points = stroke.points.map(([x, y, p]) => [x * UNITS * aspect, y * UNITS, p]);
  return getStroke(points, {
    size: (stroke.width ?? 0.006) * UNITS * 2,
    thinning: THINNING,
    smoothing: SMOOTHING,
    streamline: STREAMLINE,
    simulatePressure: stroke.points.every(([, , p]) => p === 0.5), // a mouse reports 0.5 throughout
    last: true,
  });
}

/** SVG path data of a closed polygon whose corners are rounded through the middles of its sides. */
export function polygonPath(points: readonly number[][]): string {
  if (points.length < 3) return '';
  const f = (n: number): string => n.toFixed(2);
  const parts = points.map(([x, y], i) => {
    const [nx, ny] = points[(i + 1) % points.length];
    return `${f(x)} ${f(y)} ${f((x + nx) / 2)} ${f((y + ny) / 2)}`;
  });
  return `M${f(points[0][0])} ${f(points[0][1])}Q${parts.join(' ')}Z`;
}

/** SVG path data of the line tools, in units. */
export function linePath(stroke: Stroke, aspect: number): string {
  const points = inUnits(stroke, aspect);
  const a = points[0];
  const b = points[points.length - 1];
  switch (stroke.tool) {
    case 'ellipse':
      return ellipse(a, b);
    case 'arrow':
      return `${line(a, b)}${head(a, b)}`;
    case 'sight':
      return `${ring(a, 9)}${line(a, b)}${head(a, b)}`;
    default:
      return points.map((p, i) => `${i ? 'L' : 'M'}${p.x} ${p.y}`).join('');
  }
}

const line = (a: XY, b: XY): string => `M${a.x} ${a.y}L${b.x} ${b.y}`;
const ring = (c: XY, r: number): string => `M${c.x - r} ${c.y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`;

function head(a: XY, b: XY): string {
  const [left, right] = arrowHead(a, b, HEAD);
  return `M${left.x} ${left.y}L${b.x} ${b.y}L${right.x} ${right.y}`;
}

/** The ellipse that fills the box between two corners. */
function ellipse(a: XY, b: XY): string {
  const rx = Math.abs(b.x - a.x) / 2;
  const ry = Math.abs(b.y - a.y) / 2;
  const left = Math.min(a.x, b.x);
  const middle = (a.y + b.y) / 2;
  return `M${left} ${middle}a${rx} ${ry} 0 1 0 ${2 * rx} 0a${rx} ${ry} 0 1 0 ${-2 * rx} 0`;
}
