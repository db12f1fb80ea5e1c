import type { PicturePoint } from '../geometry/brands';
import { later, never, now, type Chart } from './change';

/**
 * The hand that puts things on the picture.
 *
 *   idle --move--> idle                                  (aim: the inset follows)
 *   idle --down--> pressing --move--> pressing --up--> idle      (put, where it is let go: press, slide, let go)
 *   idle --down--> pressing --move far--> pulling --up--> idle   (pulled, from one thing to another; tools that pull)
 *   pressing, pulling --cancel--> idle                   (nothing)
 */
export type PlaceState =
  | { readonly name: 'idle' }
  | { readonly name: 'pressing'; readonly from: PicturePoint; readonly to: PicturePoint }
  | { readonly name: 'pulling'; readonly from: PicturePoint; readonly to: PicturePoint };

export interface PlaceEvent {
  readonly type: 'down' | 'move' | 'up' | 'cancel' | 'leave';
  readonly at: PicturePoint;
  /** Whether this tool draws from one thing to another. */
  readonly pulls: boolean;
  /** Width over height of the picture. */
  readonly aspect: number;
}

export type PlaceWish = { kind: 'aim'; at: PicturePoint | null } | { kind: 'put'; from: PicturePoint; at: PicturePoint } | { kind: 'pull' | 'pulled'; from: PicturePoint; to: PicturePoint } | { kind: 'clear' };

export const EMPTY_HAND: PlaceState = { name: 'idle' };
/** Of the picture's height: a hand that moved less has pressed, not pulled (guess: 8 px of 720). */
export const FAR = 0.012;

export const place: Chart<PlaceState, PlaceEvent, PlaceWish> = (state, event) => {
  if (event.type === 'cancel') return { state: EMPTY_HAND, changes: [later({ kind: 'clear' })] };
  if (state.name === 'idle') return rest(event);
  if (event.type === 'up') return letGo(state, event);
  if (event.type !== 'move') return { state, changes: [] };
  const pulling = state.name === 'pulling' || (event.pulls && isFar(state.from, event));
  const next = { name: pulling ? 'pulling' : 'pressing', from: state.from, to: event.at } as const;
  return { state: next, changes: [pulling ? later({ kind: 'pull', from: state.from, to: event.at }) : never({ kind: 'aim', at: event.at })] };
};

function rest(event: PlaceEvent): ReturnType<typeof place> {
  const at = event.type === 'leave' ? null : event.at;
  const state: PlaceState = event.type === 'down' ? { name: 'pressing', from: event.at, to: event.at } : EMPTY_HAND;
  return { state, changes: [never({ kind: 'aim', at })] };
}

function letGo(state: PlaceState & { from: PicturePoint }, event: PlaceEvent): ReturnType<typeof place> {
  const what: PlaceWish = state.name === 'pulling' ? { kind: 'pulled', from: state.from, to: event.at } : { kind: 'put', from: state.from, at: event.at };
  return { state: EMPTY_HAND, changes: [now(what)] };
}

const isFar = (from: PicturePoint, event: PlaceEvent): boolean => Math.hypot((event.at.x - from.x) * event.aspect, event.at.y - from.y) > FAR;
