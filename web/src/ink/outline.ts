import type { Stroke } from '../api/types';
import { arrowHead, distance, type XY } from '../geometry/paths';
import { LOOK, type InkLook } from './look';

/**
 * What a stroke of the pen covers: a round tip pulled along the line, as thick at every point as the pen was pressed there.
 * The same rules stand in sheet/ink.py; tests/vectors/ink.json holds both to the same numbers. Lengths are in units of a picture LOOK.units high.
 */
export interface Spot extends XY {
  /** The tip's radius. */
  readonly r: number;
}
type Pressed = XY & { readonly p: number };

/** Of a stroke that does not say how wide it is; part of the picture's height. */
export const USUAL_WIDTH = 0.006;
const widthOf = (stroke: Stroke): number => stroke.width ?? USUAL_WIDTH;

/** The stroke's raw points in units. */
export const inUnits = (stroke: Stroke, aspect: number, look: InkLook = LOOK): XY[] => stroke.points.map(([x, y]) => ({ x: x * look.units * aspect, y: y * look.units }));

/** Where the tip goes, close enough together to be joined by straight pieces. aspect: the picture's width over its height. */
export const pressedLine = (stroke: Stroke, aspect: number, look: InkLook = LOOK): Spot[] => curved(tips(followed(stroke, aspect, look), widthOf(stroke), look), look);

/** The pen's points with their pressure, the hand's shake taken out; the line ends where the pen was lifted. */
function followed(stroke: Stroke, aspect: number, look: InkLook): Pressed[] {
  const points = inUnits(stroke, aspect, look).map((at, i) => ({ ...at, p: stroke.points[i][2] }));
  const out = points.slice(0, 1);
  points.slice(1).forEach((to, i) => {
    const from = out[out.length - 1];
    const last = i === points.length - 2;
    const near = last ? to : { x: from.x + (to.x - from.x) * look.follow, y: from.y + (to.y - from.y) * look.follow, p: to.p };
    const way = distance(from, near);
    if (way >= look.apart || (last && way > 0)) out.push(near);
  });
  return out;
}

/** The tip's radius instead of the pressure. */
function tips(points: readonly Pressed[], width: number, look: InkLook): Spot[] {
  const size = width * look.units;
  const pressures = points.every(({ p }) => p === look.unpressed.pressure) ? byPace(points, size * look.unpressed.reach, look) : points.map(({ p }) => p);
  return points.map(({ x, y }, i) => ({ x, y, r: size * (look.tip.least + look.tip.gain * pressures[i]) }));
}

/** What a hand without a pen would press: less where it is quick. */
function byPace(points: readonly XY[], reach: number, look: InkLook): number[] {
  const out = [look.unpressed.pressure];
  for (let i = 1; i < points.length; i++) {
    const pace = Math.min(1, distance(points[i - 1], points[i]) / reach);
    out.push(out[i - 1] + (1 - pace - out[i - 1]) * pace * look.unpressed.rate);
  }
  return out;
}

/** Straight to the middle of the first piece, round each point to the middle of the next, straight to the end. */
function curved(points: readonly Spot[], look: InkLook): Spot[] {
  if (points.length < 3) return [...points];
  let start = between(points[0], points[1], 0.5);
  const out = [points[0], start];
  for (let i = 1; i < points.length - 1; i++) {
    const corner = points[i];
    const stop = between(corner, points[i + 1], 0.5);
    const steps = Math.max(1, Math.ceil((distance(start, corner) + distance(corner, stop)) / look.step));
    for (let k = 1; k <= steps; k++) out.push(bent(start, corner, stop, k / steps));
    start = stop;
  }
  return [...out, points[points.length - 1]];
}

const between = (a: Spot, b: Spot, t: number): Spot => ({ x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t, r: a.r + (b.r - a.r) * t });
const bent = (a: Spot, corner: Spot, b: Spot, t: number): Spot => between(between(a, corner, t), between(corner, b, t), t);

/** The pieces of a line that dashes leave; on and off are in the thickness of a line pressed by half. */
export function dashed(line: readonly Spot[], width: number, look: InkLook = LOOK): Spot[][] {
  const usual = 2 * width * look.units * (look.tip.least + look.tip.gain / 2);
  const length = { on: look.dash.on * usual, off: look.dash.off * usual };
  const pieces: Spot[][] = [[line[0]]];
  let gone = 0;
  let inked = true;
  for (let i = 1; i < line.length; i++) {
    const [a, b] = [line[i - 1], line[i]];
    const way = distance(a, b);
    let done = 0;
    while (done < way) {
      const left = (inked ? length.on : length.off) - gone;
      const step = Math.min(left, way - done);
      done += step;
      gone += step;
      if (inked) pieces[pieces.length - 1].push(between(a, b, done / way));
      if (gone < (inked ? length.on : length.off)) continue;
      inked = !inked;
      gone = 0;
      if (inked) pieces.push([between(a, b, done / way)]);
    }
  }
  return pieces;
}

/** SVG path data of a pencil's or the rubber's stroke. */
export function pencilPath(stroke: Stroke, aspect: number): string {
  const line = pressedLine(stroke, aspect);
  return stroke.dashed ? dashed(line, widthOf(stroke)).map(covered).join('') : covered(line);
}

/** SVG path data of everything that the tip covers, all turned one way round, so that no fill rule leaves a hole. */
export function covered(line: readonly Spot[]): string {
  if (line.length === 1) return disc(line[0]);
  return line.slice(1).map((b, i) => piece(line[i], b)).join('');
}

/** Two discs and what lies between their outer tangents; the larger alone where it holds the other. */
function piece(a: Spot, b: Spot): string {
  const way = distance(a, b);
  if (way <= Math.abs(b.r - a.r)) return disc(a.r >= b.r ? a : b);
  const along = Math.atan2(b.y - a.y, b.x - a.x);
  const turn = Math.acos((a.r - b.r) / way);
  const [left, right] = [along - turn, along + turn];
  const longAtB = 2 * turn > Math.PI ? 1 : 0;
  return `M${on(a, left)}L${on(b, left)}A${n(b.r)} ${n(b.r)} 0 ${longAtB} 1 ${on(b, right)}L${on(a, right)}A${n(a.r)} ${n(a.r)} 0 ${1 - longAtB} 1 ${on(a, left)}Z`;
}

/** SVG path data of the tools that are made of two ends, without what is never dashed: an ellipse, or a shaft. */
export function linePath(stroke: Stroke, aspect: number, look: InkLook = LOOK): string {
  const [a, b] = ends(stroke, aspect, look);
  if (stroke.tool !== 'ellipse') return `M${n(a.x)} ${n(a.y)}L${n(b.x)} ${n(b.y)}`;
  const [rx, ry] = [Math.abs(b.x - a.x) / 2, Math.abs(b.y - a.y) / 2];
  return `M${n(Math.min(a.x, b.x))} ${n((a.y + b.y) / 2)}${half(rx, ry, 2 * rx)}${half(rx, ry, -2 * rx)}`;
}

/** What is never dashed: an arrow's head, and the ring where a sight line begins. Empty for an ellipse. */
export function endsPath(stroke: Stroke, aspect: number, look: InkLook = LOOK): string {
  if (stroke.tool === 'ellipse') return '';
  const [a, b] = ends(stroke, aspect, look);
  const { ring: r } = look;
  return (stroke.tool === 'sight' ? `M${n(a.x - r)} ${n(a.y)}${half(r, r, 2 * r)}${half(r, r, -2 * r)}` : '') + barbs(a, b, look);
}

function ends(stroke: Stroke, aspect: number, look: InkLook): [XY, XY] {
  const points = inUnits(stroke, aspect, look);
  return [points[0], points[points.length - 1]];
}

/** Of the tools that are made of two ends, and do not feel the pen's pressure. */
export const thickness = (stroke: Stroke, look: InkLook = LOOK): number => widthOf(stroke) * look.units;

/** Height of drawn letters. */
export const textSize = (stroke: Stroke, look: InkLook = LOOK): number => widthOf(stroke) * look.units * look.text.size;

function barbs(a: XY, b: XY, look: InkLook): string {
  const [left, right] = arrowHead(a, b, look.arrow.barb, (look.arrow.turn_deg * Math.PI) / 180);
  return `M${n(left.x)} ${n(left.y)}L${n(b.x)} ${n(b.y)}L${n(right.x)} ${n(right.y)}`;
}

const on = (s: Spot, angle: number): string => `${n(s.x + s.r * Math.cos(angle))} ${n(s.y + s.r * Math.sin(angle))}`;
const disc = ({ x, y, r }: Spot): string => `M${n(x - r)} ${n(y)}${half(r, r, 2 * r)}${half(r, r, -2 * r)}Z`;
const half = (rx: number, ry: number, dx: number): string => `a${n(rx)} ${n(ry)} 0 1 1 ${n(dx)} 0`;

/** Hundredths of a thousandth of the height: finer than any screen. */
const n = (value: number): string => String(Number(value.toFixed(2)) + 0);
