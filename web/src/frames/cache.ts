/** What the cache keeps: something with a size that gives its memory back when closed. */
export interface Kept {
  readonly width: number;
  readonly height: number;
  close(): void;
}

const BYTES_A_PIXEL = 4;

/**
 * Least recently used bitmaps go first; bounded by W * H * 4 bytes, because the browser's own counters do not see bitmaps.
 * Letting go is a call of its own: giving memory back takes half a millisecond a picture, which the picture being waited for need not wait for.
 */
export class FrameCache<T extends Kept> {
  private readonly entries = new Map<number, T>();
  private held = 0;

  constructor(private readonly mostBytes: number) {}

  get bytes(): number {
    return this.held;
  }

  get size(): number {
    return this.entries.size;
  }

  has(key: number): boolean {
    return this.entries.has(key);
  }

  get(key: number): T | undefined {
    const found = this.entries.get(key);
    if (found) {
      this.entries.delete(key);
      this.entries.set(key, found);
    }
    return found;
  }

  /** Looks without making it the most recent. */
  peek(key: number): T | undefined {
    return this.entries.get(key);
  }

  put(key: number, value: T): void {
    this.drop(key);
    this.entries.set(key, value);
    this.held += sizeOf(value);
  }

  /** Let go of what is too much; the newest one stays whatever its size. */
  trim(): void {
    for (const oldest of this.entries.keys()) {
      if (this.held <= this.mostBytes || this.entries.size === 1) break;
      this.drop(oldest);
    }
  }

  drop(key: number): void {
    const old = this.entries.get(key);
    if (!old) return;
    this.entries.delete(key);
    this.held -= sizeOf(old);
    old.close();
  }

  clear(): void {
    for (const key of [...this.entries.keys()]) this.drop(key);
  }
}

export const sizeOf = (image: Kept): number => image.width * image.height * BYTES_A_PIXEL;
