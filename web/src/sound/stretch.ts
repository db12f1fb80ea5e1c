import type { Feed } from './feed';
import { lastsFor, positionAt, type Run } from './run';
import type { Sound } from './source';

/**
 * Slower or faster at the same pitch: waveform-similarity overlap-add
 * (W. Verhelst and M. Roelands, ICASSP 1993, 'An overlap-add technique based on waveform similarity').
 *
 * Pieces of PIECE_S are laid half over each other. Each is taken near the place where the playhead is, at the lag where it goes
 * on best from the piece before; so the sound never strays from the picture by more than REACH_S, under half a frame at 24 fps.
 */

/** Two periods of a 67 Hz voice; the usual 20 to 30 ms of the paper. */
const PIECE_S = 0.03;
/** One period of a 125 Hz voice (guess: deeper voices join at half a period, still without a click). */
const REACH_S = 0.008;
/** Lags and samples skipped in the first, rough search. */
const COARSE = 4;

export class Stretcher implements Feed {
  private readonly half: number;
  private readonly reach: number;
  private readonly window: Float32Array;
  private readonly low: number;
  private readonly high: number;
  private tail: Float32Array[];
  private ready: Float32Array[];
  private pieces = 0;
  private made = 0;
  private previous: number | null = null;

  constructor(
    private readonly sound: Sound,
    private readonly run: Run,
  ) {
    this.half = Math.round((PIECE_S * sound.rate) / 2);
    this.reach = Math.round(REACH_S * sound.rate);
    this.window = hann(this.half * 2);
    this.low = Math.round((run.start - sound.offset) * sound.rate);
    this.high = Math.round((run.stop - sound.offset) * sound.rate);
    this.tail = sound.channels.map(() => new Float32Array(this.half));
    this.ready = sound.channels.map(() => new Float32Array(0));
  }

  next(count: number): Float32Array[] | null {
    const over = lastsFor(this.run) * this.sound.rate;
    if (this.made >= over) return null;
    while (this.ready[0].length < count) this.addPiece();
    const out = this.ready.map((data) => data.slice(0, count));
    this.ready = this.ready.map((data) => data.slice(count));
    for (const data of out) if (this.made + count > over) data.fill(0, Math.max(0, Math.floor(over - this.made)));
    this.made += count;
    return out;
  }

  /** Lays one more piece over the tail of the last; half a piece becomes ready. */
  private addPiece(): void {
    const { rate, offset } = this.sound;
    const nominal = Math.round((positionAt(this.run, (this.pieces * this.half) / rate) - offset) * rate);
    const at = this.previous === null ? nominal : nominal + this.bestLag(nominal, this.previous);
    this.ready = this.ready.map((data, c) => {
      const grown = new Float32Array(data.length + this.half);
      grown.set(data);
      for (let k = 0; k < this.half; k++) {
        const fadeIn = this.pieces === 0 ? 1 : this.window[k];
        grown[data.length + k] = this.tail[c][k] + this.read(c, at, k) * fadeIn;
        this.tail[c][k] = this.read(c, at, k + this.half) * this.window[k + this.half];
      }
      return grown;
    });
    this.previous = at + this.run.direction * this.half;
    this.pieces++;
  }

  /** Sample k of a piece that begins at `at` and runs in the run's direction; silence outside the run's stretch. */
  private read(channel: number, at: number, k: number): number {
    const i = at + this.run.direction * k;
    return i >= this.low && i < this.high ? (this.sound.channels[channel][i] ?? 0) : 0;
  }

  private bestLag(nominal: number, natural: number): number {
    if (Math.abs(natural - nominal) > this.half * 4) return 0; // the loop's seam: nothing to go on from
    const rough = this.search(nominal, natural, -this.reach, this.reach, COARSE);
    return this.search(nominal, natural, Math.max(-this.reach, rough - COARSE), Math.min(this.reach, rough + COARSE), 1);
  }

  private search(nominal: number, natural: number, from: number, to: number, step: number): number {
    let best = 0;
    let most = -Infinity;
    for (let lag = from; lag <= to; lag += step) {
      const alike = this.alike(nominal + lag, natural, step);
      if (alike > most || (alike === most && Math.abs(lag) < Math.abs(best))) {
        most = alike;
        best = lag;
      }
    }
    return best;
  }

  /** Normalised correlation over half a piece. */
  private alike(a: number, b: number, step: number): number {
    let dot = 0;
    let power = 1e-9;
    for (let k = 0; k < this.half; k += step) {
      const x = this.read(0, a, k);
      dot += x * this.read(0, b, k);
      power += x * x;
    }
    return dot / Math.sqrt(power);
  }
}

/** Periodic Hann window: two of them, half over each other, add up to 1. */
function hann(length: number): Float32Array {
  return Float32Array.from({ length }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / length));
}
