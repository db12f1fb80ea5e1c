import { describe, expect, it } from 'vitest';
import { range } from '../geometry/brands';
import { CROPS, cropped, SAFE } from '../paint/guides';
import { eyesSpot, mouthSpot } from './faces';
import { flip, pairOf } from './pair';

describe('two frames held against each other', () => {
  it('are the ends of what is chosen, else this frame and the one before', () => {
    expect(pairOf(range(10, 40), 25)).toEqual([10, 40]);
    expect(pairOf(null, 25)).toEqual([24, 25]);
    expect(pairOf(range(7, 7), 0)).toEqual([0, 1]);
  });
  it('are flipped to and fro', () => {
    let at = 25;
    let pair = null;
    const shown = [];
    for (let k = 0; k < 4; k++) {
      const next = flip(pair, null, at);
      pair = next.pair;
      shown.push((at = next.to));
    }
    expect(shown).toEqual([24, 25, 24, 25]);
    expect(flip(pair, range(10, 40), 25).to).toBe(10);
    expect(flip(pair, range(10, 40), 10).to).toBe(40);
  });
});

describe('crops and safe areas', () => {
  it('keep the middle, and have the shape that they are called by', () => {
    const picture = { left: 10, top: 20, width: 1600, height: 900 };
    for (const shape of Object.values(CROPS)) {
      const kept = cropped(picture, shape);
      expect(kept.width / kept.height).toBeCloseTo(shape, 6);
      expect([kept.left + kept.width / 2, kept.top + kept.height / 2]).toEqual([810, 470]);
      expect(Math.max(kept.width / picture.width, kept.height / picture.height)).toBeCloseTo(1, 6);
    }
  });
  it('are those of the standards: a twentieth from each edge for titles, 3.5 % for action', () => {
    expect([(1 - SAFE.action) / 2, (1 - SAFE.title) / 2].map((m) => Math.round(m * 1000))).toEqual([35, 50]);
  });
});

describe('a face enlarged', () => {
  const marks: Record<string, { x: number; y: number }> = { eye_left: { x: 0.6, y: 0.4 }, eye_right: { x: 0.4, y: 0.4 }, mouth_left: { x: 0.55, y: 0.7 }, mouth_right: { x: 0.45, y: 0.7 } };
  const at = (mark: string): { x: number; y: number } | null => marks[mark] ?? null;
  it('is as wide as the eyes stand apart, whatever the mouth does', () => {
    expect(eyesSpot(at, 16 / 9)).toEqual({ x: 0.5, y: 0.4, width: expect.closeTo(0.46, 6) });
    const wide = (m: string): { x: number; y: number } | null => (m === 'mouth_left' ? { x: 0.6, y: 0.7 } : at(m));
    expect(mouthSpot(at, 1)?.width).toBeCloseTo(0.3, 6);
    expect(mouthSpot(wide, 1)?.width).toBeCloseTo(0.3, 6);
  });
  it('is nowhere without marks', () => {
    expect([eyesSpot(() => null, 1), mouthSpot(() => null, 1)]).toEqual([null, null]);
  });
});
