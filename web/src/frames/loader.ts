import { FrameCache, type Kept } from './cache';
import { wanted, type Motion } from './wants';

/** Fetches one picture; it must give up when the signal says so. Null: not built yet. */
export type Fetcher<T> = (index: number, signal: AbortSignal) => Promise<T | null>;

const AT_ONCE = 6;
/** Requests in flight: what a browser opens to one host. */
const AGAIN_MS = 250;
/** Wait before asking anew for a picture that is not built yet. */

interface Flight {
  readonly id: number;
  readonly stop: AbortController;
}

/** Keeps the frames around the playhead at hand. Answers nobody waits for any more are thrown away. */
export class FrameLoader<T extends Kept> {
  readonly cache: FrameCache<T>;
  private readonly flights = new Map<number, Flight>();
  private readonly late = new Map<number, number>();
  private queue: number[] = [];
  /** The frame that a still playhead waits for: until it is there, nothing else is fetched, so that nothing slows it down. */
  private urgent: number | null = null;
  private lastId = 0;
  private closed = false;

  constructor(
    private readonly fetcher: Fetcher<T>,
    private readonly onReady: (index: number) => void,
    mostBytes: number,
  ) {
    this.cache = new FrameCache<T>(mostBytes);
  }

  /** The picture of exactly this frame, or nothing. */
  get(index: number): T | undefined {
    return this.cache.get(index);
  }

  want(motion: Motion): void {
    const list = wanted(motion);
    const keep = new Set(list);
    for (const [index, flight] of this.flights) {
      if (!keep.has(index)) {
        flight.stop.abort();
        this.flights.delete(index);
      }
    }
    for (let k = list.length - 1; k >= 0; k--) this.cache.get(list[k]);
    this.queue = list.filter((i) => !this.cache.has(i));
    this.urgent = motion.direction === 0 ? motion.at : null;
    this.pump();
  }

  /** These frames were just built: no need to wait any longer. */
  built(first: number, last: number): void {
    for (const index of [...this.late.keys()]) if (index >= first && index <= last) this.late.delete(index);
    this.pump();
  }

  close(): void {
    this.closed = true;
    for (const flight of this.flights.values()) flight.stop.abort();
    this.flights.clear();
    this.cache.clear();
  }

  private pump(): void {
    const now = Date.now();
    for (const index of this.queue) {
      if (this.flights.size >= AT_ONCE || this.closed || (this.urgent !== null && this.flights.has(this.urgent))) return;
      if (this.flights.has(index) || this.cache.has(index) || (this.late.get(index) ?? 0) > now) continue;
      void this.fetch(index);
    }
  }

  private async fetch(index: number): Promise<void> {
    const flight: Flight = { id: ++this.lastId, stop: new AbortController() };
    this.flights.set(index, flight);
    const image = await this.fetcher(index, flight.stop.signal).catch(() => null);
    if (this.closed || this.flights.get(index)?.id !== flight.id) {
      image?.close();
      return;
    }
    this.flights.delete(index);
    if (image) {
      this.cache.put(index, image);
      this.onReady(index);
    } else {
      this.tryLater(index);
    }
    this.pump();
  }

  private tryLater(index: number): void {
    this.late.set(index, Date.now() + AGAIN_MS);
    setTimeout(() => {
      this.late.delete(index);
      if (!this.closed) this.pump();
    }, AGAIN_MS);
  }
}
