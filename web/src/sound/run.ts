/**
 * How the playhead moves once it is let go. Everything that must agree on where we are - picture, sound, sheet - asks positionAt.
 *
 * from     seconds from the first picture
 * speed    0.25 .. 2, times the film's own
 * direction 1 forward, -1 backward
 * start, stop the stretch it stays in: start <= t < stop
 * loop     begin again at the other end; else it ends there
 */
export interface Run {
  readonly from: number;
  readonly speed: number;
  readonly direction: 1 | -1;
  readonly start: number;
  readonly stop: number;
  readonly loop: boolean;
  readonly keepPitch: boolean;
}

export const SPEEDS = [0.25, 1 / 3, 0.5, 0.75, 1, 1.25, 1.5, 2] as const;

/** The next speed of SPEEDS, faster (1) or slower (-1). */
export function nextSpeed(speed: number, way: 1 | -1): number {
  const near = SPEEDS.reduce((best, s, i) => (Math.abs(s - speed) < Math.abs(SPEEDS[best] - speed) ? i : best), 0);
  return SPEEDS[Math.min(SPEEDS.length - 1, Math.max(0, near + way))];
}

/** Seconds from the first picture, `elapsed` seconds after the start; before the start it is `from`. */
export function positionAt(run: Run, elapsed: number): number {
  const t = run.from + run.direction * run.speed * Math.max(0, elapsed);
  if (t >= run.start && t < run.stop) return t;
  if (!run.loop) return Math.min(Math.max(t, run.start), run.stop);
  const length = run.stop - run.start;
  return run.start + ((((t - run.start) % length) + length) % length);
}

/** Seconds after the start when a run without loop is over; Infinity with loop. */
export function lastsFor(run: Run): number {
  if (run.loop) return Infinity;
  const left = run.direction > 0 ? run.stop - run.from : run.from - run.start;
  return Math.max(0, left / run.speed);
}
