import { unpack } from '../api/packed';
import type { Marker, Note, Sheet, SheetActing, TrayFinding } from '../api/types';
import { FrameClock, rateNumber } from '../clock/frames';

/** One number a frame; NaN where it was not measured. */
export interface Curve {
  readonly name: string;
  readonly unit: string;
  readonly values: Float32Array;
}

/** One mark over the shot; NaN where it was lost. Frames count from 0. */
export interface Track {
  readonly xy: Float32Array;
  readonly error: Float32Array;
  readonly placed: ReadonlySet<number>;
}

export interface Actor {
  readonly who: string;
  readonly opening: Curve | null;
  readonly lift: Curve | null;
  readonly level: number;
  readonly marks: ReadonlyMap<string, Track>;
  readonly lacks: Readonly<Record<string, string>>;
  /** Frames that would teach the mouth most: shut, open, wide. */
  readonly worth: Readonly<Record<string, number>>;
  readonly gaze: readonly { side: string; origin: Float32Array; direction: Float32Array }[];
}

/** Everything the sheet and the picture's layers draw from, unpacked once a measurement. */
export interface SheetModel {
  readonly sheet: Sheet;
  readonly clock: FrameClock;
  readonly wave: { data: Int8Array; slices: number } | null;
  readonly dead: Uint8Array;
  readonly movement: Curve | null;
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
  const dead = new Uint8Array(sheet.frames);
  for (const run of sheet.repeats) dead.fill(1, run.first, run.last + 1);
  const actors = sheet.acting.map(actor);
  return {
    sheet,
    clock: new FrameClock(sheet.edges_s, sheet.first_frame, rateNumber(sheet.rate)),
    wave: sheet.wave && { data: unpack(sheet.wave) as Int8Array, slices: sheet.wave.shape[1] },
    dead,
    movement: sheet.movement && curve(sheet.movement),
    actors,
    players: eachOnce(actors),
  };
}

const curve = (s: Sheet['acting'][0]['series'][0]): Curve => ({ name: s.name, unit: s.unit, values: unpack(s.values) as Float32Array });

function actor(a: SheetActing): Actor {
  const find = (part: string): Curve | null => {
    const found = a.series.find((s) => s.name.toLowerCase().includes(part) && !s.name.includes('error'));
    return found ? curve(found) : null;
  };
  return {
    who: a.who,
    level: a.level,
    lacks: a.lacks,
    worth: a.worth ?? {},
    opening: find('opening'),
    lift: find('lift'),
    marks: new Map(a.marks.map((m) => [m.mark, trackOf(m)])),
    gaze: a.gaze.map((g) => ({ side: g.side, origin: unpack(g.origin) as Float32Array, direction: unpack(g.direction) as Float32Array })),
  };
}

/** Each character once: each part from the scene where the scene has it, else from marks; the marks themselves as they were followed. */
export function eachOnce(actors: readonly Actor[]): Actor[] {
  const names = [...new Set(actors.map((a) => a.who))];
  return names.map((who) => {
    const own = actors.filter((a) => a.who === who).sort((a, b) => b.level - a.level);
    const part = <K extends 'opening' | 'lift'>(k: K): Curve | null => own.find((a) => a[k])?.[k] ?? null;
    const marks = new Map(own.flatMap((a) => [...a.marks]));
    return { ...own[0], opening: part('opening'), lift: part('lift'), gaze: own.find((a) => a.gaze.length)?.gaze ?? [], marks };
  });
}

export const trackOf = (m: SheetActing['marks'][0]): Track => ({ xy: unpack(m.xy) as Float32Array, error: unpack(m.error_px) as Float32Array, placed: new Set(m.placed) });

/** Numbers of `values` that count, least and greatest; null when there is none. */
export function extent(values: ArrayLike<number>): { low: number; high: number } | null {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    const v = values[i];
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return low <= high ? { low, high } : null;
}

/** Columns that have nothing to show. */
export function emptyColumns(model: SheetModel): Set<string> {
  const { sheet, players: actors } = model;
  const full: Record<string, boolean> = {
    picture: sheet.cuts.length + sheet.repeats.length > 0,
    sound: model.wave !== null,
    phones: sheet.phones.length > 0,
    air: sheet.breaths.length + sheet.tremors.length > 0,
    mouth: actors.some((a) => a.opening),
    eyes: sheet.looks.length + sheet.blinks.length > 0,
    body: model.movement !== null || actors.some((a) => a.lift),
  };
  return new Set(Object.keys(full).filter((id) => !full[id]));
}

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
