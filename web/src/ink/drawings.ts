import type { Drawing } from '../api/types';
import { within, type Range } from '../geometry/brands';

/** Drawings to be seen on a frame. */
export const onFrame = (drawings: readonly Drawing[], i: number): Drawing[] => drawings.filter((d) => within(d, i));

/** The drawing that a new stroke joins: the one over exactly these frames, else none. */
export function joins(drawings: readonly Drawing[], frames: Range): Drawing | undefined {
  return drawings.find((d) => d.first === frames.first && d.last === frames.last);
}

/** The nearest drawings before and after a frame within its shot, to be shown as neighbours. */
export function neighbours(drawings: readonly Drawing[], i: number, shot: Range): { before?: Drawing; after?: Drawing } {
  const before = drawings.filter((d) => d.last < i && d.last >= shot.first).sort((a, b) => b.last - a.last)[0];
  const after = drawings.filter((d) => d.first > i && d.first <= shot.last).sort((a, b) => a.first - b.first)[0];
  return { ...(before && { before }), ...(after && { after }) };
}

/** Ids of drawings that lie within a range and belong to no note yet. */
export function unclaimed(drawings: readonly Drawing[], claimed: ReadonlySet<string>, r: Range): string[] {
  return drawings.filter((d) => !claimed.has(d.id) && d.first <= r.last && d.last >= r.first).map((d) => d.id);
}
