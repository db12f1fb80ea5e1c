import { describe, expect, it } from 'vitest';
import type { SeriesId, StretchKind, Weight } from '../api/types';
import PALETTE from '../palette.css?raw';
import VECTORS from '../../../tests/vectors/sheet.json';
import { lanes } from './lanes';
import { CURVES, STRETCHES, WEIGHTS, type StretchLook } from './marks';
import { markOf, runsOf } from './painting';

const hex = (name?: string): string | null => (name ? (new RegExp(`--${name}: (#\\w+);`).exec(PALETTE)?.[1] ?? null) : null);

/** What the vectors say and the marks do not do. */
function mismatches(looks: Record<StretchKind, StretchLook>): string[] {
  const checks: [string, unknown, unknown][] = [
    ...VECTORS.marks.map((c): [string, unknown, unknown] => {
      const [left, right, top, bottom] = c.box;
      const look = looks[c.kind as StretchKind];
      return [c.says, [markOf(look, { left, right, top, bottom }), hex(look.fill), hex(look.line)], [c.runs, c.fill, c.line]];
    }),
    ...VECTORS.colours.map((c): [string, unknown, unknown] => {
      const look = looks[c.kind as StretchKind];
      return [c.says, [hex(look.fill), hex(look.line), Boolean(look.dash)], [c.fill, c.line, c.dashed]];
    }),
    ...VECTORS.curves.map((c): [string, unknown, unknown] => {
      const curve = CURVES[c.id as SeriesId];
      return [c.says, [hex(curve.colour), Boolean(curve.dash)], [c.colour, c.dashed]];
    }),
  ];
  return checks.filter(([, found, wanted]) => JSON.stringify(found) !== JSON.stringify(wanted)).map(([says]) => says);
}

describe('the sheet, as on paper', () => {
  it('looks as the vectors say', () => {
    expect(mismatches(STRETCHES)).toEqual([]);
    expect(Object.fromEntries(Object.entries(WEIGHTS).map(([weight, look]) => [weight as Weight, hex(look.colour)]))).toEqual(VECTORS.weights);
  });
  it.each([{ outline: [[0, 0], [0.8, 1], [-1, 1]] as const }, { fill: 'blue' }, { line: 'red' }])('cannot change on one side alone: %o', (change) => {
    expect(mismatches({ ...STRETCHES, inhale: { ...STRETCHES.inhale, ...change } })).toEqual(['breath in widens downward']);
  });
  it.each(VECTORS.lanes)('puts brackets: $says', ({ ranges, lane }) => {
    expect(lanes(ranges.map(([first, last]) => ({ first, last }))).lane).toEqual(lane);
  });
  it.each(VECTORS.runs)('knows that $says', ({ first, values, runs }) => {
    const curve = { id: 'mouth.seen', first, slices: 1, values: new Float32Array(values.map((v) => v ?? NaN)) } as const;
    expect(runsOf(curve, 0, 99)).toEqual(runs);
  });
});
