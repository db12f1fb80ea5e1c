import { MOUTH_MARKS } from './points';

/** What of a face is enlarged: where it is and how wide, so that it is as large on each frame as the head is. */
export interface Spot {
  /** Middle, in fractions of the picture. */
  readonly x: number;
  readonly y: number;
  /** Of the picture's width. */
  readonly width: number;
}
type XY = { readonly x: number; readonly y: number };
type At = (mark: string) => XY | null;

/** Between the middles of both eyes is one. Guess: room for brows and rims, and for a mouth pulled wide. */
const EYES_WIDE = 2.3;
const MOUTH_WIDE = 1.5;
/** Where the eyes are not known: of the way between the mouth's corners (guess). */
const CORNERS_WIDE = 1.9;

const middle = (a: XY, b: XY): XY => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
const apart = (a: XY, b: XY, aspect: number): number => Math.hypot(b.x - a.x, (b.y - a.y) / aspect);

/** Both eyes. Null where one of them is not known on this frame. */
export function eyesSpot(at: At, aspect: number): Spot | null {
  const [l, r] = ['left', 'right'].map((side) => at(`eye_${side}`) ?? at(`iris_${side}`));
  return l && r ? { ...middle(l, r), width: EYES_WIDE * apart(l, r, aspect) } : null;
}

/** The mouth. Null where its corners are not known on this frame. */
export function mouthSpot(at: At, aspect: number): Spot | null {
  const [right, left, upper, lower] = MOUTH_MARKS.map(at);
  if (!right || !left) return null;
  const eyes = eyesSpot(at, aspect);
  const mid = middle(right, left);
  const width = eyes ? (MOUTH_WIDE / EYES_WIDE) * eyes.width : CORNERS_WIDE * apart(right, left, aspect);
  return { x: mid.x, y: upper && lower ? (upper.y + lower.y) / 2 : mid.y, width };
}
