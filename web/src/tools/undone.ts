import type { Cast, CastPart, Placed } from '../api/types';

/** A mark on one frame that an undo or redo took off, put back or moved. */
export interface Undone {
  readonly who: string;
  readonly mark: string;
  readonly frame: number;
  readonly placed: boolean;
}

const marksOf = (cast: Cast): Map<string, CastPart> => new Map([...(cast.characters ?? []), ...(cast.props ?? [])].map((p) => [p.name, p]));
const byFrame = (places: readonly Placed[] | undefined): Map<number, Placed> => new Map((places ?? []).map((p) => [p.frame, p]));
const same = (a: Placed | undefined, b: Placed | undefined): boolean => a?.x === b?.x && a?.y === b?.y;

/** The one mark in which two casts differ; null where it is none or several: a table read in, a character taken out. */
export function undoneMark(before: Cast, after: Cast): Undone | null {
  const [old, now] = [before, after].map(marksOf);
  const found: Undone[] = [];
  for (const [who, part] of now) {
    const was = old.get(who);
    for (const mark of new Set([...Object.keys(part.marks ?? {}), ...Object.keys(was?.marks ?? {})])) {
      const [a, b] = [byFrame(was?.marks?.[mark]), byFrame(part.marks?.[mark])];
      for (const frame of new Set([...a.keys(), ...b.keys()])) if (!same(a.get(frame), b.get(frame))) found.push({ who, mark, frame, placed: b.has(frame) });
    }
  }
  return found.length === 1 ? found[0] : null;
}
