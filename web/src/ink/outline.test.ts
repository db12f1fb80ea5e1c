import { describe, expect, it } from 'vitest';
import type { Stroke } from '../api/types';
import VECTORS from '../../../tests/vectors/ink.json';
import { LOOK, PENCILS, type InkLook } from './look';
import { covered, dashed, endsPath, linePath, pressedLine, textSize, type Spot } from './outline';

const stroke = (points: readonly number[][], given: Partial<Stroke> = {}): Stroke =>
  ({ tool: 'pencil', colour: 'blue', width: 0.006, dashed: false, text: '', ...given, points: points.map(([x, y, p = 0.5]) => [x, y, p, 0]) }) as Stroke;
const spot = ([x, y, r]: number[]): Spot => ({ x, y, r });
const numbers = ({ x, y, r }: Spot): number[] => [x, y, r];
const tokens = (path: string): (string | number)[] => [...path.matchAll(/[A-Za-z]|-?\d*\.?\d+/g)].map(([t]) => (/[A-Za-z]/.test(t) ? t : Number(t)));

/** Numbers within a hundredth of a unit; lists part by part. */
function same(found: unknown, wanted: unknown): boolean {
  if (Array.isArray(wanted)) return Array.isArray(found) && found.length === wanted.length && wanted.every((w, i) => same(found[i], w));
  return typeof wanted === 'number' ? Math.abs(Number(found) - wanted) <= 0.011 : found === wanted;
}

/** Thickness in the middle of a long level line, as a part of the picture's height. */
function pressed(width: number, pressure: number, look: InkLook): number {
  const points = Array.from({ length: 20 }, (_, x) => [x / 20, 0.5, x ? pressure : Math.abs(pressure - 0.1)]);
  return (2 * pressedLine(stroke(points, { width }), 1, look).at(-5)!.r) / 1000;
}

/** What the vectors say and `look` does not make. */
function mismatches(look: InkLook): string[] {
  const checks: [string, unknown, unknown][] = [
    ...VECTORS.widths.map((c): [string, unknown, unknown] => [c.says, pressed(c.width, c.pressure, look) * 1e4, c.covers * 1e4]),
    ...VECTORS.lines.map((c): [string, unknown, unknown] => {
      const line = pressedLine(stroke(c.points, { width: c.width }), 1, look);
      const at = Object.keys(c.spots).map((i) => numbers(line[Math.min(Number(i), line.length - 1)]));
      return [c.says, [line.length, ...at], [c.count, ...Object.values(c.spots)]];
    }),
    ...VECTORS.dashes.map((c): [string, unknown, unknown] => [c.says, dashed(c.line.map(spot), c.width, look).map((p) => p.map(numbers)), c.pieces]),
    ...VECTORS.covered.map((c): [string, unknown, unknown] => [c.says, tokens(covered(c.line.map(spot))), tokens(c.path)]),
    ...VECTORS.paths.map((c): [string, unknown, unknown] => {
      const drawn = stroke(c.points, { tool: c.tool as Stroke['tool'] });
      return [c.says, [linePath, endsPath].map((p) => tokens(p(drawn, 1, look))), [tokens(c.path), tokens(c.ends)]];
    }),
    ...VECTORS.text.map((c): [string, unknown, unknown] => [c.says, textSize(stroke([[0, 0]], { width: c.width }), look), c.size]),
  ];
  return checks.filter(([, found, wanted]) => !same(found, wanted)).map(([says]) => says);
}

/** Each number of the look that a length depends on, with the look in which it is a fifth larger. */
function changed(part: object = LOOK, path: string[] = []): [string, InkLook][] {
  return Object.entries(part).flatMap(([key, value]): [string, InkLook][] => {
    const here = [...path, key];
    if (here[0] === 'rim' || here[0] === 'evidence' || here.join('.') === 'text.rim') return [];
    if (typeof value !== 'number') return typeof value === 'object' ? changed(value, here) : [];
    const look = structuredClone(LOOK);
    (here.slice(0, -1).reduce((o, k) => o[k] as Record<string, unknown>, look as unknown as Record<string, unknown>) as Record<string, number>)[key] = value * 1.2;
    return [[here.join('.'), look]];
  });
}

describe('ink', () => {
  it('is what the vectors say', () => {
    expect(mismatches(LOOK)).toEqual([]);
    expect(Object.fromEntries(Object.entries(PENCILS).map(([key, p]) => [key, p.css]))).toEqual(VECTORS.pencils);
  });
  it.each(changed())('cannot change on one side alone: %s', (_, look) => {
    expect(mismatches(look)).not.toEqual([]);
  });
});
