/** When a hand that draws should rest: after WORK_MS of drawing whose pauses are shorter than REST_MS. */

/** ms (McLean et al. 2001, Applied Ergonomics 32:225-237, from memory: short breaks every 20 minutes ease neck, shoulders and wrists). */
export const WORK_MS = 20 * 60_000;
/** ms; a pause this long was a rest (guess: the hand has been off the pen long enough to be somewhere else). */
export const REST_MS = 3 * 60_000;

export class Rest {
  /** It is time to rest. */
  due = $state(false);
  private begun: number | null = null;
  private last = 0;

  /** A stroke was drawn at `now` (ms of any clock). */
  stroke(now: number): void {
    if (this.begun === null || now - this.last >= REST_MS) {
      this.begun = now;
      this.due = false;
    }
    this.last = now;
    if (now - this.begun >= WORK_MS) this.due = true;
  }

  /** The hint was read: count anew. */
  over(): void {
    this.due = false;
    this.begun = null;
  }
}
