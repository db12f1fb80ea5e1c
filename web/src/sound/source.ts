/** Decoded sound. channels[c][n] is the sample at offset + n / rate seconds from the first picture; -1..1 is full scale. */
export interface Sound {
  readonly channels: readonly Float32Array[];
  readonly rate: number;
  /** Seconds from the first picture to the first sample; negative: the sound starts earlier. */
  readonly offset: number;
}

export const soundLength = (sound: Sound): number => sound.channels[0]?.length ?? 0;

/** A sample between samples, straight line; silence outside. */
export function sampleAt(data: Float32Array, at: number): number {
  const i = Math.floor(at);
  const part = at - i;
  const a = i >= 0 && i < data.length ? data[i] : 0;
  if (part === 0) return a;
  const b = i + 1 >= 0 && i + 1 < data.length ? data[i + 1] : 0;
  return a + (b - a) * part;
}

/** Seconds of fade at a cut edge: shorter clicks, longer eats a stop's release (guess). */
const EDGE_S = 0.002;

/** The sound from `start` to `stop` seconds alone, its edges faded over EDGE_S so that they do not click. */
export function cutOut(sound: Sound, start: number, stop: number): Float32Array[] {
  const first = Math.round((start - sound.offset) * sound.rate);
  const count = Math.max(1, Math.round((stop - start) * sound.rate));
  const edge = Math.min(Math.floor(count / 2), Math.round(EDGE_S * sound.rate));
  return sound.channels.map((data) => {
    const piece = new Float32Array(count);
    for (let k = 0; k < count; k++) {
      const fade = edge === 0 ? 1 : Math.min(1, (k + 0.5) / edge, (count - k - 0.5) / edge);
      piece[k] = sampleAt(data, first + k) * fade;
    }
    return piece;
  });
}
