import type { Range } from '../geometry/brands';

/** Frames fetched to either side of a still playhead (measured: a step then costs 0.4 ms). */
export const AROUND = 6;
/** Frames fetched ahead in playing: half a second at 24 fps. */
export const AHEAD = 12;

export interface Motion {
  readonly at: number;
  /** -1, 0 or 1. */
  readonly direction: number;
  readonly loop: Range | null;
  readonly frames: number;
}

/** Frames worth having, the most urgent first; no frame twice. */
export function wanted(motion: Motion): number[] {
  const list = motion.direction === 0 ? around(motion.at) : ahead(motion);
  return [...new Set(list)].filter((i) => i >= 0 && i < motion.frames);
}

function around(at: number): number[] {
  const list = [at];
  for (let d = 1; d <= AROUND; d++) list.push(at + d, at - d);
  return list;
}

function ahead({ at, direction, loop }: Motion): number[] {
  const list = [at];
  let next = at;
  for (let k = 0; k < AHEAD; k++) {
    next += direction;
    if (loop && next > loop.last) next = loop.first;
    if (loop && next < loop.first) next = loop.last;
    list.push(next);
  }
  return list;
}
