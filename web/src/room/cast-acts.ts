import { call, sendFile } from '../api/client';
import type { CastContact, CastLook, CastPart, Placed, SheetFace, Take } from '../api/types';
import { proposedBy } from '../tools/found';
import { withLook } from '../tools/looks';
import { markName } from '../tools/points';
import type { Held } from './casting.svelte';
import type { Desk } from './desk.svelte';

/** Edits of the cast, each one stored and one step of undo. */

const takeId = (desk: Desk): string => desk.keep.takeId ?? '';
const partNow = (desk: Desk, who: string): CastPart | undefined => desk.cast.parts.find((p) => p.name === who);
/** Arrow keys that follow each other within this time are one edit. */
const REST_MS = 350;

function saveMark(desk: Desk, who: string, mark: string, change: (was: Placed[]) => Placed[]): Promise<Take | undefined> {
  return desk.keep.edit('now', () => {
    const was = partNow(desk, who)?.marks?.[mark] ?? [];
    return call('put', '/api/takes/{take_id}/cast/marks/{name}/{mark}', { path: { take_id: takeId(desk), name: who, mark }, body: { was, now: change(was) } });
  });
}

const withPoint = (was: readonly Placed[], p: Placed): Placed[] => [...was.filter((q) => q.frame !== p.frame), p].sort((a, b) => a.frame - b.frame);

/** Put the point in question where the hand is, and offer the next one. With none in question, the mark that was pressed on is pulled there: a correction. */
export function placeMark(desk: Desk, at: { x: number; y: number }, pressed: string | null): void {
  const { cast } = desk;
  const { who, frame } = cast;
  const mark = cast.mark ?? pressed;
  if (!who || !mark) return desk.keep.say(who ? 'No point is in question: press on a mark to pull it, or choose a point on the figure.' : 'Add a character or prop first.');
  cast.held = { who, mark, frame };
  void draft(desk, cast.held, at);
  if (cast.mark) cast.offer(mark);
}

async function draft(desk: Desk, held: Held, at: { x: number; y: number }): Promise<void> {
  const { cast } = desk;
  const key = `${held.who}/${held.mark}`;
  const p: Placed = { frame: held.frame, x: at.x, y: at.y };
  cast.drafts = new Map([...cast.drafts, [key, p]]);
  await saveMark(desk, held.who, held.mark, (was) => withPoint(was, p));
  if (cast.drafts.get(key) === p) cast.drafts = new Map([...cast.drafts].filter(([k]) => k !== key));
}

let resting: ReturnType<typeof setTimeout> | undefined;

/** Move what was placed last by parts of a pixel of the full-size picture; dx: to the right as it is seen. */
export function nudge(desk: Desk, dx: number, dy: number): void {
  const { cast, keep } = desk;
  const { held } = cast;
  if (!held || held.frame !== cast.frame) return keep.say('Nothing is in hand on this frame: place a point, or choose one on the figure.');
  const old = cast.placed(held.who, held.mark, held.frame);
  if (!old) return;
  const p: Placed = { frame: held.frame, x: old.x + (desk.glass.mirrored ? -dx : dx) / (keep.take?.width ?? 1), y: old.y + dy / (keep.take?.height ?? 1) };
  cast.drafts = new Map([...cast.drafts, [`${held.who}/${held.mark}`, p]]);
  clearTimeout(resting);
  resting = setTimeout(() => void draft(desk, held, p), REST_MS);
}

/** Take a mark off this frame: the one in hand, else the point in question. */
export async function takeOff(desk: Desk): Promise<void> {
  const { cast, keep } = desk;
  const held = cast.held?.frame === cast.frame ? cast.held : cast.who && cast.mark ? { who: cast.who, mark: cast.mark, frame: cast.frame } : null;
  if (!held || !cast.placed(held.who, held.mark, held.frame)) return keep.say('No mark of this point lies on this frame.');
  clearTimeout(resting);
  cast.drafts = new Map([...cast.drafts].filter(([k]) => k !== `${held.who}/${held.mark}`));
  cast.held = null;
  cast.mark = held.mark;
  const done = await saveMark(desk, held.who, held.mark, (was) => was.filter((p) => p.frame !== held.frame));
  if (done) keep.say(`Taken off: ${held.who}, ${markName(held.mark)}, frame ${held.frame}.`);
}

export async function addPart(desk: Desk, name: string, kind: 'character' | 'prop'): Promise<void> {
  const done = await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/cast/parts', { path: { take_id: takeId(desk) }, body: { name, kind } }));
  if (done) desk.cast.choose(done.cast?.[`${kind}s`]?.at(-1)?.name ?? null);
}

export async function renamePart(desk: Desk, old: string, name: string): Promise<void> {
  const done = await desk.keep.edit('now', () => call('patch', '/api/takes/{take_id}/cast/parts/{name}', { path: { take_id: takeId(desk), name: old }, body: { name } }));
  if (done && desk.cast.who === old) desk.cast.choose(name.split(/\s+/).filter(Boolean).join(' '));
}

export async function removePart(desk: Desk, name: string): Promise<void> {
  const done = await desk.keep.edit('now', () => call('delete', '/api/takes/{take_id}/cast/parts/{name}', { path: { take_id: takeId(desk), name } }));
  if (done && desk.cast.who === name) desk.cast.choose(desk.cast.parts[0]?.name ?? null);
}

function saveLooks(desk: Desk, change: (was: CastLook[]) => CastLook[]): Promise<Take | undefined> {
  return desk.keep.edit('now', () => {
    const was = desk.cast.cast.looks ?? [];
    return call('put', '/api/takes/{take_id}/cast/looks', { path: { take_id: takeId(desk) }, body: { was, now: change(was) } });
  });
}

const whole = (desk: Desk): { first: number; last: number } => ({ first: desk.cast.first, last: desk.cast.first + (desk.keep.take?.frames ?? 1) - 1 });

export const addLook = (desk: Desk, look: CastLook & { first: number; last: number }): Promise<unknown> => saveLooks(desk, (was) => withLook(was, look, whole(desk)));

export const changeLook = (desk: Desk, old: CastLook, look: CastLook & { first: number; last: number }): Promise<unknown> =>
  saveLooks(desk, (was) => withLook(was.filter((k) => JSON.stringify(k) !== JSON.stringify(old)), look, whole(desk)));

export const deleteLook = (desk: Desk, old: CastLook): Promise<unknown> => saveLooks(desk, (was) => was.filter((k) => JSON.stringify(k) !== JSON.stringify(old)));

function saveContacts(desk: Desk, change: (was: CastContact[]) => CastContact[]): Promise<Take | undefined> {
  return desk.keep.edit('now', () => {
    const was = desk.cast.cast.contacts ?? [];
    return call('put', '/api/takes/{take_id}/cast/contacts', { path: { take_id: takeId(desk) }, body: { was, now: change(was) } });
  });
}

export const addContact = (desk: Desk, contact: CastContact): Promise<unknown> => saveContacts(desk, (was) => [...was, contact].sort((a, b) => a.first - b.first));

export const changeContact = (desk: Desk, old: CastContact, contact: CastContact): Promise<unknown> =>
  saveContacts(desk, (was) => was.map((c) => (JSON.stringify(c) === JSON.stringify(old) ? contact : c)));

export const deleteContact = (desk: Desk, old: CastContact): Promise<unknown> => saveContacts(desk, (was) => was.filter((c) => JSON.stringify(c) !== JSON.stringify(old)));

const faceAt = (desk: Desk, face: SheetFace, who: string | null): { who: string | null; frame: number; x: number; y: number } => ({ who, frame: face.at + desk.cast.first, x: face.point[0], y: face.point[1] });

/** Say whose faces are, each in its whole shot; one step of undo. */
export async function sayFaces(desk: Desk, said: { face: SheetFace; who: string | null }[]): Promise<void> {
  const faces = said.map(({ face, who }) => faceAt(desk, face, who));
  await desk.keep.edit('now', () => call('put', '/api/takes/{take_id}/cast/faces', { path: { take_id: takeId(desk) }, body: { faces } }));
}

/** The points that a face proposes become placed ones; what a person placed on a frame stays. */
export async function confirmFace(desk: Desk, face: SheetFace): Promise<void> {
  const body = { face: faceAt(desk, face, face.who), marks: proposedBy(face, desk.cast.first) };
  const done = await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/cast/faces/confirmed', { path: { take_id: takeId(desk) }, body }));
  if (done && face.who) desk.cast.choose(face.who);
}

/** Marks out of a table into the cast; one step of undo. */
export async function readTable(desk: Desk, file: File): Promise<void> {
  const read = await desk.keep.edit('now', () => sendFile<{ says: string }>(`api/takes/${takeId(desk)}/marks.csv`, file));
  if (read) desk.keep.say(`Read: ${read.says}.`);
}
