import type { CorrectionPart } from '../api/types';
import type { Laid } from './columns';
import type { SheetModel } from './model';
import { positionAtY, yOf, type Rows } from './rows';

/** Something on the sheet that a hand can change: a word, a phone, a breath, a cut. */
export interface Grip {
  readonly event: 'word' | 'phone' | 'breath' | 'cut';
  readonly index: number;
  readonly part: 'start' | 'end' | 'body';
}

/** px round an edge that take hold of it. */
const REACH = 5;
const COLUMN_EVENT = { words: 'word', phones: 'phone', air: 'breath', picture: 'cut' } as const;

type Timed = { start_s: number; end_s: number };

export function eventsOf(model: SheetModel, event: 'word' | 'phone' | 'breath'): readonly Timed[] {
  return { word: model.sheet.words, phone: model.sheet.phones, breath: model.sheet.breaths }[event];
}

/** What a column holds that a hand can change. */
export const gripEvent = (column: Laid | undefined): Grip['event'] | null =>
  column && !column.folded && column.id in COLUMN_EVENT ? COLUMN_EVENT[column.id as keyof typeof COLUMN_EVENT] : null;

/** What lies under a point of the sheet; edges win over bodies. */
export function gripAt(model: SheetModel, rows: Rows, column: Laid | undefined, y: number): Grip | null {
  const event = gripEvent(column);
  if (!event) return null;
  if (event === 'cut') {
    const index = model.sheet.cuts.findIndex((c) => Math.abs(yOf(rows, c.frame) - y) <= REACH);
    return index < 0 ? null : { event, index, part: 'start' };
  }
  const list = eventsOf(model, event);
  const top = (e: Timed): number => yOf(rows, model.clock.position(e.start_s));
  const bottom = (e: Timed): number => yOf(rows, model.clock.position(e.end_s));
  const inside = list.findIndex((e) => y >= top(e) && y < bottom(e));
  const order = inside < 0 ? list.map((_, i) => i) : [inside, ...list.keys()];
  for (const index of order) {
    const reach = Math.min(REACH, (bottom(list[index]) - top(list[index])) / 3 + 1);
    if (Math.abs(bottom(list[index]) - y) <= reach) return { event, index, part: 'end' };
    if (Math.abs(top(list[index]) - y) <= reach) return { event, index, part: 'start' };
  }
  return inside < 0 ? null : { event, index: inside, part: 'body' };
}

const SHORTEST_S = 0.005;

/** The changes that put an edge at y. A neighbour that shares the edge moves with it, so that no gap opens in a word's phones. */
export function dragEdge(model: SheetModel, rows: Rows, grip: Grip, y: number, snap: boolean): CorrectionPart[] {
  const position = positionAtY(rows, y);
  if (grip.event === 'cut') return [cutMoved(model, grip.index, Math.round(position))];
  const t = model.clock.time(snap ? Math.round(position) : position);
  const list = eventsOf(model, grip.event);
  const own = list[grip.index];
  const edge = grip.part === 'start' ? own.start_s : own.end_s;
  const parts = [moveEdge(grip, own, grip.part === 'start' ? 'start_s' : 'end_s', t)];
  const other = list.findIndex((e, i) => i !== grip.index && (grip.part === 'start' ? e.end_s : e.start_s) === edge);
  if (other >= 0) parts.push(moveEdge({ ...grip, index: other }, list[other], grip.part === 'start' ? 'end_s' : 'start_s', t));
  return grip.event === 'breath' ? parts : [...parts, ...edgesAlong(model, grip.event === 'word' ? 'phone' : 'word', edge, t)];
}

/** Phones that begin or end exactly where a word's edge was go with it, and words with a phone's, unless it would swallow them. */
export function edgesAlong(model: SheetModel, event: 'word' | 'phone', from: number, to: number): CorrectionPart[] {
  const grip = { event, index: 0, part: 'start' } as const;
  return eventsOf(model, event).flatMap((p) => {
    if (p.start_s === from && to < p.end_s - SHORTEST_S) return [moveEdge(grip, p, 'start_s', to)];
    if (p.end_s === from && to > p.start_s + SHORTEST_S) return [moveEdge(grip, p, 'end_s', to)];
    return [];
  });
}

function moveEdge(grip: Grip, item: Timed, edge: 'start_s' | 'end_s', t: number): CorrectionPart {
  const bounded = edge === 'start_s' ? Math.min(t, item.end_s - SHORTEST_S) : Math.max(t, item.start_s + SHORTEST_S);
  return part(grip.event, item, { ...valueOf(grip.event, item), [edge]: bounded });
}

function cutMoved(model: SheetModel, index: number, frame: number): CorrectionPart {
  const cut = model.sheet.cuts[index];
  return part('cut', cut, { frame: model.clock.clampFrame(frame) });
}

/** The fields of an event that a correction speaks of. */
export function valueOf(event: Grip['event'], item: object): Record<string, unknown> {
  const fields = { word: ['text', 'who', 'start_s', 'end_s'], phone: ['phone', 'stress', 'start_s', 'end_s'], breath: ['kind', 'who', 'start_s', 'end_s'], cut: ['frame'] }[event];
  return Object.fromEntries(fields.map((f) => [f, (item as Record<string, unknown>)[f] ?? null]));
}

/** One change of an event. now null: delete it. An event that was corrected before says which correction is replaced. */
export function part(event: Grip['event'], item: object | null, now: Record<string, unknown> | null): CorrectionPart {
  const replaces = (item as { by_hand?: string | null } | null)?.by_hand ?? null;
  return { event, was: item && valueOf(event, item), now, replaces };
}

/** Splitting is one change and one addition, at `t`. */
export function splitAt(event: Exclude<Grip['event'], 'cut'>, item: Timed, t: number): CorrectionPart[] {
  const value = valueOf(event, item);
  const at = t > item.start_s + SHORTEST_S && t < item.end_s - SHORTEST_S ? t : (item.start_s + item.end_s) / 2;
  return [part(event, item, { ...value, end_s: at }), part(event, null, { ...value, start_s: at })];
}
