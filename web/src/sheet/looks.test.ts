import { describe, expect, it } from 'vitest';
import { lookStretches } from './looks';
import { lookWords } from './paint-acting';

const look = (who: string, at: string, first: number, last: number): Parameters<typeof lookStretches>[0][0] => ({ who, at, first, last, proposed: false, confidence: 1 });
const miss = (who: string, first: number, last: number, state: 'open' | 'dismissed' = 'open'): Parameters<typeof lookStretches>[1][0] => ({ check: 'eyeline', kind: 'off_target', who, first, last, state });

describe('looks on the sheet', () => {
  const looks = [look('Ada', 'Ben', 0, 9), look('Ben', 'Ada', 4, 12)];
  const told = (findings: Parameters<typeof lookStretches>[1]): string[] => lookStretches(looks, findings).map((s) => `${s.look.who} ${s.first}-${s.last} ${s.state}`);

  it('tells eye contact from a look alone', () => {
    expect(told([])).toEqual(['Ada 0-3 alone', 'Ada 4-9 met', 'Ben 4-9 met', 'Ben 10-12 alone']);
  });
  it('loses eye contact where one of the two misses', () => {
    expect(told([miss('Ada', 6, 9)])).toEqual(['Ada 0-3 alone', 'Ada 4-5 met', 'Ada 6-9 missed', 'Ben 4-5 met', 'Ben 6-12 alone']);
  });
  it('loses it for both where a finding is about the two of them', () => {
    expect(told([miss('Ada and Ben', 6, 9)])).toEqual(['Ada 0-3 alone', 'Ada 4-5 met', 'Ada 6-9 missed', 'Ben 4-5 met', 'Ben 6-9 missed', 'Ben 10-12 alone']);
  });
  it('lets a miss that was left alone be none', () => {
    expect(told([miss('Ada', 6, 9, 'dismissed')])).toEqual(told([]));
  });
});

describe('what stands beside a look', () => {
  it('is whom or what it is at, a prop by its own name', () => {
    expect(lookWords(look('Ada', 'Ben', 0, 9), 'met')).toEqual(['Ben']);
    expect(lookWords({ ...look('Ada', 'kite.tail', 0, 9), proposed: true }, 'alone')).toEqual(['kite?']);
    expect(lookWords(look('Ada', 'Ben', 0, 9), 'missed')).toEqual(['misses', 'Ben']);
  });
});
