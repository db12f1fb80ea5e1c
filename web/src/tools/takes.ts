import type { Drawing, LinedTake, Stroke } from '../api/types';

/** Where things of an older take lie on this one. */

/** (a, b, c, d, e, f): the point (x, y) of this picture is (ax + by + c, dx + ey + f) of the older one, in parts of width and height. */
export type Framing = NonNullable<LinedTake['framing']>;

/** The older take's frame that belongs to one of this take's; null where it is new. */
export const oldFrame = (lined: Pick<LinedTake, 'old_of'>, index: number): number | null => lined.old_of[index] ?? null;

/** The way back: from a point of the older picture to this one. */
export function turned([a, b, c, d, e, f]: Framing): Framing {
  const det = a * e - b * d;
  return [e / det, -b / det, (b * f - c * e) / det, -d / det, a / det, (c * d - a * f) / det];
}

const through = ([a, b, c, d, e, f]: Framing, x: number, y: number): [number, number] => [a * x + b * y + c, d * x + e * y + f];

/** A drawing of the older take on this one's frames and framing. */
export function carriedDrawing(drawing: Drawing, frames: { first: number; last: number }, framing: Framing | null): Drawing {
  const back = framing && turned(framing);
  const moved = (stroke: Stroke): Stroke => (back ? { ...stroke, points: stroke.points.map(([x, y, ...more]) => [...through(back, x, y), ...more] as (typeof stroke.points)[number]) } : stroke);
  return { ...drawing, ...frames, strokes: (drawing.strokes ?? []).map(moved) };
}

/** CSS for an older picture that is laid over this one in a box of so many px, so that like lies on like. Its transform-origin is 0 0. */
export function overlaid(framing: Framing | null, width: number, height: number): string {
  if (!framing) return 'none';
  const [a, b, c, d, e, f] = turned(framing);
  return `matrix(${[a, (d * height) / width, (b * width) / height, e, c * width, f * height].map((n) => (n + 0).toFixed(6)).join(', ')})`;
}
