import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { AskedBefore } from './asked.svelte';
import type { Keep } from './keep.svelte';

const takes = [1, 2].map((number) => ({ id: `t${number}`, shot: 's', number }));
/** What was asked of the room and is not answered yet. */
let waiting: { path: string; answer: (body: object) => void }[];
let keep: { takeId: string; take: object; crit: { seq: number; takes: object[]; media: object[] }; model: null; tell: () => void };
let asked: AskedBefore;

beforeEach(() => {
  waiting = [];
  vi.stubGlobal('fetch', (path: string) => new Promise((done) => waiting.push({ path, answer: (body) => void done(new Response(JSON.stringify(body))) })));
  keep = { takeId: 't2', take: takes[1], crit: { seq: 1, takes, media: [] }, model: null, tell: vi.fn() };
  asked = new AskedBefore(keep as unknown as Keep);
});
afterEach(() => vi.unstubAllGlobals());

const list = (says: string): object => ({ take: 't2', lined_up: false, says, arrived: '', remarks: [], notes: [], new_findings: [] });

describe('what was asked before', () => {
  it('is fetched once for what the page knows, and again once that is otherwise', async () => {
    const both = Promise.all([asked.fetch(), asked.fetch()]);
    expect(waiting).toHaveLength(1);
    waiting[0].answer(list('waits'));
    await both;
    expect(asked.now?.says).toBe('waits');
    keep.crit = { ...keep.crit, seq: 2 };
    void asked.fetch();
    expect(waiting).toHaveLength(2);
  });

  it('is not overwritten by an older answer', async () => {
    const first = asked.fetch();
    keep.crit = { ...keep.crit, seq: 2 };
    const second = asked.fetch();
    waiting[1].answer(list('now'));
    await second;
    waiting[0].answer(list('then'));
    await first;
    expect(asked.now?.says).toBe('now');
  });

  it('is asked for again when the room did not answer', async () => {
    vi.stubGlobal('fetch', () => Promise.reject(new Error('no room')));
    await asked.fetch();
    expect(keep.tell).toHaveBeenCalledOnce();
    vi.stubGlobal('fetch', () => Promise.resolve(new Response(JSON.stringify(list('there again')))));
    await asked.fetch();
    expect(asked.now?.says).toBe('there again');
  });
});
