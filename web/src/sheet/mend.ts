import type { CorrectionPart } from '../api/types';
import { ordinal, type Range } from '../geometry/brands';
import { edgesAlong, eventsOf, part, splitAt, valueOf, type Grip } from './grips';
import type { SheetModel } from './model';

/** What a hand is about to mend: something that is there (index), or something to be added (index null), at a time. */
export interface Mending {
  readonly event: Grip['event'];
  readonly index: number | null;
  /** Where a split would fall, seconds. */
  readonly t: number;
  /** Frames that an addition covers. */
  readonly frames: Range;
}

/** What a person says about an event. kind and phone share `label` with a word's text. */
export interface Wording {
  readonly label: string;
  readonly who: string | null;
  readonly frames: Range;
}

export const PHONES = 'AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH'.split(' ');
const LABEL = { word: 'text', phone: 'phone', breath: 'kind', cut: '' } as const;

export function itemOf(model: SheetModel, what: Mending): object | null {
  if (what.index === null) return null;
  return what.event === 'cut' ? model.sheet.cuts[what.index] : eventsOf(model, what.event)[what.index];
}

/** What lies on frame i in a kind of event: that, or an addition there. */
export function mendingAt(model: SheetModel, event: Grip['event'], i: number, chosen: Range | null): Mending {
  const frame = model.clock.clampFrame(i);
  const [start, stop] = [model.clock.start(frame), model.clock.stop(frame)];
  const t = (start + stop) / 2;
  const frames = chosen && i >= chosen.first && i <= chosen.last ? chosen : { first: frame, last: frame };
  if (event === 'cut') {
    const index = model.sheet.cuts.findIndex((c) => c.frame === i);
    return { event, index: index < 0 ? null : index, t: start, frames };
  }
  const list = eventsOf(model, event);
  const middle = list.findIndex((e) => t >= e.start_s && t < e.end_s);
  const any = middle >= 0 ? middle : list.findIndex((e) => e.start_s < stop && e.end_s > start);
  return { event, index: any < 0 ? null : any, t, frames };
}

/** How an event reads before anything was changed. */
export function wordingOf(model: SheetModel, what: Mending): Wording {
  const item = itemOf(model, what) as Record<string, unknown> | null;
  const label = what.event === 'cut' ? '' : String(item?.[LABEL[what.event]] ?? (what.event === 'breath' ? 'inhale' : ''));
  const frames = what.event === 'cut' && item ? { first: ordinal(Number(item.frame)), last: ordinal(Number(item.frame)) } : item ? { first: ordinal(Number(item.first)), last: ordinal(Number(item.last)) } : what.frames;
  return { label, who: (item?.who as string | null) ?? null, frames };
}

/** The changes that make an event read so; none when nothing differs. Ends that keep their frame keep their exact time. */
export function mended(model: SheetModel, what: Mending, now: Wording): CorrectionPart[] {
  const item = itemOf(model, what);
  const before = wordingOf(model, what);
  const same = now.label === before.label && now.who === before.who && now.frames.first === before.frames.first && now.frames.last === before.frames.last;
  if (item && same) return [];
  if (what.event === 'cut') return [part('cut', item, { frame: now.frames.first })];
  const value = valueNow(model, what, now, item);
  const change = part(what.event, item, value);
  return (what.event === 'word' || what.event === 'phone') && item ? [change, ...edgesMoved(model, what.event === 'word' ? 'phone' : 'word', item as Timed, value as unknown as Timed)] : [change];
}

type Timed = { start_s: number; end_s: number };
const edgesMoved = (model: SheetModel, event: 'word' | 'phone', old: Timed, now: Timed): CorrectionPart[] =>
  (['start_s', 'end_s'] as const).flatMap((edge) => (old[edge] === now[edge] ? [] : edgesAlong(model, event, old[edge], now[edge])));

function valueNow(model: SheetModel, what: Mending, now: Wording, item: object | null): Record<string, unknown> {
  const before = wordingOf(model, what);
  const old = (item && valueOf(what.event, item)) as { start_s: number; end_s: number } | null;
  const first = model.clock.clampFrame(now.frames.first);
  const last = model.clock.clampFrame(Math.max(now.frames.first, now.frames.last));
  const value: Record<string, unknown> = {
    ...valueOf(what.event, item ?? {}),
    start_s: old && now.frames.first === before.frames.first ? old.start_s : model.clock.start(first),
    end_s: old && now.frames.last === before.frames.last ? old.end_s : model.clock.stop(last),
    [LABEL[what.event]]: what.event === 'phone' ? now.label.trim().toUpperCase() : now.label.trim(),
  };
  if (what.event !== 'phone') value.who = now.who;
  return value;
}

export const deleted = (model: SheetModel, what: Mending): CorrectionPart[] => [part(what.event, itemOf(model, what), null)];

export function split(model: SheetModel, what: Mending): CorrectionPart[] {
  const item = itemOf(model, what) as { start_s: number; end_s: number } | null;
  return item && what.event !== 'cut' ? splitAt(what.event, item, what.t) : [];
}
