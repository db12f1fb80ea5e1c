import { describe, expect, it } from 'vitest';
import type { Drawing } from '../api/types';
import { onPicture, range } from '../geometry/brands';
import { joins, neighbours, onFrame, unclaimed } from './drawings';
import { moved, penPoint, toStroke, type Pencil, type PenPoint } from './ink';

const PENCIL: Pencil = { tool: 'pencil', colour: 'red', width: 0.006, dashed: false };
const points: PenPoint[] = [0, 1, 2, 3].map((k) => [0.1 + k * 0.1, 0.5, [0.25, 0.89, 0.5, 0.4][k], k * 8]);

describe('ink', () => {
  it('keeps every raw point with its pressure and time', () => {
    expect(toStroke(PENCIL, points).points).toEqual(points);
    expect(penPoint(onPicture(0.2, 0.3), 7, -1)).toEqual([0.2, 0.3, 1, 0]);
  });
  it('keeps two ends of a line tool', () => {
    expect(toStroke({ ...PENCIL, tool: 'arrow' }, points).points).toEqual([points[0], points[3]]);
  });
  it('moves a copy as the mark moved, pressure and all', () => {
    const stroke = moved(toStroke(PENCIL, points), 0.25, -0.5);
    expect(stroke.points[1]).toEqual([0.45, 0, 0.89, 8]);
  });
});

describe('drawings on frames', () => {
  const drawing = (id: string, first: number, last: number): Drawing => ({ id, first, last, take: 't', strokes: [], version: 1 });
  const all = [drawing('a', 5, 5), drawing('b', 10, 20), drawing('c', 30, 31)];
  it('are seen on all their frames', () => {
    expect(onFrame(all, 15).map((d) => d.id)).toEqual(['b']);
    expect(onFrame(all, 21)).toEqual([]);
  });
  it('have neighbours that shine through', () => {
    const near = neighbours(all, 25, range(0, 99));
    expect([near.before?.id, near.after?.id]).toEqual(['b', 'c']);
    expect(neighbours(all, 2, range(0, 99)).before).toBeUndefined();
  });
  it('do not shine through a cut', () => {
    const near = neighbours(all, 25, range(22, 28));
    expect(near).toEqual({});
  });
  it('take in strokes over exactly their frames only', () => {
    expect(joins(all, range(10, 20))?.id).toBe('b');
    expect(joins(all, range(10, 19))).toBeUndefined();
  });
  it('go to a new note unless they belong to one', () => {
    expect(unclaimed(all, new Set(['b']), range(4, 30))).toEqual(['a', 'c']);
  });
});
