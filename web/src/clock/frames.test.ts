import { describe, expect, it } from 'vitest';
import { ordinal } from '../geometry/brands';
import { FrameClock, rateNumber, timeText } from './frames';

const steady = (frames: number, rate: number, first = 1): FrameClock =>
  new FrameClock(Array.from({ length: frames + 1 }, (_, i) => i / rate), first, rate);

describe('a frame clock', () => {
  it('holds a frame from its own edge up to the next one', () => {
    const clock = steady(240, 24);
    for (let i = 0; i < 240; i++) {
      expect(clock.frameAt(i / 24)).toBe(i);
      expect(clock.frameAt((i + 1) / 24 - 1e-9)).toBe(i);
    }
  });

  it('stays on the first and last frame outside', () => {
    const clock = steady(10, 24);
    expect(clock.frameAt(-3)).toBe(0);
    expect(clock.frameAt(99)).toBe(9);
  });

  it('is exact for 23.976 over an hour', () => {
    const rate = rateNumber('24000/1001');
    const clock = steady(86314, rate);
    for (const i of [0, 1, 23, 24, 1440, 86313]) expect(clock.frameAt(clock.start(ordinal(i)))).toBe(i);
  });

  it('follows a table of unequal frames', () => {
    const clock = new FrameClock([0, 0.1, 0.15, 0.4], 1001, 10); // by hand: frames of 100, 50 and 250 ms
    expect([0.05, 0.1, 0.149, 0.15, 0.39].map((t) => clock.frameAt(t))).toEqual([0, 1, 1, 2, 2]);
    expect(clock.position(0.275)).toBeCloseTo(2.5);
    expect(clock.time(1.5)).toBeCloseTo(0.125);
    expect(clock.rangeText({ first: 0, last: 2 })).toBe('1001 to 1003');
    expect(clock.fromShown(1002)).toBe(1);
  });

  it('refuses a table without a frame', () => {
    expect(() => new FrameClock([0], 1, 24)).toThrow('at least one frame');
  });
});

it('writes times with carry', () => {
  expect([0, 8, 59.9996, 61.5, -0.25].map(timeText)).toEqual(['0:00.000', '0:08.000', '1:00.000', '1:01.500', '-0:00.250']);
});
