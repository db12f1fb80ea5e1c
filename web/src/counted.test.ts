import { describe, expect, it } from 'vitest';
import shared from '../../tests/shared/counted.json';
import { bound, counted, quantity } from './counted';

const cases = shared as unknown as { quantity: [number, string, string][]; bound: [number, string, string][]; counted: [number, string, string | null, string][] };

describe('counted nouns, as Python has them', () => {
  it.each(cases.quantity)('%s %s is %s', (number, unit, said) => expect(quantity(number, unit)).toBe(said));
  it.each(cases.bound)('%s %s as a limit is %s', (number, unit, said) => expect(bound(number, unit)).toBe(said));
  it.each(cases.counted)('%s of %s', (number, one, many, said) => expect(counted(number, one, many ?? undefined)).toBe(said));
});
