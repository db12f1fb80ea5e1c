import type { PencilColour } from '../api/types';
import { pictureToScreen, way, type Box } from '../geometry/view';
import { PENCILS } from '../ink/look';
import { paintArrow, seen, thickness, type Context } from '../paint/overlay';
import { covers, type Lane, type SheetModel } from '../sheet/model';
import { write, type Room } from './labels';

/** Look rays: as it is in full lines, from each eye along its direction, red where a check says that the look misses; as it should be in dashes, from between the eyes to what was said they look at. */

/** Of the picture's height. */
const RAY_LENGTH = 0.32;
/** A direction with less than this sidewise points at the lens. */
const AT_LENS = 0.05;
const RING = 9;
/** Of the picture: how near to its edge a ray to something outside ends. */
const EDGE = 0.012;

export interface WantedLook {
  readonly who: string;
  readonly from: { x: number; y: number };
  /** Where it should go, in fractions of the picture, beyond its edge too; null: into the lens; 'elsewhere': to something that this shot never shows. */
  readonly to: { x: number; y: number } | null | 'elsewhere';
  readonly text: string;
}

/** Red for a look that misses, green for one that is where it should be, white where nothing was said or judged. */
export function rayPencil(lanes: readonly Lane[], who: string, frame: number): PencilColour {
  const kinds = lanes.filter((l) => l.column === 'eyes' && l.who === who).flatMap((l) => l.stretches.filter((s) => covers(s, frame)).map((s) => s.kind));
  if (kinds.includes('look_missed')) return 'red';
  return kinds.includes('look_met') || kinds.includes('look_alone') ? 'green' : 'white';
}

export function paintRays(on: Context, { players, lanes }: Pick<SheetModel, 'players' | 'lanes'>, frame: number, box: Box, written: Room[]): void {
  for (const { who, gaze } of players) {
    const colour = PENCILS[rayPencil(lanes, who, frame)].css;
    gaze.forEach((eye, k) => {
      const [x, y] = eye.origin.subarray(frame * 2, frame * 2 + 2);
      const [dx, dy] = eye.direction.subarray(frame * 3, frame * 3 + 3);
      if (![x, y, dx, dy].every(Number.isFinite)) return;
      const from = pictureToScreen({ x, y }, box);
      const to = { x: from.x + way(box) * dx * RAY_LENGTH * box.height, y: from.y + dy * RAY_LENGTH * box.height };
      if (Math.hypot(dx, dy) < AT_LENS) seen(on, colour, 2, [], () => on.arc(from.x, from.y, RING * thickness(on), 0, Math.PI * 2));
      else paintArrow(on, from, to, colour, []);
      if (k === 0) write(on, who, to, 8, written);
    });
  }
}

export function paintWanted(on: Context, looks: readonly WantedLook[], box: Box, written: Room[]): void {
  for (const look of looks) {
    const from = pictureToScreen(look.from, box);
    if (look.to === null) {
      for (const radius of [RING + 4, RING + 10]) seen(on, PENCILS.white.css, 1.8, [5, 4], () => on.arc(from.x, from.y, radius * thickness(on), 0, Math.PI * 2));
      write(on, look.text, { x: from.x, y: from.y + 20 }, RING + 14, written);
      continue;
    }
    if (look.to === 'elsewhere') {
      write(on, `${look.text}, not in this shot`, { x: from.x, y: from.y + 20 }, RING + 14, written);
      continue;
    }
    const to = pictureToScreen(withinPicture(look.from, look.to), box);
    paintArrow(on, from, to, PENCILS.white.css, [8, 6]);
    write(on, look.text, { x: to.x, y: to.y + 20 }, 8, written);
  }
}

/** The end of a line from a to b, or where it meets the picture's edge. Fractions of the picture; a outside of it stays as it is. */
export function withinPicture(a: { x: number; y: number }, b: { x: number; y: number }): { x: number; y: number } {
  const reach = (from: number, to: number): number => (to > 1 - EDGE ? (1 - EDGE - from) / (to - from) : to < EDGE ? (EDGE - from) / (to - from) : 1);
  const t = Math.min(1, Math.max(0, Math.min(reach(a.x, b.x), reach(a.y, b.y))));
  return { x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t };
}

/** Two marks that hold each other. */
export function paintTouch(on: Context, a: { x: number; y: number }, b: { x: number; y: number }, text: string, box: Box, written: Room[]): void {
  const [p, q] = [pictureToScreen(a, box), pictureToScreen(b, box)];
  seen(on, PENCILS.green.css, 2.4, [], () => {
    on.moveTo(p.x, p.y);
    on.lineTo(q.x, q.y);
  });
  for (const end of [p, q]) seen(on, PENCILS.green.css, 2, [], () => on.arc(end.x, end.y, 7 * thickness(on), 0, Math.PI * 2));
  if (text) write(on, text, { x: (p.x + q.x) / 2, y: Math.max(p.y, q.y) + 14 }, 10, written);
}
