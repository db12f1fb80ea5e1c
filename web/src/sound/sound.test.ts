import { describe, expect, it, vi } from 'vitest';
import { HARD_CEILING_DB, liftFor, listenCloser, toDb, toGain } from './closer';
import { feedFor } from './feed';
import { Player } from './player';
import { lastsFor, nextSpeed, positionAt, type Run } from './run';
import { cutOut, type Sound } from './source';

const RATE = 48000;
const sine = (hz: number, seconds: number, level = 0.3): Float32Array => Float32Array.from({ length: Math.round(seconds * RATE) }, (_, n) => level * Math.sin((2 * Math.PI * hz * n) / RATE));
const mono = (data: Float32Array, offset = 0): Sound => ({ channels: [data], rate: RATE, offset });
const RUN: Run = { from: 0, speed: 1, direction: 1, start: 0, stop: 2, loop: false, keepPitch: false };

function all(sound: Sound, run: Run, seconds: number): Float32Array {
  const feed = feedFor(sound, run);
  const out: number[] = [];
  while (out.length < seconds * RATE) {
    const piece = feed.next(4800);
    if (!piece) break;
    out.push(...piece[0]);
  }
  return Float32Array.from(out.slice(0, Math.round(seconds * RATE)));
}

/** Hz of a tone by its rising zero crossings. */
function pitch(data: Float32Array): number {
  const ups: number[] = [];
  for (let i = 1; i < data.length; i++) if (data[i - 1] < 0 && data[i] >= 0) ups.push(i - 1 + data[i - 1] / (data[i - 1] - data[i]));
  return ((ups.length - 1) * RATE) / (ups[ups.length - 1] - ups[0]);
}
const peak = (data: Float32Array): number => data.reduce((m, x) => Math.max(m, Math.abs(x)), 0);

describe('a run', () => {
  it('moves at its speed, either way', () => {
    expect(positionAt({ ...RUN, speed: 0.5 }, 1)).toBe(0.5);
    expect(positionAt({ ...RUN, from: 1.5, direction: -1, speed: 2 }, 0.5)).toBe(0.5);
    expect(positionAt(RUN, -1)).toBe(0);
  });
  it('ends at its ends', () => {
    expect(positionAt(RUN, 9)).toBe(2);
    expect(lastsFor({ ...RUN, speed: 0.25 })).toBe(8);
    expect(lastsFor({ ...RUN, from: 0.5, direction: -1 })).toBe(0.5);
  });
  it('goes round a loop both ways, and never leaves it', () => {
    const loop: Run = { ...RUN, from: 1, start: 0.5, stop: 1.5, loop: true };
    expect(positionAt(loop, 0.6)).toBeCloseTo(0.6);
    expect(positionAt({ ...loop, direction: -1 }, 0.6)).toBeCloseTo(1.4);
    for (let e = 0; e < 50; e += 0.013) {
      const t = positionAt({ ...loop, speed: 2 }, e);
      expect(t >= 0.5 && t < 1.5).toBe(true);
    }
  });
  it('knows quarter to double speed', () => {
    expect(nextSpeed(1, -1)).toBe(0.75);
    expect(nextSpeed(0.25, -1)).toBe(0.25);
    expect(nextSpeed(2, 1)).toBe(2);
  });
});

describe('sound of a run', () => {
  it('is the very samples at speed 1, wherever the sound begins', () => {
    const data = sine(330, 2);
    const out = all(mono(data, -0.25), { ...RUN, from: 0.5 }, 1);
    expect(out.every((x, n) => x === data[n + 0.75 * RATE])).toBe(true);
  });
  it('is the samples backward when run back', () => {
    const data = sine(330, 2);
    const out = all(mono(data), { ...RUN, from: 1, direction: -1 }, 0.5);
    expect(out.slice(0, 1000).every((x, n) => x === data[RATE - n])).toBe(true);
  });
  it('drops an octave at half speed when pitch is not kept', () => {
    expect(pitch(all(mono(sine(440, 2)), { ...RUN, speed: 0.5 }, 2))).toBeCloseTo(220, 0);
  });
  it('is over when the run is over', () => {
    const feed = feedFor(mono(sine(440, 2)), { ...RUN, stop: 0.2 });
    expect([feed.next(4800), feed.next(4800), feed.next(4800)].map((x) => x !== null)).toEqual([true, true, false]);
  });
  it('fades to nothing at the seam of a loop', () => {
    const out = all(mono(new Float32Array(RATE * 2).fill(0.5)), { ...RUN, start: 0.5, from: 0.5, stop: 1, loop: true }, 2);
    expect(Math.abs(out[RATE * 0.5])).toBeLessThan(0.01);
    expect(out[RATE * 0.25]).toBe(0.5);
  });
  for (const speed of [0.25, 0.5, 0.75, 1.5, 2]) {
    for (const direction of [1, -1] as const) {
      it(`keeps the pitch at ${speed} ${direction > 0 ? 'forward' : 'backward'}, and its level`, () => {
        const run: Run = { ...RUN, speed, direction, from: direction > 0 ? 0 : 1.999, keepPitch: true };
        const out = all(mono(sine(220, 2)), run, 0.8).slice(4800);
        expect(Math.abs(1200 * Math.log2(pitch(out) / 220))).toBeLessThan(5); // cents; a trained ear hears five
        expect(peak(out)).toBeGreaterThan(0.25);
        expect(peak(out)).toBeLessThan(0.34);
      });
    }
  }
  it('keeps a click within half a frame of where the picture has it', () => {
    const data = new Float32Array(RATE * 2);
    data.fill(0.9, RATE, RATE + 24);
    const out = all(mono(data), { ...RUN, speed: 0.5, keepPitch: true }, 3);
    const at = out.findIndex((x) => Math.abs(x) > 0.3) / RATE;
    expect(Math.abs(at - 2)).toBeLessThan(1 / 48 / 0.5);
  });
});

describe('the sound of one frame', () => {
  it('is exactly as long as the frame, its edges faded, its middle untouched', () => {
    const data = new Float32Array(RATE).fill(0.5);
    const [piece] = cutOut(mono(data), 10 / 24, 11 / 24);
    expect(piece.length).toBe(2000);
    expect(Math.abs(piece[0])).toBeLessThan(0.01);
    expect(Math.abs(piece[1999])).toBeLessThan(0.01);
    expect(piece.slice(96, 1904).every((x) => x === 0.5)).toBe(true);
  });
  it('is silence where the sound has not begun', () => {
    expect(peak(cutOut(mono(new Float32Array(100).fill(1), 5), 0, 0.04)[0])).toBe(0);
  });
});

describe('listen closer', () => {
  const join = (...parts: Float32Array[]): Float32Array => Float32Array.from(parts.flatMap((p) => [...p]));
  const level = (data: Float32Array, from: number, to: number): number => toDb(peak(data.slice(from * RATE, to * RATE)));
  const scene = join(sine(200, 1, 0.5), sine(900, 1, toGain(-50)), sine(200, 1, 0.5)); // voice, breath, voice
  const [out] = listenCloser(mono(scene), -12).channels;

  it('lifts a breath at -50 dBFS by more than 20 dB', () => {
    expect(level(out, 1.2, 1.8)).toBeGreaterThan(-30);
  });
  it('leaves the loud alone, sample for sample', () => {
    for (const n of [0.1, 0.5, 0.9, 2.1, 2.5, 2.9].map((t) => Math.round(t * RATE))) expect(out[n]).toBeCloseTo(scene[n], 6);
  });
  it('never passes the ceiling, nor the peak that the original had', () => {
    expect(peak(out)).toBeLessThanOrEqual(0.5 + 1e-7);
    const hot = listenCloser(mono(join(sine(200, 0.5, 1), sine(300, 0.5, 0.01), sine(200, 0.5, 1))), -12).channels[0];
    expect(toDb(peak(hot))).toBeLessThanOrEqual(HARD_CEILING_DB + 1e-4);
  });
  it('lifts nothing past the lifting ceiling', () => {
    expect(level(out, 1.05, 1.95)).toBeLessThanOrEqual(-12);
    for (const db of [-80, -60, -40, -20, -13]) expect(toGain(db) * liftFor(toGain(db), toGain(-12))).toBeLessThanOrEqual(toGain(-12) + 1e-9);
  });
  it('is down again before the loud begins: no sample of the onset is louder than it was', () => {
    for (let n = 2 * RATE; n < 2.02 * RATE; n++) expect(Math.abs(out[n])).toBeLessThanOrEqual(Math.max(Math.abs(scene[n]), toGain(-12)) + 1e-6);
  });
  it('holds for rough material too: random bursts never pass either ceiling', () => {
    let seed = 7;
    const random = (): number => ((seed = (seed * 16807) % 2147483647) / 2147483647) * 2 - 1;
    const rough = Float32Array.from({ length: RATE }, (_, n) => random() * (n % 4800 < 300 ? 1 : 0.003));
    const lifted = listenCloser(mono(rough), -12).channels[0];
    expect(peak(lifted)).toBeLessThanOrEqual(toGain(HARD_CEILING_DB) + 1e-6);
    lifted.forEach((x, n) => {
      if (Math.abs(x) > Math.abs(rough[n]) + 1e-9 && Math.abs(x) > toGain(-12) + 1e-6) throw new Error(`sample ${n} was lifted past the ceiling`);
    });
  });
  it('keeps digital silence silent', () => {
    expect(peak(listenCloser(mono(new Float32Array(RATE)), -12).channels[0])).toBe(0);
  });
});

describe('a run on a busy machine', () => {
  it('begins with its first sample, however long it takes to make it', async () => {
    const started: { when: number; data: Float32Array }[] = [];
    /** 80 ms pass with each buffer that is made. */
    class Busy {
      currentTime = 5;
      readonly state = 'running';
      readonly destination = {};
      resume = (): Promise<void> => Promise.resolve();
      createGain = () => ({ connect: () => undefined, disconnect: () => undefined, gain: { value: 1, setValueAtTime: () => undefined, linearRampToValueAtTime: () => undefined, cancelScheduledValues: () => undefined } });
      createBuffer = () => ({ data: new Float32Array() as Float32Array, copyToChannel(data: Float32Array) { this.data = data; } });
      createBufferSource() {
        this.currentTime += 0.08;
        const node = { buffer: { data: new Float32Array() }, connect: () => undefined, start: (when: number) => void started.push({ when, data: node.buffer.data }) };
        return node;
      }
    }
    vi.stubGlobal('AudioContext', Busy);
    const rising = Float32Array.from({ length: 2 * RATE }, (_, n) => n / RATE);
    const player = new Player();
    player.setSound(mono(rising));
    await player.start(RUN);
    player.stop();
    vi.unstubAllGlobals();
    expect(started[0].data[0]).toBe(0);
    for (const [k, { when, data }] of started.entries()) {
      expect(when).toBeGreaterThan(5.08);
      if (k) expect(data[0]).toBeCloseTo(when - started[0].when, 4); // each where it belongs
    }
    expect(started.length).toBeGreaterThan(3);
  });
});
