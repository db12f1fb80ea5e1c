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
let answers: Record<string, () => unknown>;
let asked: string[];
let hold: Promise<void>;
let keep: Keep;

beforeEach(async () => {
  vi.useFakeTimers();
  vi.stubGlobal('WebSocket', Line);
  vi.stubGlobal('document', { baseURI: 'http://here/' });
  asked = [];
  hold = Promise.resolve();
  answers = {
    'api/crit': () => ({ seq: 1, takes: [take], media: [], shots: [], notes: [], drawings: [], markers: [] }),
    'api/jobs': () => [job('running')],
    sheet: () => null,
    findings: () => ({ findings: [] }),
  };
  vi.stubGlobal('fetch', async (url: string | URL) => {
    const path = String(url);
    asked.push(path);
    const [, answer] = Object.entries(answers).find(([end]) => path.includes(end))!;
    const body = answer();
    if (path.includes('api/jobs')) await hold;
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
    let go = (): void => undefined;
    hold = new Promise((done) => (go = done));
    Line.last.onopen?.();
    await quiet();
    Line.last.say({ type: 'job', job: job('done') });
    go();
    await quiet();
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
