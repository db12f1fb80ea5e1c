import { range, type Ordinal, type Range } from '../geometry/brands';
import type { Grip } from '../sheet/grips';
import { later, never, now, type Chart } from './change';

/**
 * The hand on the sheet.
 *
 *   idle --down on a row--> choosing --move--> choosing --up--> idle     (frames chosen; a press without a move goes to the frame)
 *   idle --down on an edge--> pulling --move--> pulling --up--> idle     (a correction)
 */
export type RowState =
  | { readonly name: 'idle' }
  | { readonly name: 'choosing'; readonly from: Ordinal; readonly to: Ordinal; readonly moved: boolean }
  | { readonly name: 'pulling'; readonly grip: Grip; readonly y: number; readonly moved: boolean };

export interface RowEvent {
  readonly type: 'down' | 'move' | 'up' | 'cancel';
  readonly row: Ordinal;
  readonly y: number;
  readonly grip: Grip | null;
  readonly shift: boolean;
  /** The playhead, from which a press with shift chooses. */
  readonly playhead: Ordinal;
}

export type RowWish =
  | { kind: 'go'; to: Ordinal }
  | { kind: 'choose'; range: Range }
  | { kind: 'pull'; grip: Grip; y: number }
  | { kind: 'pulled'; grip: Grip; y: number; snap: boolean }
  | { kind: 'forget' };

export const AT_REST: RowState = { name: 'idle' };

export const hand: Chart<RowState, RowEvent, RowWish> = (state, event) => {
  switch (state.name) {
    case 'idle':
      return event.type === 'down' ? press(event) : { state, changes: [] };
    case 'choosing':
      return choose(state, event);
    case 'pulling':
      return pull(state, event);
  }
};

function press(event: RowEvent): ReturnType<typeof hand> {
  if (event.grip && event.grip.part !== 'body') return { state: { name: 'pulling', grip: event.grip, y: event.y, moved: false }, changes: [] };
  const from = event.shift ? event.playhead : event.row;
  const changes = event.shift ? [never({ kind: 'choose', range: range(from, event.row) } as const)] : [never({ kind: 'go', to: event.row } as const)];
  return { state: { name: 'choosing', from, to: event.row, moved: event.shift }, changes };
}

function choose(state: RowState & { name: 'choosing' }, event: RowEvent): ReturnType<typeof hand> {
  if (event.type === 'up' || event.type === 'cancel') return { state: AT_REST, changes: [] };
  if (event.row === state.to && !state.moved) return { state, changes: [] };
  const next = { ...state, to: event.row, moved: true };
  return { state: next, changes: [never({ kind: 'choose', range: range(state.from, event.row) })] };
}

function pull(state: RowState & { name: 'pulling' }, event: RowEvent): ReturnType<typeof hand> {
  if (event.type === 'cancel') return { state: AT_REST, changes: [later({ kind: 'forget' })] };
  if (event.type === 'move') return { state: { ...state, y: event.y, moved: true }, changes: [later({ kind: 'pull', grip: state.grip, y: event.y })] };
  if (!state.moved) return { state: AT_REST, changes: [never({ kind: 'go', to: event.row })] };
  return { state: AT_REST, changes: [now({ kind: 'pulled', grip: state.grip, y: event.y, snap: event.shift })] };
}
