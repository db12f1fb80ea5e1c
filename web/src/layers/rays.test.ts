import { describe, expect, it } from 'vitest';
import { withinPicture } from './rays';

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
