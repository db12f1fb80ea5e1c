import { describe, expect, it } from 'vitest';
import { ACTIONS } from './actions';
import { filterOf, Glass, saysOf } from './glass.svelte';

describe('the glass', () => {
  it('leaves the picture alone until something is asked for, and again after one key', () => {
    const glass = new Glass();
    expect([filterOf(glass.seen), saysOf(glass.seen)]).toEqual(['none', '']);
    glass.mirrored = true;
    glass.turnTo('shape');
    glass.lighten(2);
    expect(filterOf(glass.seen)).toBe('grayscale(1) brightness(1.563) contrast(60)');
    expect(saysOf(glass.seen)).toBe('mirrored, silhouette, light 156 %');
    glass.clear();
    expect(glass.plain).toBe(true);
  });
  it('puts tones back that are asked for twice, and keeps light within bounds', () => {
    const glass = new Glass();
    glass.turnTo('values');
    glass.turnTo('values');
    glass.lighten(-99);
    expect([glass.tones, saysOf(glass.seen)]).toEqual(['colours', 'light 11 %']);
  });
  it('has keys that nothing else has', () => {
    const keys = ACTIONS.filter((a) => !a.hand && a.mode !== 'first').map((a) => a.key);
    expect(keys.filter((k, i) => keys.indexOf(k) !== i)).toEqual([]);
  });
});
