import type { Range } from '../geometry/brands';

/** Two frames that are held against each other. */
export type Pair = readonly [number, number];

/** The first and last of the chosen frames, across a cut too; with none chosen (or one) the frame before this one, and this one. */
export function pairOf(chosen: Range | null, at: number): Pair {
  if (chosen && chosen.first !== chosen.last) return [chosen.first, chosen.last];
  return at > 0 ? [at - 1, at] : [0, 1];
}

/** As one flips drawings: the other one of the pair that is being flipped, else the first of a new pair. */
export function flip(last: Pair | null, chosen: Range | null, at: number): { pair: Pair; to: number } {
  const fresh = pairOf(chosen, at);
  const pair = last && last.includes(at) && !(chosen && chosen.first !== chosen.last) ? last : fresh;
  return { pair, to: at === pair[0] ? pair[1] : pair[0] };
}
