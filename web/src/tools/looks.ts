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

export const sameLook = (a: CastLook, b: CastLook): boolean => JSON.stringify([a.who, a.at, a.first ?? null, a.last ?? null]) === JSON.stringify([b.who, b.at, b.first ?? null, b.last ?? null]);

/** What a look is at, in words. */
export function atText(at: CastLook['at']): string {
  if (typeof at !== 'string') return 'a point of the picture';
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
