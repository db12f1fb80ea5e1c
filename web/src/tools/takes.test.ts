import { describe, expect, it } from 'vitest';
import type { Drawing, Stroke } from '../api/types';
import { carriedDrawing, oldFrame, overlaid, turned, type Framing } from './takes';

/** Twice as close, about a place left of and above the middle: worked by hand. */
const CLOSER: Framing = [0.5, 0, 0.1, 0, 0.5, 0.2];

describe('an older take', () => {
  it('has a frame for each of this one, but for those that are new', () => {
    expect([0, 1, 2, 9].map((i) => oldFrame({ old_of: [null, 0, 0] }, i))).toEqual([null, 0, 0, null]);
  });
  it('is laid where like lies on like', () => {
    expect(turned(CLOSER).map((n) => Number(n.toFixed(9)) + 0)).toEqual([2, 0, -0.2, 0, 2, -0.4]);
    expect(overlaid(CLOSER, 200, 100)).toBe('matrix(2.000000, 0.000000, 0.000000, 2.000000, -40.000000, -40.000000)');
    expect(overlaid(null, 200, 100)).toBe('none');
  });
  it('turns with the picture, whatever shape the picture has', () => {
    // A quarter turn in px of a picture of 200 x 100: x' = y, y' = 100 - x, which is in parts x' = y / 2, y' = 1 - 2 x.
    const quarter: Framing = [0, 0.5, 0, -2, 0, 1];
    expect(overlaid(quarter, 200, 100).match(/-?\d+\.\d+/g)?.map((n) => Math.round(Number(n)) + 0)).toEqual([0, 1, -1, 0, 100, 0]);
  });
  it('has its drawings carried along', () => {
    const stroke: Stroke = { tool: 'pencil', colour: 'blue', width: 0.006, text: '', dashed: false, points: [[0.35, 0.45, 0.5, 7]] };
    const drawing: Drawing = { id: 'd1', take: 'take1', first: 3, last: 4, version: 0, strokes: [stroke] };
    const carried = carriedDrawing(drawing, { first: 10, last: 11 }, CLOSER);
    expect([carried.first, carried.last]).toEqual([10, 11]);
    expect(carried.strokes?.[0].points[0].map((n) => Number(n.toFixed(9)))).toEqual([0.5, 0.5, 0.5, 7]);
    expect(carriedDrawing(drawing, { first: 10, last: 11 }, null).strokes).toEqual(drawing.strokes);
  });
});
