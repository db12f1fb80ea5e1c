import { lastsFor, positionAt, type Run } from './run';
import { sampleAt, type Sound } from './source';
import { Stretcher } from './stretch';

/** Makes the sound of a run, chunk after chunk. Both ways of doing it start at elapsed 0 and know no clock. */
export interface Feed {
  /** The next `count` samples of each channel at the sound's own rate; null when the run is over. */
  next(count: number): Float32Array[] | null;
}

/** Speed 1 forward gives back the very samples; otherwise pitch follows speed, or is kept by overlapping pieces. */
export function feedFor(sound: Sound, run: Run): Feed {
  return run.keepPitch && run.speed !== 1 ? new Stretcher(sound, run) : new Follower(sound, run);
}

/** Seconds of fade on either side of a loop's seam (guess: no click, no hole that one hears). */
const JOIN_S = 0.002;

/** Reads the sound at the playhead, sample by sample: slow is low, backward is backward. */
class Follower implements Feed {
  private done = 0;

  constructor(
    private readonly sound: Sound,
    private readonly run: Run,
  ) {}

  next(count: number): Float32Array[] | null {
    const { rate, offset } = this.sound;
    const over = lastsFor(this.run) * rate;
    if (this.done >= over) return null;
    const out = this.sound.channels.map(() => new Float32Array(count));
    for (let k = 0; k < count && this.done + k < over; k++) {
      const t = positionAt(this.run, (this.done + k) / rate);
      const fade = seamFade(this.run, t);
      const at = tidy((t - offset) * rate);
      for (let c = 0; c < out.length; c++) out[c][k] = sampleAt(this.sound.channels[c], at) * fade;
    }
    this.done += count;
    return out;
  }
}

/** Rounding of double arithmetic must not turn a whole sample into two halves. */
const tidy = (at: number): number => (Math.abs(at - Math.round(at)) < 1e-6 ? Math.round(at) : at);

/** 0..1: down to silence at both ends of a loop. */
export function seamFade(run: Run, t: number): number {
  if (!run.loop) return 1;
  return Math.min(1, (t - run.start) / (JOIN_S * run.speed), (run.stop - t) / (JOIN_S * run.speed));
}
