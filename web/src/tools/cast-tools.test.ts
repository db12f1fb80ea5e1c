import { describe, expect, it } from 'vitest';
import type { Cast, CastLook, CastPart } from '../api/types';
import { onPicture } from '../geometry/brands';
import { freePlace } from '../layers/labels';
import { LOUPE, loupeBox, loupePlace } from '../layers/loupe';
import { nextPoint, step, stillWorth, taughtMouths, worthByEar, type Worth } from './guide';
import { atText, lookOn, lookText, partnerOff, sideOff, spotAt, withLook } from './looks';
import { EMPTY_HAND, place, type PlaceEvent, type PlaceState } from './place';
import { markName, POINTS, setOf } from './points';
import { undoneMark } from './undone';

const NONE: ReadonlySet<string> = new Set();
const ada = (marks: Record<string, [number, number, number][]>): CastPart => ({
  name: 'Ada',
  marks: Object.fromEntries(Object.entries(marks).map(([m, spots]) => [m, spots.map(([frame, x, y]) => ({ frame, x, y }))])),
  scene: {},
});

describe('what to mark next', () => {
  it('walks through a face once, one point a click', () => {
    const marks: Record<string, [number, number, number][]> = {};
    let at: string | null = null;
    const offered: string[] = [];
    for (let clicks = 0; clicks < 40; clicks++) {
      at = nextPoint(ada(marks), 'face', 7, NONE, at);
      if (at === null) break;
      offered.push(at);
      marks[at] = [[7, 0.5, 0.5]];
    }
    expect(offered).toEqual(POINTS.face.map((p) => p.mark));
    expect(offered).toHaveLength(13);
  });
  it('passes over what was left out, and over what another frame has not', () => {
    const part = ada({ eye_right: [[7, 0, 0]], eye_right_edge: [[9, 0, 0]] });
    expect(nextPoint(part, 'face', 7, NONE, null)).toBe('eye_right_edge');
    expect(nextPoint(part, 'face', 7, new Set(['eye_right_edge']), null)).toBe('iris_right');
  });
  it('comes back to earlier gaps at the end', () => {
    const all = Object.fromEntries(POINTS.face.filter((p) => p.mark !== 'nose').map((p) => [p.mark, [[7, 0, 0]] as [number, number, number][]]));
    expect(nextPoint(ada(all), 'face', 7, NONE, 'head_top')).toBe('nose');
  });
  it('steps to and fro, round the ends', () => {
    expect(step(ada({}), 'mouth', 'mouth_right', -1)).toBe('lip_lower');
    expect(step(ada({}), 'mouth', 'lip_lower', 1)).toBe('mouth_right');
    expect(step(ada({}), 'mouth', null, 1)).toBe('mouth_right');
    expect(step(ada({}), 'prop', null, 1)).toBeNull();
  });
});

const mouth = (frame: number, gap: number): Record<string, [number, number, number][]> => ({
  mouth_right: [[frame, 0.4, 0.5]],
  mouth_left: [[frame, 0.6, 0.5]],
  lip_upper: [[frame, 0.5, 0.5 - gap / 2]],
  lip_lower: [[frame, 0.5, 0.5 + gap / 2]],
});

describe('frames worth marking', () => {
  const worth: Worth[] = [
    { shape: 'shut', frame: 20, by: 'sight' },
    { shape: 'open', frame: 40, by: 'sight' },
    { shape: 'wide', frame: 60, by: 'sight' },
  ];
  it('measures a marked mouth by its own width: a gap of 0.1 of the height on a picture twice as wide as high is a quarter', () => {
    expect(taughtMouths(ada(mouth(7, 0.1)), 2)).toEqual([{ frame: 7, opening: expect.closeTo(0.25, 9) }]);
    expect(taughtMouths(ada({ ...mouth(7, 0.1), lip_lower: [] }), 2)).toEqual([]);
  });
  it('are those that no marked mouth covers', () => {
    expect(stillWorth(ada({}), worth, 2)).toEqual(worth);
    expect(stillWorth(ada(mouth(7, 0.0)), worth, 2).map((w) => w.shape)).toEqual(['open', 'wide']);
    expect(stillWorth(ada(mouth(7, 0.2)), worth, 2).map((w) => w.shape)).toEqual(['shut', 'wide']);
    expect(stillWorth(ada(mouth(61, 0.08)), worth, 2).map((w) => w.shape)).toEqual(['shut', 'open']);
  });
  it('are guessed from the sound before anything is followed: the longest m, b or p, the longest open vowel', () => {
    const phone = (p: string, first: number, last: number): Parameters<typeof worthByEar>[0][0] => ({ phone: p, first, last, start_s: first / 24, end_s: (last + 1) / 24 });
    expect(worthByEar([phone('B', 3, 4), phone('M', 10, 14), phone('AE', 20, 25), phone('N', 30, 60)], 1001)).toEqual([
      { shape: 'shut', frame: 1013, by: 'sound' },
      { shape: 'open', frame: 1023, by: 'sound' },
    ]);
  });
});

describe('the hand that places', () => {
  const at = (type: PlaceEvent['type'], x: number, y: number, pulls = false): PlaceEvent => ({ type, at: onPicture(x, y), pulls, aspect: 2 });
  const run = (events: PlaceEvent[]): { names: string[]; whats: unknown[]; undo: string[] } => {
    let state: PlaceState = EMPTY_HAND;
    const [names, whats, undo]: [string[], unknown[], string[]] = [[], [], []];
    for (const event of events) {
      const next = place(state, event);
      state = next.state;
      names.push(state.name);
      whats.push(...next.changes.map((c) => c.what));
      undo.push(...next.changes.map((c) => c.undo));
    }
    return { names, whats, undo };
  };
  it('puts a mark where it lets go: press, slide, let go is one step of undo', () => {
    const { names, whats, undo } = run([at('move', 0.1, 0.1), at('down', 0.2, 0.2), at('move', 0.24, 0.2), at('up', 0.25, 0.2)]);
    expect(names).toEqual(['idle', 'pressing', 'pressing', 'idle']);
    expect(whats.at(-1)).toEqual({ kind: 'put', from: { x: 0.2, y: 0.2 }, at: { x: 0.25, y: 0.2 } });
    expect(undo).toEqual(['never', 'never', 'never', 'now']);
  });
  it('pulls from one thing to another, and only when it really moved', () => {
    const { names, whats } = run([at('down', 0.2, 0.2, true), at('move', 0.203, 0.2, true), at('move', 0.4, 0.3, true), at('up', 0.5, 0.3, true)]);
    expect(names).toEqual(['pressing', 'pressing', 'pulling', 'idle']);
    expect(whats.at(-1)).toEqual({ kind: 'pulled', from: { x: 0.2, y: 0.2 }, to: { x: 0.5, y: 0.3 } });
    expect(run([at('down', 0.2, 0.2, true), at('up', 0.2, 0.2, true)]).whats.at(-1)).toMatchObject({ kind: 'put' });
  });
  it('leaves nothing when it was broken off', () => {
    expect(run([at('down', 0.2, 0.2, true), at('move', 0.5, 0.5, true), at('cancel', 0.5, 0.5)]).whats.at(-1)).toEqual({ kind: 'clear' });
    expect(run([at('move', 0.2, 0.2), at('leave', 0.2, 0.2)]).whats.at(-1)).toEqual({ kind: 'aim', at: null });
  });
});

describe('looks', () => {
  const whole = { first: 1, last: 100 };
  const look = (who: string, at: string, first?: number, last?: number): CastLook => ({ who, at, ...(first !== undefined && { first }), ...(last !== undefined && { last }) });
  const short = (looks: CastLook[]): string[] => looks.map((k) => `${k.who} ${String(k.at)} ${k.first}-${k.last}`);
  it('of one person never overlap: the new one takes its frames, and may cut another in two', () => {
    expect(short(withLook([look('Ada', 'Ben', 1, 50)], { who: 'Ada', at: 'camera', first: 20, last: 29 }, whole))).toEqual(['Ada Ben 1-19', 'Ada camera 20-29', 'Ada Ben 30-50']);
    expect(short(withLook([look('Ada', 'Ben', 20, 30)], { who: 'Ada', at: 'camera', first: 10, last: 40 }, whole))).toEqual(['Ada camera 10-40']);
    expect(short(withLook([look('Ada', 'Ben', 20, 30)], { who: 'Ada', at: 'camera', first: 30, last: 31 }, whole))).toEqual(['Ada Ben 20-29', 'Ada camera 30-31']);
  });
  it('without frames hold for the whole shot, and give way like any other', () => {
    expect(short(withLook([look('Ada', 'Ben')], { who: 'Ada', at: 'camera', first: 1, last: 9 }, whole))).toEqual(['Ada camera 1-9', 'Ada Ben 10-100']);
    expect(lookOn([look('Ada', 'Ben')], 'Ada', 55)?.at).toBe('Ben');
  });
  it('leave other people and other frames alone', () => {
    const others = [look('Ben', 'Ada', 1, 100), look('Ada', 'Ben', 1, 9)];
    expect(short(withLook(others, { who: 'Ada', at: 'kite.tail', first: 10, last: 20 }, whole))).toEqual(['Ada Ben 1-9', 'Ben Ada 1-100', 'Ada kite.tail 10-20']);
  });
  it('are said in words', () => {
    expect([atText('Ben'), atText('camera'), atText('kite.tail_end'), atText({ x: 0, y: 0 })]).toEqual(['Ben', 'the camera', 'kite, tail end', 'a place in the picture']);
  });
  it('mean the spot whose middle is nearest, each within its own reach', () => {
    const spots = [{ name: 'Ben', x: 0.5, y: 0.5, reach: 0.2 }, { name: 'kite.tail', x: 0.55, y: 0.5, reach: 0.04 }];
    expect(spotAt(spots, { x: 0.55, y: 0.51 }, 1)?.name).toBe('kite.tail');
    expect(spotAt(spots, { x: 0.45, y: 0.5 }, 1)?.name).toBe('Ben');
    expect(spotAt(spots, { x: 0.61, y: 0.5 }, 2)).toBeNull(); // 0.11 of the width is 0.22 of the height here
  });
});

describe('names and figure', () => {
  it('know every point, and call it as an animator does', () => {
    expect(markName('lid_upper_left')).toBe('left upper lid');
    expect(markName('kite_tail')).toBe('kite tail');
    expect([setOf('brow_left'), setOf('knee_left'), setOf('mouth_left')]).toEqual(['lids', 'body', 'face']);
  });
  it("has the character's right on our left", () => {
    const at = (mark: string): number => [...POINTS.face, ...POINTS.lids, ...POINTS.body].find((p) => p.mark === mark)!.at[0];
    for (const part of ['eye', 'iris', 'mouth', 'brow', 'shoulder', 'hand', 'knee', 'foot']) expect(at(`${part}_right`)).toBeLessThan(at(`${part}_left`));
  });
});

describe('the inset', () => {
  it('shows the point in question in its middle', () => {
    const box = loupeBox({ x: 0.25, y: 0.5 }, { width: 400, height: 200 });
    expect([box.left + 0.25 * box.width, box.top + 0.5 * box.height]).toEqual([LOUPE / 2, LOUPE / 2]);
    expect(box.width / 400).toBe(5);
  });
  it('lies beside the point and inside the stage, wherever the point is', () => {
    const stage = { width: 720, height: 405 };
    for (const x of [0, 100, 360, 600, 720])
      for (const y of [0, 60, 200, 404]) {
        const { left, top } = loupePlace({ x, y }, stage);
        expect(left >= 0 && left + LOUPE <= stage.width && top >= 0 && top + LOUPE <= stage.height).toBe(true);
        expect(x > left && x < left + LOUPE).toBe(false);
      }
  });
});

describe('names on the picture', () => {
  const room = (left: number, top: number): { left: number; top: number; right: number; bottom: number } => ({ left, top, right: left + 50, bottom: top + 12 });
  it('take the first place that is free, and none when all are taken', () => {
    const places = [{ x: 10, y: 30 }, { x: 100, y: 30 }];
    expect(freePlace(places, 40, 12, [])?.x).toBe(10);
    expect(freePlace(places, 40, 12, [room(30, 20)])?.x).toBe(100);
    expect(freePlace(places, 40, 12, [room(30, 20), room(120, 25)])).toBeNull();
  });
  it('never leave the picture to the left or over its top', () => {
    expect(freePlace([{ x: -1, y: 30 }, { x: 10, y: 8 }], 40, 12, [])).toBeNull();
  });
});

describe('where an undo has its hand', () => {
  const cast = (marks: Record<string, [number, number, number][]>): Cast => ({ characters: [ada(marks)], props: [], contacts: [], looks: [], cameras: [], faces: [], metres_per_unit: 1 });
  it('is the one mark that was taken off, put back or moved', () => {
    const before = cast({ nose: [[7, 0.5, 0.5]], chin: [[7, 0.5, 0.7]] });
    expect(undoneMark(before, cast({ nose: [[7, 0.5, 0.5]] }))).toEqual({ who: 'Ada', mark: 'chin', frame: 7, placed: false });
    expect(undoneMark(cast({ nose: [[7, 0.5, 0.5]] }), before)).toEqual({ who: 'Ada', mark: 'chin', frame: 7, placed: true });
    expect(undoneMark(before, cast({ nose: [[7, 0.4, 0.5]], chin: [[7, 0.5, 0.7]] }))).toEqual({ who: 'Ada', mark: 'nose', frame: 7, placed: true });
  });
  it('is nowhere when nothing or several marks changed', () => {
    const before = cast({ nose: [[7, 0.5, 0.5]], chin: [[7, 0.5, 0.7]] });
    expect(undoneMark(before, before)).toBeNull();
    expect(undoneMark(before, cast({}))).toBeNull();
  });
});

describe('a look off the picture', () => {
  it('ends off the side that it passes the farthest, or comes close to', () => {
    const ends: [number, number, string | null][] = [[1.2, 0.4, 'right'], [-0.1, 0.4, 'left'], [0.4, 1.1, 'down'], [0.4, 0.005, 'up'], [0.96, 0.5, null], [1.1, 1.3, 'down']];
    for (const [x, y, side] of ends) expect(sideOff({ x, y }, 16 / 9)).toBe(side);
  });
  it('is at who exchanges looks with this one elsewhere, carried over the cut by name', () => {
    const looks: CastLook[] = [{ who: 'Cass', at: 'Ada', first: 50, last: 90 }];
    expect(partnerOff(looks, 'Ada', ['Ben', 'Cass'])).toBe('Cass');
    expect(partnerOff([], 'Ada', ['Ada', 'Ben'])).toBe('Ben');
    expect(partnerOff([], 'Ada', ['Ada'])).toBeNull();
    expect(lookText({ at: 'Ben', off: 'behind' })).toBe('Ben, behind the lens');
  });
});
