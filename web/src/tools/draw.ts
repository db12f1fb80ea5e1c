import type { Stroke } from '../api/types';
import type { PicturePoint } from '../geometry/brands';
import { penPoint, toStroke, type Pencil, type PenPoint } from '../ink/ink';
import { later, now, type Chart, type Press } from './change';

/**
 * The drawing tools.
 *
 *   idle --down--> drawing --move--> drawing --up--> idle      (stroke)
 *   idle --down with text--> writing --say--> idle             (stroke)
 *   drawing --cancel--> idle                                   (nothing)
 */
export type DrawState =
  | { readonly name: 'idle' }
  | { readonly name: 'drawing'; readonly pencil: Pencil; readonly points: readonly PenPoint[]; readonly since: number }
  | { readonly name: 'writing'; readonly pencil: Pencil; readonly at: PenPoint };

export type DrawEvent = (Press<PicturePoint> & { pencil: Pencil }) | { type: 'say'; text: string };

/** stroke: finished, to be kept; sketch: as far as it goes, to be shown; clear: show nothing any more. */
export type DrawWish = { kind: 'stroke' | 'sketch'; stroke: Stroke } | { kind: 'clear' };

export const IDLE: DrawState = { name: 'idle' };
/** Part of the picture under which an arrow or ellipse was a slip of the hand (guess: 5 px of 1280). */
const SHORTEST = 0.004;

export const draw: Chart<DrawState, DrawEvent, DrawWish> = (state, event) => {
  if (event.type === 'say') return say(state, event.text);
  switch (state.name) {
    case 'idle':
      return event.type === 'down' ? begin(event) : { state, changes: [] };
    case 'drawing':
      return onward(state, event);
    case 'writing':
      return event.type === 'cancel' ? { state: IDLE, changes: [later({ kind: 'clear' })] } : { state, changes: [] };
  }
};

function begin(event: Press<PicturePoint> & { pencil: Pencil }): ReturnType<typeof draw> {
  const first = penPoint(event.at, event.pressure, 0);
  if (event.pencil.tool === 'text') return { state: { name: 'writing', pencil: event.pencil, at: first }, changes: [] };
  const state = { name: 'drawing', pencil: event.pencil, points: [first], since: event.ms } as const;
  return { state, changes: [later({ kind: 'sketch', stroke: toStroke(event.pencil, [first]) })] };
}

function onward(state: DrawState & { name: 'drawing' }, event: Press<PicturePoint>): ReturnType<typeof draw> {
  if (event.type === 'cancel') return { state: IDLE, changes: [later({ kind: 'clear' })] };
  if (event.type === 'down') return { state, changes: [] };
  const points = event.type === 'move' ? [...state.points, penPoint(event.at, event.pressure, event.ms - state.since)] : state.points;
  const stroke = toStroke(state.pencil, points);
  if (event.type === 'move') return { state: { ...state, points }, changes: [later({ kind: 'sketch', stroke })] };
  if (isSlip(state.pencil, points)) return { state: IDLE, changes: [later({ kind: 'clear' })] };
  return { state: IDLE, changes: [now({ kind: 'stroke', stroke })] };
}

function isSlip(pencil: Pencil, points: readonly PenPoint[]): boolean {
  if (pencil.tool === 'pencil' || pencil.tool === 'eraser') return false;
  const [a, b] = [points[0], points[points.length - 1]];
  return Math.hypot(b[0] - a[0], b[1] - a[1]) < SHORTEST;
}

function say(state: DrawState, text: string): ReturnType<typeof draw> {
  if (state.name !== 'writing' || !text.trim()) return { state: IDLE, changes: [later({ kind: 'clear' })] };
  return { state: IDLE, changes: [now({ kind: 'stroke', stroke: toStroke(state.pencil, [state.at], text.trim().slice(0, 200)) })] };
}
