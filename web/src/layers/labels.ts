import { label, labelSize, type Context } from '../paint/overlay';

/** Names on the picture that never lie over each other: each takes the room that is left, or is left out. */
export interface Room {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** Of a label's size: the mean width of a letter of the condensed face, measured on our labels. */
const WIDTH_OF_LETTER = 0.46;
/** Px that names keep between them. */
const GAP = 5;

const overlap = (a: Room, b: Room): boolean => a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;

/** The first of some places (baseline's left end) that is free, or null. */
export function freePlace(places: readonly { x: number; y: number }[], wide: number, high: number, taken: readonly Room[]): { x: number; y: number; room: Room } | null {
  for (const { x, y } of places) {
    const room = { left: x - GAP, top: y - high, right: x + wide, bottom: y + GAP };
    if (x >= 0 && y >= high && !taken.some((t) => overlap(t, room))) return { x, y, room };
  }
  return null;
}

/** Write beside a point: to its right, its left, under or over it; nowhere when nothing is free. */
export function write(on: Context, text: string, p: { x: number; y: number }, away: number, taken: Room[]): void {
  const high = labelSize(on);
  const wide = text.length * high * WIDTH_OF_LETTER;
  const places = [
    { x: p.x + away, y: p.y - 6 },
    { x: p.x - away - wide, y: p.y - 6 },
    { x: p.x + away, y: p.y + high },
    { x: p.x - away - wide, y: p.y + high },
    { x: p.x - wide / 2, y: p.y + away + high },
    { x: p.x - wide / 2, y: p.y - away },
  ];
  const free = freePlace(places, wide, high, taken);
  if (!free) return;
  taken.push(free.room);
  label(on, text, free.x, free.y);
}
