import { describe, expect, it } from 'vitest';
import type { Sheet } from '../api/types';
import { unpack } from '../api/packed';
import { COLUMN_IDS, columnAt, FOLDED, layColumns, ordered } from './columns';
import { dragEdge, gripAt, part, splitAt } from './grips';
import { lanes } from './lanes';
import { buildModel, deadOn, eachOnce, saidOn, type Actor } from './model';
import { besideBreath } from './paint-heard';
import { isWhole } from './paint-judgement';
import { fitRange, follow, leastRow, numberStep, positionAtY, rowAt, settled, visible, yOf, zoomRows, type Rows } from './rows';

const word = (text: string, start_s: number, end_s: number, by_hand: string | null = null) => ({ text, who: 'Oona', start_s, end_s, first: Math.floor(start_s * 24), last: Math.ceil(end_s * 24) - 1, confidence: 1, line: 0, by_hand });
const SHEET = {
  take: 'a', measured: true, frames: 48, first_frame: 1001, rate: '24/1',
  edges_s: Array.from({ length: 49 }, (_, i) => i / 24),
  lines: [], words: [word('but', 0.5, 0.75), word('you', 0.75, 1, 'c1')], phones: [{ phone: 'B', stress: null, word: 0, start_s: 0.5, end_s: 0.6, first: 12, last: 14, by_hand: null }],
  breaths: [{ kind: 'inhale', who: null, start_s: 0.1, end_s: 0.4, first: 2, last: 9, level_db: 12, confidence: 1, by_hand: null }],
  tremors: [], accents: [], cuts: [{ frame: 24, by_hand: null }], repeats: [{ first: 41, last: 47 }], movement: null, wave: null, looks: [], blinks: [], acting: [],
  lanes: [{ column: 'picture', who: null, curves: [], stretches: [{ start: 41, stop: 48, kind: 'dead', text: '', who: null, sure: true, leads: false, count: 1, event: null }] }],
} as unknown as Sheet;
const MODEL = buildModel(SHEET);
const ROWS: Rows = { frames: 48, rowHeight: 20, scroll: 0, height: 400 };
const WIDE = layColumns(ordered([]), 600, new Set());
const column = (id: string) => WIDE.find((c) => c.id === id);

describe('rows', () => {
  it('turns rows into places and back', () => {
    const rows = { ...ROWS, scroll: 130 };
    expect(yOf(rows, 10)).toBe(70);
    expect(positionAtY(rows, 70)).toBe(10);
    expect(rowAt(rows, 89)).toBe(10);
    expect(rowAt(rows, 90)).toBe(11);
  });
  it('draws only what is in sight', () => {
    expect(visible({ ...ROWS, scroll: 130 })).toEqual({ first: 6, last: 26 });
    expect(visible({ ...ROWS, frames: 10, rowHeight: 20 })).toEqual({ first: 0, last: 9 });
  });
  it('zooms from the whole shot down to one frame, the row under the pointer staying there', () => {
    const near = zoomRows(ROWS, 3, 200);
    expect(positionAtY(near, 200)).toBeCloseTo(positionAtY(ROWS, 200));
    const one = zoomRows(ROWS, 1000, 200);
    expect(one.rowHeight).toBe(400);
    expect(visible(one).last - visible(one).first).toBeLessThanOrEqual(1);
    expect(zoomRows(ROWS, 0.0001, 200).rowHeight).toBeCloseTo(leastRow(400, 48));
  });
  it('turns the page when the playhead nears an edge, and not before', () => {
    expect(follow(ROWS, 10)).toBe(ROWS);
    const turned = follow(ROWS, 19);
    expect(yOf(turned, 19.5)).toBeCloseTo(80);
    for (let i = 0; i < 48; i++) {
      const r = follow(ROWS, i);
      expect(yOf(r, i)).toBeGreaterThanOrEqual(-1);
      expect(yOf(r, i + 1)).toBeLessThanOrEqual(401);
    }
  });
  it('shows a range as large as it goes', () => {
    const r = fitRange(ROWS, { first: 20, last: 23 });
    expect(yOf(r, 20)).toBeGreaterThan(0);
    expect(yOf(r, 24)).toBeLessThan(400);
    expect(yOf(r, 24) - yOf(r, 20)).toBeGreaterThan(300);
  });
  it('keeps numbers apart', () => {
    for (const h of [0.2, 1, 3, 8, 15, 100]) expect(numberStep(h) * h).toBeGreaterThanOrEqual(12);
  });
  it('keeps the paper in the window', () => {
    expect(settled({ ...ROWS, scroll: 1e6 }).scroll).toBeLessThanOrEqual(48 * 20 - 400 + 40);
    expect(settled({ ...ROWS, frames: 5, scroll: 99 }).scroll).toBeCloseTo(0);
  });
});

describe('names and brackets', () => {
  const air = (kind: string, start: number, stop: number) => ({ start, stop, kind, text: '', who: null, sure: true, leads: false, count: 1, event: null }) as Parameters<typeof besideBreath>[1];
  it('a shaking voice is not named where a breath has its name', () => {
    const shake = air('tremor', 10, 30);
    expect(besideBreath([air('exhale', 25, 40), shake], shake)).toBe(true);
    expect(besideBreath([air('exhale', 30, 40), air('tremor', 12, 20), shake], shake)).toBe(false);
  });
  it('what is about the whole shot stands at its ends alone', () => {
    expect(isWhole({ first: 0, last: 47 }, 48)).toBe(true);
    expect(isWhole({ first: 0, last: 46 }, 48)).toBe(false);
    expect(isWhole({ first: 0, last: 4 }, 5)).toBe(false);
  });
});

describe('columns', () => {
  it('keep the order that a person gave, and show new ones too', () => {
    expect(ordered(['notes', 'nonsense', 'frame']).map((c) => c.id).slice(0, 3)).toEqual(['notes', 'frame', 'picture']);
    expect(ordered([])).toHaveLength(COLUMN_IDS.length);
  });
  for (const width of [240, 330, 390, 520, 900]) {
    it(`fill ${width} px exactly, and fold rather than run over`, () => {
      const laid = layColumns(ordered([]), width, new Set());
      const end = laid[laid.length - 1];
      expect(end.x + end.width).toBeCloseTo(Math.max(width, laid.reduce((s, c) => s + (c.folded ? FOLDED : c.least), 0)));
      for (const c of laid) expect(c.width).toBeGreaterThanOrEqual(c.folded ? FOLDED : c.least);
      expect(laid.filter((c) => c.folds === 0).every((c) => !c.folded)).toBe(true);
    });
  }
  it('fold empty ones first when it is tight, and not when there is room', () => {
    const shut = (width: number) => layColumns(ordered([]), width, new Set(), { empty: new Set(['air']) }).filter((c) => c.folded).map((c) => c.id);
    expect(shut(450)).toEqual(['air']);
    expect(shut(900)).toEqual([]);
  });
  it('fold what a person folded, and leave open what was opened', () => {
    const laid = layColumns(ordered([]), 390, new Set(['words']), { unfolded: new Set(['eyes']) });
    expect(laid.find((c) => c.id === 'words')?.folded).toBe(true);
    expect(laid.find((c) => c.id === 'eyes')?.folded).toBe(false);
    expect(columnAt(laid, 1)?.id).toBe('frame');
    expect(columnAt(laid, 5000)).toBeUndefined();
  });
});

describe('lanes', () => {
  it('puts overlapping ranges side by side, and later ones back to the left', () => {
    const found = lanes([{ first: 0, last: 10 }, { first: 5, last: 6 }, { first: 11, last: 12 }]);
    expect(found).toEqual({ lane: [0, 1, 0], count: 2 });
    expect(lanes([])).toEqual({ lane: [], count: 1 });
  });
});

describe('the model', () => {
  it('counts seven dead frames as seven rows', () => {
    expect(Array.from({ length: 48 }, (_, i) => i).filter((i) => deadOn(MODEL, i))).toEqual([41, 42, 43, 44, 45, 46, 47]);
  });
  it('says what is on a frame', () => {
    expect(saidOn(MODEL, 13)).toEqual({ word: 'but', wordIndex: 0, who: 'Oona', phone: 'B', air: null, accent: null, shake: null });
    expect(saidOn(MODEL, 5)).toEqual({ word: null, wordIndex: -1, who: null, phone: null, air: 'breath in', accent: null, shake: null });
  });
  it('unpacks arrays, with NaN for what was not measured', () => {
    const bytes = new Uint8Array(new Float32Array([1.5, NaN, -2]).buffer);
    const data = btoa(String.fromCharCode(...bytes));
    const found = unpack({ dtype: 'float32', shape: [3], data });
    expect([...found]).toEqual([1.5, NaN, -2]);
    expect([...unpack({ dtype: 'int8', shape: [2], data: btoa('\x80\x7f') })]).toEqual([-128, 127]);
  });
});

describe('a damaged item', () => {
  const good = { id: 'mouth.seen', says: '', first: 0, values: { dtype: 'float32', shape: [1], data: btoa('\0\0\0\0') } };
  const bad = { ...good, values: { ...good.values, data: 'no base64 !' } };
  it('leaves its own place empty, and the rest of the sheet stands', () => {
    const lanes = [{ column: 'mouth', who: 'Ada', stretches: [], curves: [bad, good] }, null, { column: 'eyes', who: 'Ada', stretches: [], curves: [] }];
    const model = buildModel({ ...SHEET, lanes, acting: [{ who: 'Ada', level: 2, marks: [{ mark: 'nose' }], gaze: null, lacks: {} }] } as unknown as Sheet);
    expect(model.lanes.map((l) => [l.column, l.curves.length])).toEqual([['mouth', 1], ['eyes', 0]]);
    expect(model.players).toEqual([]);
    expect(saidOn(model, 13).word).toBe('but');
  });
});

describe('grips', () => {
  it('take hold of edges, else of the thing itself', () => {
    expect(gripAt(MODEL, ROWS, column('words'), 240)).toEqual({ event: 'word', index: 0, part: 'start' });
    expect(gripAt(MODEL, ROWS, column('words'), 300)).toEqual({ event: 'word', index: 0, part: 'body' });
    expect(gripAt(MODEL, ROWS, column('picture'), 482)).toEqual({ event: 'cut', index: 0, part: 'start' });
    expect(gripAt(MODEL, ROWS, column('sound'), 300)).toBeNull();
    expect(gripAt(MODEL, ROWS, column('words'), 30)).toBeNull();
  });
  it('move a shared edge for both neighbours, and say which correction is replaced', () => {
    const changes = dragEdge(MODEL, ROWS, { event: 'word', index: 0, part: 'end' }, 380, false); // 19 rows = 19/24 s
    expect(changes).toHaveLength(2);
    expect(changes[0].now).toMatchObject({ text: 'but', start_s: 0.5 });
    expect((changes[0].now as { end_s: number }).end_s).toBeCloseTo(19 / 24);
    expect((changes[1].now as { start_s: number }).start_s).toBeCloseTo(19 / 24);
    expect(changes[1].replaces).toBe('c1');
  });
  it('never turn a word inside out', () => {
    const [change] = dragEdge(MODEL, ROWS, { event: 'word', index: 0, part: 'end' }, 10, false);
    const now = change.now as { start_s: number; end_s: number };
    expect(now.end_s).toBeGreaterThan(now.start_s);
  });
  it('snap to frames when asked, and cuts always', () => {
    const [change] = dragEdge(MODEL, ROWS, { event: 'word', index: 0, part: 'start' }, 227, true);
    expect((change.now as { start_s: number }).start_s).toBeCloseTo(11 / 24);
    expect(dragEdge(MODEL, ROWS, { event: 'cut', index: 0, part: 'start' }, 517, false)[0].now).toEqual({ frame: 26 });
  });
  it('split into one change and one addition that meet', () => {
    const parts = splitAt('word', SHEET.words[0], 0.6);
    expect(parts[0].was).not.toBeNull();
    expect(parts[1].was).toBeNull();
    expect((parts[0].now as { end_s: number }).end_s).toBe((parts[1].now as { start_s: number }).start_s);
    expect((splitAt('word', SHEET.words[0], 99)[0].now as { end_s: number }).end_s).toBe(0.625);
  });
  it('delete by leaving nothing', () => {
    expect(part('cut', SHEET.cuts[0], null)).toEqual({ event: 'cut', was: { frame: 24 }, now: null, replaces: null });
  });
});

describe('players', () => {
  const track = (x: number) => ({ xy: new Float32Array([x, 0]), error: new Float32Array(1), placed: new Set<number>() });
  const of = (who: string, level: number, parts: Partial<Actor>): Actor => ({ who, level, marks: new Map(), lacks: {}, worth: {}, gaze: [], ...parts });

  it('are each there once, with the scene before marks, and marks as they were followed', () => {
    const [ada, kite, ...more] = eachOnce([
      of('Ada', 2, { marks: new Map([['nose', track(2)]]) }),
      of('kite', 2, {}),
      of('Ada', 3, { marks: new Map([['nose', track(3)], ['chin', track(4)]]) }),
    ]);
    expect(more).toEqual([]);
    expect([ada.who, ada.level, kite.who]).toEqual(['Ada', 3, 'kite']);
    expect([ada.marks.get('nose')?.xy[0], ada.marks.get('chin')?.xy[0]]).toEqual([2, 4]);
  });
});
