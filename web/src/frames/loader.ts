import { FrameCache, type Kept } from './cache';
import { wanted, type Motion } from './wants';

/** Fetches one picture; it must give up when the signal says so. Null: not built yet. */
export type Fetcher<T> = (index: number, signal: AbortSignal) => Promise<T | null>;

/** Frames in flight in playing: a quarter of a second at 24 fps. */
const AT_ONCE = 6;
/** Neighbours of a still playhead in flight: as many as there are processors to decode them on a small machine, so that the next key finds one free soon. */
const BESIDE = 2;
/** Wait before asking anew for a picture that is not built yet. */
const AGAIN_MS = 250;

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
  /** The frame that a still playhead waits for: until it is there and on screen, nothing else is fetched, so that nothing slows it down. */
  private urgent: number | null = null;
  private lastId = 0;
  private closed = false;

  constructor(
    private readonly fetcher: Fetcher<T>,
    private readonly onReady: (index: number) => void,
    mostBytes: number,
    /** Does some work once the page has shown what it was given. */
    private readonly afterShown: (work: () => void) => void = queueMicrotask,
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
    if (this.urgent === null || this.due(this.urgent)) this.pump();
    else this.afterShown(this.pump);
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

  private readonly pump = (): void => {
    const { urgent } = this;
    if (urgent !== null && !this.closed && this.due(urgent)) void this.fetch(urgent);
    const most = urgent === null ? AT_ONCE : BESIDE;
    for (const index of this.queue) {
      if (this.flights.size >= most || this.closed || (urgent !== null && this.flights.has(urgent))) return;
      if (this.due(index)) void this.fetch(index);
    }
  };

  /** Neither here nor on its way, and worth asking for now. */
  private due(index: number): boolean {
    return !this.flights.has(index) && !this.cache.has(index) && (this.late.get(index) ?? 0) <= Date.now();
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
      this.cache.trim();
    } else {
      this.tryLater(index);
    }
    if (image && index === this.urgent) this.afterShown(this.pump);
    else this.pump();
  }

  private tryLater(index: number): void {
    this.late.set(index, Date.now() + AGAIN_MS);
    setTimeout(() => {
      this.late.delete(index);
      if (!this.closed) this.pump();
    }, AGAIN_MS);
  }
}
