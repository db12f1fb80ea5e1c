import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Keep } from './keep.svelte';

vi.mock('../sheet/model', () => ({ buildModel: () => ({ sheet: { measured: true, words: [] } }) }));

/** The line of news: the test opens it, speaks on it and breaks it. */
class Line {
  static last: Line;
  static readonly OPEN = 1;
  readonly readyState = Line.OPEN;
  onopen: (() => void) | null = null;
  onmessage: ((message: { data: string }) => void) | null = null;
  onclose: (() => void) | null = null;
  constructor() {
    Line.last = this;
  }
  close(): void {
    this.onclose?.();
  }
  say(event: object): void {
    this.onmessage?.({ data: JSON.stringify({ n: 1, event }) });
  }
}

const job = (state: string): object => ({ id: 'j', kind: 'measure', take: 't', state, stage: '', done: 0, total: null, says: '' });
const take = { id: 't', shot: 's', first_frame: 1 };
let answers: Record<string, (path: string) => unknown>;
let asked: string[];
/** Answers to what has this in its address are on their way until `hold` is over; of what is asked after it was changed the rest is answered at once. */
let held: string;
let hold: Promise<void>;
let keep: Keep;

beforeEach(async () => {
  vi.useFakeTimers();
  vi.stubGlobal('WebSocket', Line);
  vi.stubGlobal('document', { baseURI: 'http://here/' });
  asked = [];
  held = 'api/jobs';
  hold = Promise.resolve();
  answers = {
    'api/crit': () => crit(1),
    'api/jobs': () => [job('running')],
    sheet: () => null,
    findings: () => ({ findings: [] }),
  };
  vi.stubGlobal('fetch', async (url: string | URL) => {
    const path = String(url);
    asked.push(path);
    const [, answer] = Object.entries(answers).find(([end]) => path.includes(end))!;
    const body = answer(path);
    if (path.includes(held)) await hold;
    return new Response(JSON.stringify(body), { status: 200, headers: { 'content-type': 'application/json' } });
  });
  keep = new Keep();
  await keep.open();
});
afterEach(() => {
  keep.close();
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

/** Let answers to what is asked from now on wait. What comes back hands them in, and holds nothing more. */
function holdBack(what: string): () => Promise<unknown> {
  let go = (): void => undefined;
  held = what;
  hold = new Promise((done) => (go = done));
  return () => {
    go();
    return quiet();
  };
}
const crit = (seq: number, more: object = {}): object => ({ seq, takes: [take], media: [], shots: [], notes: [], drawings: [], markers: [], ...more });
const edited = (seq: number): void => Line.last.say({ type: 'edit', seq, changed: [{ kind: 'note' }] });
const quiet = (): Promise<unknown> => vi.advanceTimersByTimeAsync(50);

describe('what is known of work', () => {
  it('is asked for once more when the line opens: it may have ended before', async () => {
    expect(keep.measuring).not.toBeNull();
    answers['api/jobs'] = () => [job('done')];
    Line.last.onopen?.();
    await quiet();
    expect(keep.measuring).toBeNull();
  });

  it('is asked for again after the line was broken', async () => {
    Line.last.onopen?.();
    await quiet();
    expect(keep.measuring).not.toBeNull();
    answers['api/jobs'] = () => [job('done')];
    Line.last.close();
    await vi.advanceTimersByTimeAsync(1000);
    Line.last.onopen?.();
    await quiet();
    expect(keep.measuring).toBeNull();
  });

  it('keeps what is heard while an answer is on its way', async () => {
    const handIn = holdBack('api/jobs');
    Line.last.onopen?.();
    await quiet();
    Line.last.say({ type: 'job', job: job('done') });
    await handIn();
    expect(keep.measuring).toBeNull();
  });

  it('is left alone by a page that was busy: its line is not broken for having been silent', async () => {
    Line.last.onopen?.();
    await quiet();
    const line = Line.last;
    vi.setSystemTime(Date.now() + 20_000);
    await vi.advanceTimersByTimeAsync(1000);
    line.say({ type: 'job', job: job('done') });
    await vi.advanceTimersByTimeAsync(1000);
    expect(Line.last).toBe(line);
    expect(keep.measuring).toBeNull();
    await vi.advanceTimersByTimeAsync(9000);
    expect(Line.last).not.toBe(line); // silent for good
  });
});

describe('an answer that comes late', () => {
  const two = { takes: [take, { ...take, id: 'u' }], media: [{ take: 't', state: 'here' }, { take: 'u', state: 'here' }] };
  const ofTake = (path: string): string => /takes\/(\w)/.exec(path)?.[1] ?? '';

  it('does not bring back how things were', async () => {
    answers['api/crit'] = () => crit(2);
    const handIn = holdBack('api/crit');
    edited(2);
    await quiet();
    held = 'nothing';
    answers['api/crit'] = () => crit(3);
    edited(3);
    await quiet();
    await handIn();
    expect(keep.crit?.seq).toBe(3);
  });

  it('does not bring back what was found before', async () => {
    answers.findings = () => ({ findings: [{ key: 'old' }] });
    const handIn = holdBack('findings');
    edited(2);
    await quiet();
    held = 'nothing';
    answers.findings = () => ({ findings: [] });
    Line.last.say({ type: 'measured', take: 't' });
    await quiet();
    await handIn();
    expect(keep.tray?.findings).toEqual([]);
  });

  it('is not shown with another take', async () => {
    answers['api/crit'] = () => crit(2, two);
    answers.frames = (path) => ({ take: ofTake(path), first_frame: 1 });
    answers.findings = (path) => ({ take: ofTake(path), findings: [] });
    await keep.refresh();
    const pictures = holdBack('t/frames');
    void keep.show('t');
    await quiet();
    await keep.show('u');
    await pictures();
    expect(keep.table?.take).toBe('u');
    await keep.show('t');
    const found = holdBack('t/findings');
    edited(3);
    await quiet();
    await keep.show('u');
    await found();
    expect((keep.tray as { take?: string } | null)?.take).toBe('u');
  });
});

describe('news that comes in a bunch', () => {
  it('has the sheet fetched for what was measured, whatever is told after it', async () => {
    asked = [];
    Line.last.say({ type: 'measured', take: 't' });
    edited(2);
    await quiet();
    expect(asked.filter((path) => path.includes('sheet'))).toHaveLength(1);
    edited(3);
    await quiet();
    expect(asked.filter((path) => path.includes('sheet'))).toHaveLength(1); // notes alone change no sheet
  });
});
