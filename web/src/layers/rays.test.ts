import { describe, expect, it } from 'vitest';
import type { Lane } from '../sheet/model';
import { rayPencil, withinPicture } from './rays';

describe('a wanted look', () => {
  it('goes to what is in the picture', () => {
    expect(withinPicture({ x: 0.2, y: 0.4 }, { x: 0.7, y: 0.5 })).toEqual({ x: 0.7, y: 0.5 });
  });
  it('ends at the edge on its way to what lies outside, without turning', () => {
    const end = withinPicture({ x: 0.5, y: 0.5 }, { x: 1.5, y: 0.7 });
    expect(end.x).toBeCloseTo(0.988);
    expect((end.y - 0.5) / (end.x - 0.5)).toBeCloseTo(0.2);
    expect(withinPicture({ x: 0.5, y: 0.5 }, { x: 0.5, y: -3 })).toEqual({ x: 0.5, y: expect.closeTo(0.012) });
  });
  it('of eyes that are out of sight themselves goes nowhere', () => {
    expect(withinPicture({ x: 1.2, y: 0.5 }, { x: 2, y: 0.5 })).toEqual({ x: 1.2, y: 0.5 });
  });
});

describe('a ray', () => {
  const stretch = (start: number, stop: number, kind: string): Lane['stretches'][0] => ({ start, stop, kind }) as Lane['stretches'][0];
  const oona: Lane = { column: 'eyes', who: 'Oona', curves: [], stretches: [stretch(0, 10, 'look_met'), stretch(10, 20, 'look_missed'), stretch(20, 30, 'look_alone'), stretch(30, 40, 'look_proposed'), stretch(12, 14, 'blink')] };
  it('is red only where the look misses', () => {
    expect([5, 10, 13, 19, 20, 35, 50].map((i) => rayPencil([oona], 'Oona', i))).toEqual(['green', 'red', 'red', 'red', 'green', 'white', 'white']);
  });
  it('is one character’s own', () => {
    expect(rayPencil([oona], 'Bram', 13)).toBe('white');
  });
});
