/**
 * When a change can be taken back.
 * now: it is one step of undo. later: part of something still going on (a line being drawn); only its end is a step.
 * never: a look at things (scrolling, zooming, choosing), which undo leaves alone.
 */
export type Undo = 'now' | 'later' | 'never';

/** What a tool wants done. */
export interface Change<T> {
  readonly undo: Undo;
  readonly what: T;
}

export const now = <T>(what: T): Change<T> => ({ undo: 'now', what });
export const later = <T>(what: T): Change<T> => ({ undo: 'later', what });
export const never = <T>(what: T): Change<T> => ({ undo: 'never', what });

/** A pointer's life, in the coordinates of the surface that it is on. */
export interface Press<P> {
  readonly type: 'down' | 'move' | 'up' | 'cancel';
  readonly at: P;
  readonly pressure: number;
  readonly ms: number;
  readonly shift: boolean;
}

/** A tool as a small state chart: a pure step from state and event to state and changes. */
export type Chart<S extends { name: string }, E, W> = (state: S, event: E) => { state: S; changes: Change<W>[] };
