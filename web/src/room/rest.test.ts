import { describe, expect, it } from 'vitest';
import { Rest, REST_MS, WORK_MS } from './rest.svelte';

function drawn(rest: Rest, from: number, to: number, every: number): void {
  for (let t = from; t <= to; t += every) rest.stroke(t);
}

describe('a rest for the wrist', () => {
  it('is due after twenty minutes of drawing, and not before', () => {
    const rest = new Rest();
    drawn(rest, 0, WORK_MS - 1, 60_000);
    expect(rest.due).toBe(false);
    rest.stroke(WORK_MS);
    expect(rest.due).toBe(true);
  });
  it('is not due when the hand has rested in between', () => {
    const rest = new Rest();
    drawn(rest, 0, WORK_MS / 2, 60_000);
    drawn(rest, WORK_MS / 2 + REST_MS, WORK_MS + REST_MS, 60_000);
    expect(rest.due).toBe(false);
  });
  it('counts anew once it was read, and by itself after a pause', () => {
    const rest = new Rest();
    drawn(rest, 0, WORK_MS, 60_000);
    rest.over();
    expect(rest.due).toBe(false);
    drawn(rest, WORK_MS + 1, 2 * WORK_MS + 1, 60_000);
    expect(rest.due).toBe(true);
    rest.stroke(2 * WORK_MS + 1 + REST_MS);
    expect(rest.due).toBe(false);
  });
});
