import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { FrameTable } from '../api/types';
import type { Order } from '../frames/supplier';
import { loadSound } from '../sound/load';
import { Transport } from './transport.svelte';

vi.mock('../sound/load', () => ({ loadSound: vi.fn(() => Promise.resolve(null)) }));

const FRAMES = 200;
const table = {
  take: 't', frames: FRAMES, first_frame: 1, rate: '24/1', width: 10, height: 10, url: '/frame/t/{index}.jpg', sound: null,
  edges_s: Array.from({ length: FRAMES + 1 }, (_, i) => i / 24), ready: [{ first: 0, last: FRAMES - 1 }],
} as unknown as FrameTable; // prettier-ignore

/** The worker that fetches pictures: they come when the test says so. */
class Aside {
  static last: Aside;
  onmessage: ((message: { data: unknown }) => void) | null = null;
  readonly waiting = new Map<number, number>();
  constructor() {
    Aside.last = this;
  }
  postMessage(order: Order): void {
    if (order.what === 'get') this.waiting.set(order.id, order.index);
    if (order.what === 'drop') this.waiting.delete(order.id);
  }
  deliver(): void {
    for (const [id] of [...this.waiting]) {
      this.waiting.delete(id);
      this.onmessage?.({ data: { id, image: { width: 10, height: 10, close: () => undefined } } });
    }
  }
}

let transport: Transport;
beforeEach(async () => {
  vi.useFakeTimers();
  vi.stubGlobal('Worker', Aside);
  vi.stubGlobal('document', { baseURI: 'http://here/' });
  vi.stubGlobal('requestAnimationFrame', (work: () => void) => setTimeout(work, 16));
  vi.stubGlobal('cancelAnimationFrame', (id: number) => clearTimeout(id));
  transport = new Transport();
  await transport.open(table);
});
afterEach(() => {
  transport.close();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

async function pass(): Promise<void> {
  for (let k = 0; k < 12; k++) {
    Aside.last.deliver();
    await vi.advanceTimersByTimeAsync(40);
  }
}

describe('a picture that was asked for', () => {
  it('comes by itself, though the page is told to stop meanwhile and another screen goes away', async () => {
    const drawn: number[] = [];
    const screen = { has: (i: number) => transport.picture(i) !== undefined, draw: (i: number) => void drawn.push(i), veil: () => undefined };
    const leave = transport.attach({ ...screen, draw: () => undefined });
    await pass();
    transport.attach(screen);
    transport.go(107);
    transport.stop(); // first look, as it is left
    leave();
    await pass();
    expect(drawn.at(-1)).toBe(107);
    expect([transport.playhead, transport.veiled]).toEqual([107, false]);
  });
});

describe('where the playhead goes', () => {
  it('is known at once, and before there is a movie too', async () => {
    transport.go(107);
    expect([transport.target, transport.playhead]).toEqual([107, 0]);
    transport.close();
    transport.go(30);
    await transport.open(table);
    await pass();
    expect([transport.target, transport.playhead]).toEqual([30, 30]);
  });
});

describe('a sound that comes late', () => {
  it('is not heard with another movie, which is mute', async () => {
    let come: (sound: never) => void = () => undefined;
    vi.mocked(loadSound).mockReturnValueOnce(new Promise((done) => (come = done)));
    const first = transport.open({ ...table, sound: { url: '/sound/t', offset_s: 0 } } as FrameTable);
    await transport.open(table);
    come({ rate: 48_000, channels: [] } as never);
    await first;
    expect(transport.hasSound).toBe(false);
  });
});
