import { ACTIONS as ALL } from './actions';
import { describe, expect, it } from 'vitest';
import { bindings, keyCap, keyName, taken, type Pressed } from './keys';

const press = (key: string, how: Partial<Pressed> = {}): Pressed => ({ key, ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...how });
const ACTIONS = [
  { id: 'run', key: 'r' },
  { id: 'run-back', key: 'shift+r' },
  { id: 'help', key: '?' },
];

describe('names of keys', () => {
  it('are those that people say', () => {
    expect(keyName(press('r'))).toBe('r');
    expect(keyName(press('R', { shiftKey: true }))).toBe('shift+r');
    expect(keyName(press('?', { shiftKey: true }))).toBe('?');
    expect(keyName(press('[', { ctrlKey: true, altKey: true }))).toBe('['); // AltGr
    expect(keyName(press('8', { altKey: true }))).toBe('alt+8');
    expect(keyName(press('ArrowUp', { altKey: true }))).toBe('alt+up');
    expect(keyName(press(' '))).toBe('space');
    expect(keyName(press('ArrowDown', { shiftKey: true }))).toBe('shift+down');
    expect(keyName(press('Z', { metaKey: true, shiftKey: true }))).toBe('ctrl+shift+z');
    expect(keyName(press('Shift', { shiftKey: true }))).toBeNull();
  });
  it('are printed as on a cap', () => {
    expect(['shift+r', 'ctrl+z', 'down', '+', 'ctrl++'].map(keyCap)).toEqual(['⇧ r', 'ctrl z', '↓', '+', 'ctrl +']);
  });
});

describe('changed keys', () => {
  it('stand in for those that came with the room', () => {
    const keys = bindings(ACTIONS, { run: 'p' });
    expect(keys.get('p')).toBe('run');
    expect(keys.has('r')).toBe(false);
  });
  it('are never given to two actions', () => {
    expect(taken(ACTIONS, {}, 'run', 'shift+r')).toBe('run-back');
    expect(taken(ACTIONS, { 'run-back': 'b' }, 'run', 'shift+r')).toBeNull();
    expect(taken(ACTIONS, {}, 'run', 'r')).toBeNull();
  });
});

describe('the keys of all actions', () => {
  it('are each one action\'s where they work', () => {
    const seen = new Map<string, string>();
    for (const action of ALL.filter((a) => !a.hand)) {
      for (const mode of action.mode === 'any' ? ['study', 'first'] : [action.mode ?? 'study']) {
        const place = `${mode} ${action.key}`;
        expect(seen.get(place), `${place}: ${action.id}`).toBeUndefined();
        seen.set(place, action.id);
      }
    }
  });
});
