import { unpack } from '../api/packed';
import type { Marker, Note, SeriesId, Sheet, SheetActing, SheetCurve, SheetLane, SheetStretch, TrayFinding } from '../api/types';
import { FrameClock, rateNumber } from '../clock/frames';

/** One mark over the shot; NaN where it was lost. Frames count from 0. */
export interface Track {
  readonly xy: Float32Array;
  readonly error: Float32Array;
  readonly placed: ReadonlySet<number>;
}

export interface Actor {
  readonly who: string;
  readonly level: number;
  readonly marks: ReadonlyMap<string, Track>;
  readonly lacks: Readonly<Record<string, string>>;
  /** Frames that would teach the mouth most: shut, open, wide. */
  readonly worth: Readonly<Record<string, number>>;
  readonly gaze: readonly { side: string; origin: Float32Array; direction: Float32Array }[];
}

/** A curve as it is drawn: 0..1 of the lane's width, a number a row from row `first` on; NaN where not known. The wave has two in each of `slices`. */
export interface LaneCurve {
  readonly id: SeriesId;
  readonly first: number;
  readonly values: Float32Array | Int8Array | Uint8Array;
  readonly slices: number;
}

/** What stands in a column, or in one character's part of it: finished, as on the sent sheet. */
export interface Lane {
  readonly column: SheetLane['column'];
  readonly who: string | null;
  readonly stretches: readonly SheetStretch[];
  readonly curves: readonly LaneCurve[];
}

/** Everything the sheet and the picture's layers draw from, unpacked once a measurement. */
export interface SheetModel {
  readonly sheet: Sheet;
  readonly clock: FrameClock;
  readonly lanes: readonly Lane[];
  /** As measured: a character with marks and a scene is here twice, once a level. */
  readonly actors: readonly Actor[];
  /** Each character and prop once. */
  readonly players: readonly Actor[];
}

/** What people added: drawn on the sheet, but not measured. */
export interface Judgement {
  readonly findings: readonly TrayFinding[];
  readonly notes: readonly Note[];
  readonly markers: readonly Marker[];
}

export function buildModel(sheet: Sheet): SheetModel {
  const actors = sound(sheet.acting, actor);
  return {
    sheet,
    clock: new FrameClock(sheet.edges_s, sheet.first_frame, rateNumber(sheet.rate)),
    lanes: sound(sheet.lanes, lane),
    actors,
    players: eachOnce(actors),
  };
}

/** What can be made of a list: an item that is damaged is left out, and the rest stands. */
export function sound<T, R>(list: readonly T[], make: (item: T) => R): R[] {
  return list.flatMap((item) => {
    try {
      return [make(item)];
    } catch {
      return [];
    }
  });
}

const lane = ({ column, who, stretches, curves }: SheetLane): Lane => ({ column, who, stretches, curves: sound(curves, laneCurve) });

export const laneCurve = ({ id, first, values }: SheetCurve): LaneCurve => ({ id, first, values: unpack(values), slices: values.shape[1] ?? 1 });

function actor(a: SheetActing): Actor {
  return {
    who: a.who,
    level: a.level,
    lacks: a.lacks,
    worth: a.worth ?? {},
    marks: new Map(sound(a.marks, (m) => [m.mark, trackOf(m)])),
    gaze: sound(a.gaze, (g) => ({ side: g.side, origin: unpack(g.origin) as Float32Array, direction: unpack(g.direction) as Float32Array })),
  };
}

/** Each character once: from the scene where there is one, else from marks; the marks themselves as they were followed. */
export function eachOnce(actors: readonly Actor[]): Actor[] {
  const names = [...new Set(actors.map((a) => a.who))];
  return names.map((who) => {
    const own = actors.filter((a) => a.who === who).sort((a, b) => b.level - a.level);
    const marks = new Map(own.flatMap((a) => [...a.marks]));
    return { ...own[0], gaze: own.find((a) => a.gaze.length)?.gaze ?? [], marks };
  });
}

export const trackOf = (m: SheetActing['marks'][0]): Track => ({ xy: unpack(m.xy) as Float32Array, error: unpack(m.error_px) as Float32Array, placed: new Set(m.placed) });

/** The lanes of a column, side by side. */
export const lanesOf = (model: SheetModel, column: string): Lane[] => model.lanes.filter((l) => l.column === column);

const ALWAYS: ReadonlySet<string> = new Set(['frame', 'words', 'found', 'notes']);

/** Columns that have nothing to show. evidence: a column in which something chosen is drawn. */
export function emptyColumns(model: SheetModel, columns: readonly string[], evidence: string | null): Set<string> {
  return new Set(columns.filter((id) => !ALWAYS.has(id) && id !== evidence && lanesOf(model, id).length === 0));
}

/** Whether a row is touched; what lasts no time stands on the row where it is. */
export const covers = (s: { start: number; stop: number }, row: number): boolean => (s.start === s.stop ? Math.floor(s.start) === row : s.start < row + 1 && s.stop > row);

export const deadOn = (model: SheetModel, row: number): boolean =>
  lanesOf(model, 'picture').some((l) => l.stretches.some((s) => (s.kind === 'dead' || s.kind === 'dead_told') && covers(s, row)));

/** What is on a frame, in words: for the live region and the readout. */
export interface Said {
  readonly word: string | null;
  /** Its place among the sheet's words; -1: none. */
  readonly wordIndex: number;
  readonly who: string | null;
  readonly phone: string | null;
  readonly air: string | null;
  /** Where the voice leans, and how strongly among all leans of the shot. */
  readonly accent: string | null;
  /** A voice that shakes. */
  readonly shake: string | null;
}

export function saidOn(model: SheetModel, i: number): Said {
  const { words, phones, breaths } = model.sheet;
  const frame = model.clock.clampFrame(i);
  const [start, stop] = [model.clock.start(frame), model.clock.stop(frame)];
  const t = (start + stop) / 2;
  /** What fills the frame's middle, else what begins or ends in it. */
  const on = <T extends { start_s: number; end_s: number }>(list: readonly T[]): T | undefined =>
    list.find((e) => t >= e.start_s && t < e.end_s) ?? list.find((e) => e.start_s < stop && e.end_s > start);
  const word = on(words);
  const breath = on(breaths);
  return { word: word?.text ?? null, wordIndex: word ? words.indexOf(word) : -1, who: word?.who ?? null, phone: on(phones)?.phone ?? null, air: breath ? airName(breath.kind) : null, accent: accentOn(model, i), shake: shakeOn(model, start, stop) };
}

function accentOn(model: SheetModel, i: number): string | null {
  const accent = model.sheet.accents.find((a) => a.frame === i);
  return accent ? `the voice leans here, accent ${accent.rank} of ${model.sheet.accents.length}` : null;
}

function shakeOn(model: SheetModel, start: number, stop: number): string | null {
  const tremor = model.sheet.tremors.find((t) => t.start_s < stop && t.end_s > start);
  return tremor ? `the voice shakes in ${tremor.carrier}, ${tremor.rate_hz.toFixed(1)} times a second` : null;
}

export const airName = (kind: string): string => ({ inhale: 'breath in', exhale: 'breath out', smack: 'smack' })[kind] ?? kind;
