import { call } from '../api/client';
import type { CorrectionPart, Drawing, Note, SettingsPatch, Stroke, TakePatch, Weight } from '../api/types';
import type { Body } from '../api/client';
import { range, type Range } from '../geometry/brands';
import { joins, unclaimed } from '../ink/drawings';
import { undoneMark } from '../tools/undone';
import type { Desk } from './desk.svelte';

/** What the reviewer does, each one stored edit that can be undone at once ('now'); undo and redo themselves are none ('never'). */

const takePath = (desk: Desk): { take_id: string } => ({ take_id: desk.keep.takeId ?? '' });

/** A new note on the chosen frames, with the drawings that lie there and belong to nobody yet. */
export async function writeNote(desk: Desk, weight: Weight = 'polish'): Promise<void> {
  const frames = desk.transport.here();
  const given = { first: frames.first, last: frames.last, weight, who: speakerAt(desk, frames), still: desk.transport.target };
  const note = await desk.keep.edit('now', () => {
    const claimed = new Set(desk.keep.notes.flatMap((n) => n.drawings ?? []));
    const body = { ...given, drawings: unclaimed(desk.keep.drawings, claimed, frames), what: '', why: '', try: '' };
    return call('post', '/api/takes/{take_id}/notes', { path: takePath(desk), body });
  });
  if (note) openNote(desk, note, true);
}

function speakerAt(desk: Desk, frames: Range): string | null {
  const words = desk.keep.model?.sheet.words ?? [];
  return words.find((w) => w.first <= frames.last && w.last >= frames.first)?.who ?? null;
}

/** Something about the take itself: how its frames are counted, which of them count, how it is made. */
export async function changeTake(desk: Desk, fields: Partial<TakePatch>): Promise<void> {
  const { take } = desk.keep;
  if (take) await desk.keep.edit('now', () => call('patch', '/api/takes/{take_id}', { path: { take_id: take.id }, body: { version: take.version ?? 0, ...fields } }));
}

/** Only the chosen frames are judged; with none chosen, all are again. */
export const countChosen = (desk: Desk): Promise<void> => changeTake(desk, { counts: desk.transport.chosen && { first: desk.transport.chosen.first, last: desk.transport.chosen.last } });

/** The cast counted as the take is counted. */
export async function recountCast(desk: Desk, counted_from: number): Promise<void> {
  const { take } = desk.keep;
  if (take) await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/cast/recount', { path: { take_id: take.id }, body: { version: take.version ?? 0, counted_from } }), true);
}

export function openNote(desk: Desk, note: Note, focus = false): void {
  desk.note = note.id;
  desk.finding = null;
  desk.notesOpen = true;
  desk.asked.open = false;
  if (focus) desk.focusNote = note.id;
  const at = note.still ?? note.first;
  desk.transport.go(at);
  desk.transport.choose(range(note.first, note.last));
}

export function changeNote(desk: Desk, note: Note, fields: Partial<Note>): Promise<Note | undefined> {
  return desk.keep.edit('now', () => {
    const body = { ...fields, version: currentVersion(desk, note) } as Body<PatchNote>;
    return call('patch', '/api/notes/{note_id}', { path: { note_id: note.id }, body });
  });
}
type PatchNote = import('../api/schema').paths['/api/notes/{note_id}']['patch'];

const currentVersion = (desk: Desk, note: Note): number => desk.keep.notes.find((n) => n.id === note.id)?.version ?? note.version ?? 0;

export async function deleteNote(desk: Desk, note: Note): Promise<void> {
  await desk.keep.edit('now', () => call('delete', '/api/notes/{note_id}', { path: { note_id: note.id } }));
  if (desk.note === note.id) desk.note = null;
}

/** Put a note at place `to` (0 = first) of the order. */
export async function moveNote(desk: Desk, note: Note, to: number): Promise<void> {
  await desk.keep.edit('now', () => {
    const others = desk.keep.notes.filter((n) => n.id !== note.id);
    const after = to <= 0 ? null : (others[Math.min(to, others.length) - 1]?.id ?? null);
    return call('post', '/api/notes/{note_id}/move', { path: { note_id: note.id }, body: { version: currentVersion(desk, note), after } });
  });
}

/** A stroke joins the drawing over exactly the same frames, else begins one; an open note over these frames gets it. */
export async function addStroke(desk: Desk, stroke: Stroke): Promise<void> {
  const frames = desk.transport.here();
  const noteId = desk.note;
  if (desk.keep.settings?.room?.rest_hint !== false) desk.rest.stroke(Date.now());
  await desk.keep.edit<Drawing>('now', () => {
    const same = joins(desk.keep.drawings, frames);
    if (same) return call('post', '/api/drawings/{drawing_id}/strokes', { path: { drawing_id: same.id }, body: { strokes: [stroke] } });
    const open = desk.keep.notes.find((n) => n.id === noteId && n.first <= frames.last && n.last >= frames.first);
    return call('post', '/api/takes/{take_id}/drawings', { path: takePath(desk), body: { ...frames, strokes: [stroke], note: open?.id ?? null } });
  });
}

export const holdDrawing = (desk: Desk, drawing: Drawing, frames: Range): Promise<unknown> =>
  desk.keep.edit('now', () =>
    call('patch', '/api/drawings/{drawing_id}', { path: { drawing_id: drawing.id }, body: { version: drawing.version ?? 0, first: frames.first, last: frames.last } }),
  );

export const deleteDrawing = (desk: Desk, drawing: Drawing): Promise<unknown> =>
  desk.keep.edit('now', () => call('delete', '/api/drawings/{drawing_id}', { path: { drawing_id: drawing.id } }));

export const copyAlong = (desk: Desk, drawing: Drawing, who: string, mark: string, frames: Range): Promise<unknown> =>
  desk.keep.edit('now', () =>
    call('post', '/api/drawings/{drawing_id}/along', { path: { drawing_id: drawing.id }, body: { who, mark, first: frames.first, last: frames.last } }),
  );

export async function correct(desk: Desk, changes: CorrectionPart[]): Promise<void> {
  await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/corrections', { path: takePath(desk), body: { changes } }), true);
}

/** Go back to what was measured. */
export async function uncorrect(desk: Desk, correction: string): Promise<void> {
  await desk.keep.edit('now', () => call('delete', '/api/corrections/{correction_id}', { path: { correction_id: correction } }), true);
}

const findingPath = (desk: Desk, key: string): { take_id: string; key: string } => ({ ...takePath(desk), key });

export async function takeFinding(desk: Desk, key: string): Promise<void> {
  const note = await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/findings/{key}/take', { path: findingPath(desk, key), body: { drawings: [] } }));
  if (note) openNote(desk, note, true);
}

export const dismissFinding = (desk: Desk, key: string, reason: string): Promise<unknown> =>
  desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/findings/{key}/dismiss', { path: findingPath(desk, key), body: { reason } }), true);

export const restoreFinding = (desk: Desk, key: string): Promise<unknown> =>
  desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/findings/{key}/restore', { path: findingPath(desk, key) }), true);

export const rewordFinding = (desk: Desk, key: string, words: { says: string; try: string; weight: Weight }): Promise<unknown> =>
  desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/findings/{key}/edit', { path: findingPath(desk, key), body: { rewording: words } }));

export const changeSettings = (desk: Desk, patch: SettingsPatch): Promise<unknown> =>
  desk.keep.edit('now', () => call('patch', '/api/settings', { body: patch }));

export async function undo(desk: Desk): Promise<void> {
  const done = await turnBack(desk, async () => (desk.keep.crit?.undo ? call('post', '/api/undo') : null));
  if (done === null) return desk.keep.say('There is nothing to take back.');
  if (done) desk.keep.say(`Taken back: ${done.label}.`);
}

export async function redo(desk: Desk): Promise<void> {
  const done = await turnBack(desk, async () => (desk.keep.crit?.redo ? call('post', '/api/redo') : null));
  if (done === null) return desk.keep.say('There is nothing to bring back.');
  if (done) desk.keep.say(`Brought back: ${done.label}.`);
}

/** Undo or redo, with the hand brought to the mark that it was about. */
async function turnBack<T>(desk: Desk, work: () => Promise<T>): Promise<T | undefined> {
  let before = desk.cast.cast;
  const done = await desk.keep.edit(
    'never',
    () => {
      before = desk.cast.cast;
      return work();
    },
    true,
  );
  const undone = undoneMark(before, desk.cast.cast);
  if (undone) desk.cast.returnTo(undone);
  return done;
}
