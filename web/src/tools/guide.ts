import type { CastPart, Placed } from '../api/types';
import { MOUTH_MARKS, POINTS, type PointSet } from './points';

/** What to mark next: the points of a set on one frame, then the frames that would teach a mouth the most. Frames are shown frames, as in a cast. */

/** Frames; a mouth marked so near to a suggested frame covers it (guess). */
const NEAR = 2;
/** Of the mouth's width: lips this near to each other are shut (guess). */
const SHUT = 0.05;
/** Of the mouth's width: an opening from which on the mouth counts as open (guess). */
const OPEN = 0.3;

export type Shape = 'shut' | 'open' | 'wide';
export const SHAPES: readonly Shape[] = ['shut', 'open', 'wide'];
export const SHAPE_NAMES: Readonly<Record<Shape, string>> = { shut: 'lips shut', open: 'mouth most open', wide: 'corners pulled widest' };

/** A frame worth marking, and how we know: seen in the picture, or guessed from what is said there. */
export interface Worth {
  readonly shape: Shape;
  readonly frame: number;
  readonly by: 'sight' | 'sound';
}

export const placedOn = (part: CastPart, mark: string, frame: number): Placed | undefined => (part.marks?.[mark] ?? []).find((p) => p.frame === frame);

export const pointsOf = (part: CastPart, set: PointSet): readonly string[] => (set === 'prop' ? Object.keys(part.marks ?? {}) : POINTS[set].map((p) => p.mark));

/** The next point of the set that is neither placed on this frame nor skipped; those after `from` first. Null: the set is complete here. */
export function nextPoint(part: CastPart, set: PointSet, frame: number, skipped: ReadonlySet<string>, from: string | null): string | null {
  const points = pointsOf(part, set);
  const at = from === null ? -1 : points.indexOf(from);
  const turned = [...points.slice(at + 1), ...points.slice(0, at + 1)];
  return turned.find((mark) => !placedOn(part, mark, frame) && !skipped.has(mark)) ?? null;
}

/** The point after or before `from`, placed or not. */
export function step(part: CastPart, set: PointSet, from: string | null, way: 1 | -1): string | null {
  const points = pointsOf(part, set);
  if (!points.length) return null;
  const at = from === null ? (way > 0 ? -1 : 0) : points.indexOf(from);
  return points[(at + way + points.length) % points.length];
}

/** Frames on which the whole mouth is marked, with its opening as part of its width. */
export function taughtMouths(part: CastPart, aspect: number): { frame: number; opening: number }[] {
  const [right, left, upper, lower] = MOUTH_MARKS.map((m) => new Map((part.marks?.[m] ?? []).map((p) => [p.frame, p])));
  const far = (a: Placed, b: Placed): number => Math.hypot((a.x - b.x) * aspect, a.y - b.y);
  return [...right.keys()].flatMap((frame) => {
    const spots = [right, left, upper, lower].map((m) => m.get(frame));
    const [r, l, u, d] = spots;
    return r && l && u && d ? [{ frame, opening: far(u, d) / (far(r, l) || 1) }] : [];
  });
}

/** The suggestions that no marked mouth covers yet. */
export function stillWorth(part: CastPart, worth: readonly Worth[], aspect: number): Worth[] {
  const taught = taughtMouths(part, aspect);
  return worth.filter(({ shape, frame }) => {
    if (taught.some((t) => Math.abs(t.frame - frame) <= NEAR)) return false;
    if (shape === 'shut') return !taught.some((t) => t.opening < SHUT);
    return shape !== 'open' || !taught.some((t) => t.opening > OPEN);
  });
}

const SOUNDS: Readonly<Record<Shape, ReadonlySet<string>>> = {
  shut: new Set(['M', 'B', 'P']),
  open: new Set(['AA', 'AE', 'AW', 'AY', 'AO', 'AH']),
  wide: new Set(['IY', 'EY', 'EH']),
};

/** Where the sound says that a mouth should be shut, open and wide: the longest such phone of each kind. Good enough to look there before anything is followed. */
export function worthByEar(phones: readonly { phone: string; first: number; last: number; start_s: number; end_s: number }[], firstFrame: number): Worth[] {
  return SHAPES.flatMap((shape) => {
    const fits = phones.filter((p) => SOUNDS[shape].has(p.phone)).sort((a, b) => b.end_s - b.start_s - (a.end_s - a.start_s));
    return fits.length ? [{ shape, frame: Math.floor((fits[0].first + fits[0].last) / 2) + firstFrame, by: 'sound' as const }] : [];
  });
}
