import { call } from '../api/client';
import type { AskedNote, SettleNote } from '../api/types';
import { range } from '../geometry/brands';
import { chooseFinding } from './jump';
import type { Desk } from './desk.svelte';

type How = SettleNote['how'];

/** Open the list of what was asked on older takes, or put it away. */
export function turnToAsked(d: Desk): void {
  if (!d.asked.older.length) return d.keep.say('This is the first take: nothing was asked before.');
  if (!d.asked.notes.length) return d.keep.say(d.asked.now ? 'Nothing that was asked on the takes before is open.' : 'The takes before are being looked at.');
  d.asked.open = !d.asked.open;
  d.notesOpen = true;
  if (d.asked.open) d.note = null;
}

/** Take a note that was asked in hand, and go where it lies on this take. */
export function takeAsked(d: Desk, asked: AskedNote): void {
  d.asked.at = asked.note.id;
  d.asked.open = d.notesOpen = true;
  d.note = d.finding = null;
  if (asked.first === null || asked.last === null) return;
  d.transport.go(asked.still ?? asked.first);
  d.transport.choose(range(asked.first, asked.last));
}

export function walkAsked(d: Desk, way: 1 | -1): void {
  const next = d.asked.next(way, true);
  if (next) takeAsked(d, next);
  else turnToAsked(d);
}

/** Say what became of a note that was asked; on to the next one at once. Pressed on a closed list it only opens it: nothing is answered unseen. */
export async function settleAsked(d: Desk, how: How, asked = d.asked.current): Promise<void> {
  if (!d.asked.shown || !asked) return turnToAsked(d);
  await d.asked.passing(asked.note.id, async () => {
    const next = how === null ? null : d.asked.next();
    if (next) takeAsked(d, next);
    const path = { take_id: d.keep.takeId ?? '', note_id: asked.note.id };
    const said = await d.keep.edit('now', () => call('post', '/api/takes/{take_id}/asked/{note_id}', { path, body: { version: asked.note.version ?? 0, how } }));
    if (!said) return takeAsked(d, asked);
    await d.asked.fetch();
    if (how !== null && !next) d.keep.say('All that was asked before is answered.');
  });
}

/** To the first thing that was found on this take alone. */
export function firstNew(d: Desk): void {
  const fresh = new Set(d.asked.now?.new_findings);
  const first = (d.keep.tray?.findings ?? []).filter((f) => fresh.has(f.key)).sort((a, b) => a.first - b.first)[0];
  if (first) chooseFinding(d, first.key);
}
