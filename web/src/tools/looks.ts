import type { CastLook } from '../api/types';
import type { XY } from '../geometry/paths';
import { markName } from './points';

/** Looks as the cast holds them, over shown frames; a look without frames holds for the whole shot. */
export interface Bounds {
  readonly first: number;
  readonly last: number;
}

const inside = (look: CastLook, whole: Bounds): Bounds => ({ first: look.first ?? whole.first, last: look.last ?? whole.last });

/** Nobody looks at two things at once: the new look takes its frames from the same person's others, which may fall into two. */
export function withLook(looks: readonly CastLook[], added: CastLook & Bounds, whole: Bounds): CastLook[] {
  const left = looks.flatMap((look) => {
    const { first, last } = inside(look, whole);
    if (look.who !== added.who || last < added.first || first > added.last) return [look];
    const parts: CastLook[] = [];
    if (first < added.first) parts.push({ ...look, first, last: added.first - 1 });
    if (last > added.last) parts.push({ ...look, first: added.last + 1, last });
    return parts;
  });
  return [...left, added].sort((a, b) => inside(a, whole).first - inside(b, whole).first || a.who.localeCompare(b.who));
}

export const lookOn = (looks: readonly CastLook[], who: string, frame: number): CastLook | undefined =>
  looks.find((k) => k.who === who && (k.first ?? -Infinity) <= frame && (k.last ?? Infinity) >= frame);

export const sameLook = (a: CastLook, b: CastLook): boolean => JSON.stringify([a.who, a.at, a.first ?? null, a.last ?? null, a.off ?? null]) === JSON.stringify([b.who, b.at, b.first ?? null, b.last ?? null, b.off ?? null]);

export type Side = NonNullable<CastLook['off']>;
export const SIDES: Readonly<Record<Side, string>> = { left: 'off to screen left', right: 'off to screen right', up: 'off above', down: 'off below', behind: 'behind the lens' };
/** Of the picture's height: a line that ends so near to its edge was meant to go off (guess: a hand stops at the edge of what it draws on). */
const EDGE = 0.015;

/** Off which side of the picture a line ends; null where it ends in it. */
export function sideOff(to: XY, aspect: number): Side | null {
  const over: [Side, number][] = [['left', -to.x * aspect], ['right', (to.x - 1) * aspect], ['up', -to.y], ['down', to.y - 1]];
  const [side, far] = over.reduce((a, b) => (b[1] > a[1] ? b : a));
  return far > -EDGE ? side : null;
}

/** Beyond the picture's edge, on that side of somebody's eyes; null: the lens. */
export function beyond(from: XY, side: Side): XY | null {
  return { left: { x: -0.5, y: from.y }, right: { x: 1.5, y: from.y }, up: { x: from.x, y: -0.5 }, down: { x: from.x, y: 1.5 }, behind: null }[side];
}

/** Whom a look off the picture is at: of those whom it does not show, who exchanges looks with this one elsewhere, else the first. */
export function partnerOff(looks: readonly CastLook[], who: string, unseen: readonly string[]): string | null {
  const others = unseen.filter((name) => name !== who);
  const exchanges = (name: string): boolean => looks.some((k) => (k.who === who && k.at === name) || (k.who === name && k.at === who));
  return others.find(exchanges) ?? others[0] ?? null;
}

/** What a look is at and, off the picture, roughly where, in words. */
export const lookText = (look: Pick<CastLook, 'at' | 'off'>): string => `${atText(look.at)}${look.off ? `, ${SIDES[look.off]}` : ''}`;

/** What a look is at, in words. */
export function atText(at: CastLook['at']): string {
  if (typeof at !== 'string') return 'a place in the picture';
  if (at === 'camera') return 'the camera';
  const [who, mark] = at.split('.');
  return mark ? `${who}, ${markName(mark)}` : who;
}

/** Something on the picture that can be pointed at. reach: how near counts, of the picture's height; the nearer to the middle wins. */
export interface Spot extends XY {
  readonly name: string;
  readonly reach: number;
}

/** The spot under a point of the picture, or null. */
export function spotAt(spots: readonly Spot[], at: XY, aspect: number): Spot | null {
  let best: Spot | null = null;
  let least = 1;
  for (const spot of spots) {
    const far = Math.hypot((spot.x - at.x) * aspect, spot.y - at.y) / spot.reach;
    if (far <= least) [best, least] = [spot, far];
  }
  return best;
}
