import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { ordinal } from '../geometry/brands';
import { FrameCache, type Kept } from './cache';
import { FrameLoader } from './loader';
import { Projector } from './projector';
import { FrameSocket, type Line } from './socket';
import { Supplier, type Supply } from './supplier';
import { wanted } from './wants';

class Picture implements Kept {
  closed = false;
  constructor(
    readonly of: number,
    readonly width = 10,
    readonly height = 10,
  ) {}
  close(): void {
    this.closed = true;
  }
}

describe('the cache', () => {
  it('never holds more bytes than it may, and closes what it lets go', () => {
    const cache = new FrameCache<Picture>(1000); // a picture is 10 * 10 * 4 = 400 bytes
    const pictures = [0, 1, 2].map((i) => new Picture(i));
    for (const p of pictures) {
      cache.put(p.of, p);
      cache.trim();
    }
    expect(cache.bytes).toBe(800);
    expect(pictures.map((p) => p.closed)).toEqual([true, false, false]);
  });
  it('lets go of what was looked at longest ago', () => {
    const cache = new FrameCache<Picture>(800);
    cache.put(0, new Picture(0));
    cache.put(1, new Picture(1));
    cache.get(0);
    cache.put(2, new Picture(2));
    cache.trim();
    expect([0, 1, 2].map((i) => cache.has(i))).toEqual([true, false, true]);
  });
  it('counts a replaced picture once and gives everything back', () => {
    const cache = new FrameCache<Picture>(800);
    cache.put(0, new Picture(0));
    cache.put(0, new Picture(0));
    expect(cache.bytes).toBe(400);
    cache.clear();
    expect([cache.bytes, cache.size]).toEqual([0, 0]);
  });
  it('keeps one picture even when it alone is too large', () => {
    const cache = new FrameCache<Picture>(10);
    cache.put(0, new Picture(0));
    cache.trim();
    expect(cache.has(0)).toBe(true);
  });
});

describe('what is worth having', () => {
  it('is the frame itself, then its neighbours by distance', () => {
    const list = wanted({ at: 10, direction: 0, loop: null, frames: 100 });
    expect(list.slice(0, 5)).toEqual([10, 11, 9, 12, 8]);
    expect(list).toHaveLength(13);
  });
  it('stays inside the shot', () => {
    expect(wanted({ at: 0, direction: 0, loop: null, frames: 3 })).toEqual([0, 1, 2]);
  });
  it('runs ahead either way, and round a loop', () => {
    expect(wanted({ at: 5, direction: 1, loop: null, frames: 100 })).toEqual([5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17]);
    expect(wanted({ at: 5, direction: -1, loop: null, frames: 100 })).toEqual([5, 4, 3, 2, 1, 0]);
    expect(wanted({ at: 7, direction: 1, loop: { first: ordinal(5), last: ordinal(8) }, frames: 100 })).toEqual([7, 8, 5, 6]);
  });
});

describe('the loader', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());
  const still = (at: number): Parameters<FrameLoader<Picture>['want']>[0] => ({ at, direction: 0, loop: null, frames: 1000 });

  it('asks for the frame of a still playhead alone, then for two of its neighbours at once', async () => {
    const asked: number[] = [];
    const loader = new FrameLoader<Picture>((i) => (asked.push(i), i === 50 ? Promise.resolve(new Picture(i)) : new Promise(() => undefined)), () => undefined, 1e6);
    loader.want(still(50));
    expect(asked).toEqual([50]);
    await vi.advanceTimersByTimeAsync(0);
    expect(asked).toEqual([50, 51, 49]);
  });
  it('asks for neighbours only once the page has shown the frame itself, and never lets one of them delay it', async () => {
    const asked: number[] = [];
    let shown: () => void = () => undefined;
    const loader = new FrameLoader<Picture>((i) => (asked.push(i), i === 50 ? Promise.resolve(new Picture(i)) : new Promise(() => undefined)), () => undefined, 1e6, (work) => (shown = work));
    loader.want(still(50));
    await vi.advanceTimersByTimeAsync(0);
    expect(asked).toEqual([50]);
    shown();
    expect(asked).toEqual([50, 51, 49]);
    loader.want(still(52));
    expect(asked).toEqual([50, 51, 49, 52]);
  });
  it('does not let neighbours wait for a frame that is not made yet', async () => {
    const asked: number[] = [];
    const loader = new FrameLoader<Picture>((i) => (asked.push(i), i === 50 ? Promise.resolve(null) : new Promise(() => undefined)), () => undefined, 1e6);
    loader.want(still(50));
    await vi.advanceTimersByTimeAsync(0);
    expect(asked).toEqual([50, 51, 49]);
    loader.close();
  });
  it('asks for six at once in playing', () => {
    const asked: number[] = [];
    const loader = new FrameLoader<Picture>((i) => (asked.push(i), new Promise(() => undefined)), () => undefined, 1e6);
    loader.want({ at: 50, direction: 1, loop: null, frames: 1000 });
    expect(asked).toEqual([50, 51, 52, 53, 54, 55]);
  });

  it('throws away and closes an answer that nobody waits for any more', async () => {
    const late: Picture[] = [];
    const doors = new Map<number, (p: Picture) => void>();
    const ready: number[] = [];
    const loader = new FrameLoader<Picture>((i) => new Promise((open) => doors.set(i, open)), (i) => ready.push(i), 1e6);
    loader.want(still(50));
    loader.want(still(500));
    const stale = new Picture(50);
    late.push(stale);
    doors.get(50)!(stale);
    doors.get(500)!(new Picture(500));
    await vi.advanceTimersByTimeAsync(0);
    expect(ready).toEqual([500]);
    expect(stale.closed).toBe(true);
    expect(loader.get(50)).toBeUndefined();
  });

  it('takes the answer to the second asking, not the first, when a frame was left and wanted again', async () => {
    const doors: ((p: Picture) => void)[] = [];
    const loader = new FrameLoader<Picture>((i) => (i === 50 ? new Promise((open) => doors.push(open)) : Promise.resolve(null)), () => undefined, 1e6);
    loader.want(still(50));
    loader.want(still(500));
    loader.want(still(50));
    const [old, fresh] = [new Picture(50), new Picture(50)];
    doors[0](old);
    doors[1](fresh);
    await vi.advanceTimersByTimeAsync(0);
    expect(loader.get(50)).toBe(fresh);
    expect([old.closed, fresh.closed]).toEqual([true, false]);
  });

  it('asks again for a picture that is not made yet, at once when it hears that it is', async () => {
    let made = false;
    let asked = 0;
    const loader = new FrameLoader<Picture>(async (i) => (i === 7 && asked++, made ? new Picture(i) : null), () => undefined, 1e6);
    loader.want(still(7));
    await vi.advanceTimersByTimeAsync(260);
    expect(asked).toBe(2);
    made = true;
    loader.built(0, 20);
    await vi.advanceTimersByTimeAsync(1);
    expect(loader.get(7)?.of).toBe(7);
    loader.close();
  });
});

class Wire implements Line {
  binaryType: BinaryType = 'blob';
  onopen: (() => void) | null = null;
  onmessage: ((message: { data: ArrayBuffer }) => void) | null = null;
  onclose: (() => void) | null = null;
  readonly sent: string[] = [];
  closed = false;
  send(text: string): void {
    this.sent.push(text);
  }
  close(): void {
    this.closed = true;
  }
  say(index: number, ...picture: number[]): void {
    const data = new Uint8Array(4 + picture.length);
    new DataView(data.buffer).setUint32(0, index, true);
    data.set(picture, 4);
    this.onmessage?.({ data: data.buffer });
  }
}

describe('the socket', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());
  const setUp = () => {
    const wires: Wire[] = [];
    const socket = new FrameSocket(() => (wires.push(new Wire()), wires[wires.length - 1]));
    wires[0].onopen?.();
    return { socket, wires };
  };

  it('answers each frame with its own picture, in whatever order they come', async () => {
    const { socket, wires } = setUp();
    const both = Promise.all([socket.ask(7), socket.ask(300)]);
    expect(wires[0].sent).toEqual(['7', '300']);
    wires[0].say(300, 9, 8);
    wires[0].say(7, 1);
    const [seven, other] = await both;
    expect([await seven?.bytes(), await other?.bytes()]).toEqual([new Uint8Array([1]), new Uint8Array([9, 8])]);
  });
  it('asks once for a frame that is wanted twice', async () => {
    const { socket, wires } = setUp();
    const both = Promise.all([socket.ask(7), socket.ask(7)]);
    wires[0].say(7, 1);
    expect((await both).map((b) => b?.size)).toEqual([1, 1]);
    expect(wires[0].sent).toEqual(['7']);
  });
  it('says null for what is not made yet, and for everything when the line breaks; then dials again', async () => {
    const { socket, wires } = setUp();
    const first = socket.ask(1);
    wires[0].say(1);
    expect(await first).toBeNull();
    const second = socket.ask(2);
    wires[0].onclose?.();
    expect(await second).toBeNull();
    expect(socket.open).toBe(false);
    vi.advanceTimersByTime(1000);
    wires[1].onopen?.();
    expect(socket.open).toBe(true);
  });
  it('does not dial again where sockets are blocked, nor after it was closed', () => {
    const wires: Wire[] = [];
    const socket = new FrameSocket(() => (wires.push(new Wire()), wires[wires.length - 1]));
    wires[0].onclose?.();
    vi.advanceTimersByTime(5000);
    expect(wires).toHaveLength(1);
    socket.close();
    const { socket: other, wires: its } = setUp();
    other.close();
    its[0].onclose?.();
    vi.advanceTimersByTime(5000);
    expect(its).toHaveLength(1);
  });
});

describe('the supplier', () => {
  it('decodes what is wanted, and not what was dropped on the way', async () => {
    const decoded: number[] = [];
    const supplied: Supply<Picture>[] = [];
    const doors = new Map<number, (b: Blob | null) => void>();
    const supplier = new Supplier<Picture>(
      (i) => new Promise((open) => doors.set(i, open)),
      async (b) => (decoded.push(b.size), new Picture(b.size)),
      (one) => supplied.push(one),
    );
    const asked = [supplier.ask(1, 10), supplier.ask(2, 20), supplier.ask(3, 30)];
    supplier.drop(2);
    doors.get(10)!(new Blob(['a']));
    doors.get(20)!(new Blob(['bb']));
    doors.get(30)!(null);
    await Promise.all(asked);
    expect(decoded).toEqual([1]);
    expect(supplied.map((s) => [s.id, s.image?.of ?? null]).sort()).toEqual([[1, 1], [3, null]]);
  });
  it('closes a picture that was dropped while it was being decoded', async () => {
    const picture = new Picture(1);
    const supplied: unknown[] = [];
    let done: (p: Picture) => void = () => undefined;
    const supplier = new Supplier<Picture>(async () => new Blob(['a']), () => new Promise((open) => (done = open)), (one) => supplied.push(one));
    const asked = supplier.ask(1, 10);
    await Promise.resolve();
    await Promise.resolve();
    supplier.drop(1);
    done(picture);
    await asked;
    expect([picture.closed, supplied.length]).toEqual([true, 0]);
  });
});

describe('the projector', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());
  const setUp = () => {
    const here = new Set<number>([0]);
    const log: string[] = [];
    const projector = new Projector({ has: (i) => here.has(i), draw: (i) => void log.push(`draw ${i}`), veil: (i) => void log.push(`veil ${i}`) }, (i, veiled) => log.push(`${veiled ? 'veiled' : 'shown'} ${i}`));
    return { here, log, projector };
  };

  it('says a frame in the moment in which it draws it', () => {
    const { log, projector } = setUp();
    projector.seek(0);
    expect(log).toEqual(['draw 0', 'shown 0']);
  });
  it('shows the very first frame when it comes in late', () => {
    const { here, log, projector } = setUp();
    here.delete(0);
    projector.seek(0);
    here.add(0);
    projector.arrived(0);
    vi.advanceTimersByTime(1000);
    expect(log).toEqual(['draw 0', 'shown 0']);
    projector.reset();
    here.delete(0);
    projector.seek(0);
    here.add(0);
    projector.arrived(0);
    expect(log.slice(2)).toEqual(['draw 0', 'shown 0']);
  });
  it('keeps number and picture together while the next one is on its way', () => {
    const { here, log, projector } = setUp();
    projector.seek(0);
    projector.seek(9);
    expect(projector.shown).toBe(0);
    here.add(9);
    projector.arrived(9);
    expect(log.slice(2)).toEqual(['draw 9', 'shown 9']);
  });
  it('ignores a picture that came too late', () => {
    const { here, log, projector } = setUp();
    projector.seek(9);
    projector.seek(20);
    here.add(9);
    projector.arrived(9);
    expect(log).toEqual([]);
  });
  it('veils the picture rather than show another frame under this number', () => {
    const { here, log, projector } = setUp();
    projector.seek(0);
    projector.seek(9);
    vi.advanceTimersByTime(200);
    expect(log.slice(2)).toEqual(['veil 9', 'veiled 9']);
    here.add(9);
    projector.arrived(9);
    expect(log.slice(4)).toEqual(['draw 9', 'shown 9']);
  });
  it('keeps the frame before in playing when the due one is not there', () => {
    const { log, projector } = setUp();
    projector.seek(0);
    expect(projector.offer(1)).toBe(false);
    vi.advanceTimersByTime(1000);
    expect(projector.shown).toBe(0);
    expect(log).toHaveLength(2);
  });
});
