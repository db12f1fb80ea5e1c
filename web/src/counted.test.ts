import { describe, expect, it } from 'vitest';
import shared from '../../tests/shared/counted.json';
import { counted, quantity } from './counted';

const cases = shared as unknown as { quantity: [number, string, string][]; counted: [number, string, string | null, string][] };

describe('counted nouns, as Python has them', () => {
  it.each(cases.quantity)('%s %s is %s', (number, unit, said) => expect(quantity(number, unit)).toBe(said));
  it.each(cases.counted)('%s of %s', (number, one, many, said) => expect(counted(number, one, many ?? undefined)).toBe(said));
});
