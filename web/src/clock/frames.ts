import { clamp, ordinal, range, seconds, type Ordinal, type Range, type Seconds, type Shown } from '../geometry/brands';

/**
 * Which picture is on screen when: frame i covers edges[i] <= t < edges[i + 1], in seconds from the first picture.
 * The table is made by the server from the movie's own time stamps, so variable rates are exact too.
 */
export class FrameClock {
  constructor(
    private readonly edges: readonly number[],
    readonly firstFrame: number,
    /** Nominal frames per second. */
    readonly rate: number,
  ) {
    if (edges.length < 2) throw new Error('a frame clock needs at least one frame');
  }

  get frames(): number {
    return this.edges.length - 1;
  }

  get duration(): Seconds {
    return seconds(this.edges[this.edges.length - 1]);
  }

  get last(): Ordinal {
    return ordinal(this.frames - 1);
  }

  start(i: Ordinal): Seconds {
    return seconds(this.edges[i]);
  }

  stop(i: Ordinal): Seconds {
    return seconds(this.edges[i + 1]);
  }

  /** The frame on screen at t; before the first it is the first, after the last the last. */
  frameAt(t: number): Ordinal {
    let low = 0;
    let high = this.frames - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.edges[middle] <= t) low = middle;
      else high = middle - 1;
    }
    return ordinal(low);
  }

  /** t as a fractional frame number: 3.5 is the middle of frame 3. Stays within 0..frames. */
  position(t: number): number {
    const i = this.frameAt(t);
    return i + clamp((t - this.edges[i]) / (this.edges[i + 1] - this.edges[i]), 0, 1);
  }

  /** The time of a fractional frame number. */
  time(position: number): Seconds {
    const i = clamp(Math.floor(position), 0, this.frames - 1);
    return seconds(this.edges[i] + (position - i) * (this.edges[i + 1] - this.edges[i]));
  }

  clampFrame(i: number): Ordinal {
    return ordinal(clamp(Math.round(i), 0, this.frames - 1));
  }

  clampRange(r: { first: number; last: number }): Range {
    return range(this.clampFrame(r.first), this.clampFrame(r.last));
  }

  shown(i: number): Shown {
    return (i + this.firstFrame) as Shown;
  }

  fromShown(n: number): Ordinal {
    return this.clampFrame(n - this.firstFrame);
  }

  /** '258 to 264', or '258' for one frame. */
  rangeText(r: { first: number; last: number }): string {
    return r.first === r.last ? `${this.shown(r.first)}` : `${this.shown(r.first)} to ${this.shown(r.last)}`;
  }
}

/** '24000/1001' as a number. */
export function rateNumber(text: string): number {
  const [above, below] = text.split('/').map(Number);
  return above / (below || 1);
}

/** 0:08.000, minutes and thousandths of a second. */
export function timeText(t: number): string {
  const sign = t < 0 ? '-' : '';
  const thousandths = Math.round(Math.abs(t) * 1000);
  const minutes = Math.floor(thousandths / 60000);
  return `${sign}${minutes}:${((thousandths % 60000) / 1000).toFixed(3).padStart(6, '0')}`;
}
