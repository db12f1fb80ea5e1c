import type { Sound } from './source';

/**
 * Listen closer: lifts what is quiet (breaths, smacks, the end of a word) and leaves the loud alone.
 *
 * Block by block the greatest sample is the level. Under `liftCeiling` it is lifted towards it, never past it and never by more than
 * MOST_LIFT_DB; from there up nothing is changed. Whatever comes out stays under HARD_CEILING_DB and under the original's own peak.
 * The gain of a sample is an average of least gains around it, so it moves smoothly and is down before a loud sound begins.
 */

/** Lifts a breath at -48 dBFS to the level of soft speech (guess). */
const MOST_LIFT_DB = 24;
/** dB below full scale that nothing passes. A caution for ears, no accredited hearing-safety test. */
export const HARD_CEILING_DB = -3;
/** Below this it is the noise of the recording, not a breath (guess): lifted less and less. */
const FLOOR_DB = -72;
const BLOCK_S = 0.001;
/** Half-width of the smoothing; faster pumps, slower lifts the first consonant after a breath too little (guess). */
const GLIDE_S = 0.012;

export const toGain = (db: number): number => 10 ** (db / 20);
export const toDb = (gain: number): number => 20 * Math.log10(Math.max(gain, 1e-10));

/** Gain that a level may get, both in linear units. */
export function liftFor(level: number, liftCeiling: number): number {
  if (level >= liftCeiling || level <= 0) return 1;
  const db = toDb(level);
  const trust = Math.min(1, Math.max(0, (db - (FLOOR_DB - 12)) / 12)); // fades out over 12 dB below the floor
  const most = toGain(MOST_LIFT_DB * trust);
  return Math.min(most, liftCeiling / level);
}

export function listenCloser(sound: Sound, liftCeilingDb: number): Sound {
  const size = Math.max(1, Math.round(BLOCK_S * sound.rate));
  const levels = blockPeaks(sound.channels, size);
  const peak = levels.reduce((a, b) => Math.max(a, b), 0);
  const lift = Math.min(toGain(liftCeilingDb), toGain(HARD_CEILING_DB), peak);
  const hard = toGain(HARD_CEILING_DB);
  const allowed = levels.map((level) => (level > hard ? hard / level : liftFor(level, lift)));
  const gains = smoothed(allowed, Math.round(GLIDE_S / BLOCK_S));
  return { ...sound, channels: sound.channels.map((data) => applyGains(data, gains, size)) };
}

/** Greatest sample of all channels in each block. */
function blockPeaks(channels: readonly Float32Array[], size: number): Float64Array {
  const blocks = Math.ceil((channels[0]?.length ?? 0) / size);
  const peaks = new Float64Array(blocks);
  for (const data of channels) {
    for (let i = 0; i < data.length; i++) {
      const b = (i / size) | 0;
      const x = Math.abs(data[i]);
      if (x > peaks[b]) peaks[b] = x;
    }
  }
  return peaks;
}

/** Least gain within reach + 1 blocks, then the mean within reach: nowhere above `gains`, not even between two blocks. */
export function smoothed(gains: Float64Array, reach: number): Float64Array {
  const least = gains.map((_, i) => {
    let m = Infinity;
    for (let k = Math.max(0, i - reach - 1); k <= Math.min(gains.length - 1, i + reach + 1); k++) m = Math.min(m, gains[k]);
    return m;
  });
  return least.map((_, i) => {
    let sum = 0;
    for (let k = i - reach; k <= i + reach; k++) sum += least[Math.min(gains.length - 1, Math.max(0, k))];
    return sum / (2 * reach + 1);
  });
}

function applyGains(data: Float32Array, gains: Float64Array, size: number): Float32Array<ArrayBuffer> {
  const out = new Float32Array(data.length);
  for (let i = 0; i < data.length; i++) {
    const place = Math.min(gains.length - 1, Math.max(0, (i + 0.5) / size - 0.5));
    const b = Math.floor(place);
    const next = Math.min(gains.length - 1, b + 1);
    out[i] = data[i] * (gains[b] + (gains[next] - gains[b]) * (place - b));
  }
  return out;
}
