import { describe, expect, it } from 'vitest';
import type { SeriesId, StretchKind, Weight } from '../api/types';
import PALETTE from '../palette.css?raw';
import VECTORS from '../../../tests/vectors/sheet.json';
import { lanes } from './lanes';
import { CURVES, STRETCHES, WEIGHTS, type CurveLook, type StretchLook } from './marks';
import { markOf, runsOf } from './painting';

const hex = (name?: string): string | null => (name ? (new RegExp(`--${name}: (#\\w+);`).exec(PALETTE)?.[1] ?? null) : null);

type Looks = Record<StretchKind, StretchLook>;
type Curves = Record<SeriesId, CurveLook>;

/** What the vectors say and the marks do not do. */
function mismatches(looks: Looks, curves: Curves): string[] {
  const checks: [string, unknown, unknown][] = [
    ...VECTORS.marks.map((c): [string, unknown, unknown] => {
      const [left, right, top, bottom] = c.box;
      const look = looks[c.kind as StretchKind];
      return [c.says, [markOf(look, { left, right, top, bottom }), hex(look.fill), hex(look.line), look.width ?? null], [c.runs, c.fill, c.line, c.width]];
    }),
    ...VECTORS.looks.map((c): [string, unknown, unknown] => {
      const look = looks[c.kind as StretchKind];
      return [c.says, [hex(look.fill), hex(look.line), look.width ?? null, look.dash ?? []], [c.fill, c.line, c.width, c.dash]];
    }),
    ...VECTORS.curves.map((c): [string, unknown, unknown] => {
      const curve = curves[c.id as SeriesId];
      return [c.says, [hex(curve.colour), curve.width, curve.dash ?? []], [c.colour, c.width, c.dash]];
    }),
  ];
  return checks.filter(([, found, wanted]) => JSON.stringify(found) !== JSON.stringify(wanted)).map(([says]) => says);
}

/** Another colour, a little more, a corner elsewhere. */
function changed(value: unknown): unknown {
  if (Array.isArray(value)) return [changed(value[0]), ...(value as unknown[]).slice(1)];
  return typeof value === 'number' ? value + 0.3 : value === 'blue' ? 'red' : 'blue';
}
const FIELDS = new Set(['fill', 'line', 'width', 'dash', 'outline', 'strokes', 'colour']);
const changes = (looks: Looks | Curves): [name: string, field: string, looks: never][] =>
  Object.entries(looks).flatMap(([name, look]) => Object.entries(look).filter(([field]) => FIELDS.has(field)).map(([field, value]): [string, string, never] => [name, field, { ...looks, [name]: { ...look, [field]: changed(value) } } as never]));

describe('the sheet, as on paper', () => {
  it('looks as the vectors say', () => {
    expect(mismatches(STRETCHES, CURVES)).toEqual([]);
    expect(Object.fromEntries(Object.entries(WEIGHTS).map(([weight, look]) => [weight as Weight, hex(look.colour)]))).toEqual(VECTORS.weights);
  });
  it.each(changes(STRETCHES))('of %s, %s cannot change on one side alone', (_name, _field, looks) => {
    expect(mismatches(looks, CURVES)).toHaveLength(1);
  });
  it.each(changes(CURVES))('of %s, %s cannot change on one side alone', (_name, _field, curves) => {
    expect(mismatches(STRETCHES, curves)).toHaveLength(1);
  });
  it.each(VECTORS.lanes)('puts brackets: $says', ({ ranges, lane }) => {
    expect(lanes(ranges.map(([first, last]) => ({ first, last }))).lane).toEqual(lane);
  });
  it.each(VECTORS.runs)('knows that $says', ({ first, values, runs }) => {
    const curve = { id: 'mouth.seen', first, slices: 1, values: new Float32Array(values.map((v) => v ?? NaN)) } as const;
    expect(runsOf(curve, 0, 99)).toEqual(runs);
  });
});
