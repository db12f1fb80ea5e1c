/** Names of keys as people see them, the same on every keyboard layout: 'r', 'shift+r', 'ctrl+z', 'down', 'space'. */

const NAMES: Record<string, string> = {
  ' ': 'space',
  ArrowUp: 'up',
  ArrowDown: 'down',
  ArrowLeft: 'left',
  ArrowRight: 'right',
  PageUp: 'page up',
  PageDown: 'page down',
  Escape: 'escape',
  Enter: 'enter',
  Delete: 'delete',
  Backspace: 'delete',
  Home: 'home',
  End: 'end',
};
const ALONE = new Set(['Shift', 'Control', 'Alt', 'Meta', 'AltGraph', 'CapsLock', 'Dead', 'Tab']);

export interface Pressed {
  readonly key: string;
  readonly ctrlKey: boolean;
  readonly metaKey: boolean;
  readonly altKey: boolean;
  readonly shiftKey: boolean;
}

/** The name of what was pressed, or null for a modifier alone. Command on a Mac counts as control. */
export function keyName(event: Pressed): string | null {
  if (ALONE.has(event.key)) return null;
  const single = event.key.length === 1 && event.key !== ' ';
  const letter = single && event.key.toLowerCase() !== event.key.toUpperCase();
  const base = NAMES[event.key] ?? event.key.toLowerCase();
  const sign = single && !letter && !/\d/.test(event.key) && event.altKey; // written by AltGr, or by alt on a Mac: '[' is '[', wherever it sits
  const shift = event.shiftKey && (letter || !single); // '?' is '?', wherever it sits
  return [(event.ctrlKey || event.metaKey) && !sign ? 'ctrl' : '', event.altKey && !sign ? 'alt' : '', shift ? 'shift' : '', base].filter(Boolean).join('+');
}

/** Which action a key stands for, given the keys that a person changed. */
export function bindings(actions: readonly { id: string; key: string }[], own: Readonly<Record<string, string>>): Map<string, string> {
  return new Map(actions.map((a) => [own[a.id] ?? a.key, a.id]));
}

/** The action that already has this key, if another one has. */
export function taken(actions: readonly { id: string; key: string }[], own: Readonly<Record<string, string>>, id: string, key: string): string | null {
  return actions.find((a) => a.id !== id && (own[a.id] ?? a.key) === key)?.id ?? null;
}

const SIGNS: Record<string, string> = { shift: '⇧', ctrl: 'ctrl', alt: 'alt', up: '↑', down: '↓', left: '←', right: '→', enter: '↵', escape: 'esc', 'page up': 'pg↑', 'page down': 'pg↓' };

/** A key as it is printed on a cap. */
export const keyCap = (key: string): string =>
  key
    .split(/\+(?=.)/)
    .map((part) => SIGNS[part] ?? part)
    .join(' ');
