import { describe, expect, it } from 'vitest';
import { onScreen } from './brands';
import { arrowHead, distanceToPath, pathLength } from './paths';
import { panBy, pictureBox, pictureToScreen, screenToPicture, WHOLE, zoomAt, zoomStep, type Stage } from './view';

const STAGE: Stage = { width: 800, height: 600, aspect: 16 / 9 };

describe('paths', () => {
  it('adds up the parts of an L: 100 down, 100 across is 200', () => {
    expect(pathLength([{ x: 0, y: 0 }, { x: 0, y: 100 }, { x: 100, y: 100 }])).toBe(200);
  });
  it('measures the distance from the nearest part', () => {
    const l = [{ x: 0, y: 0 }, { x: 0, y: 10 }, { x: 10, y: 10 }];
    expect(distanceToPath({ x: 3, y: 5 }, l)).toBe(3);
    expect(distanceToPath({ x: 13, y: 14 }, l)).toBe(5); // beyond the end: 3-4-5
    expect(distanceToPath({ x: 3, y: 4 }, [{ x: 0, y: 0 }])).toBe(5);
    expect(distanceToPath({ x: 0, y: 0 }, [])).toBe(Infinity);
  });
  it('puts both barbs of an arrow behind its tip, at the same length', () => {
    const [a, b] = arrowHead({ x: 0, y: 0 }, { x: 100, y: 0 }, 10);
    expect(Math.hypot(100 - a.x, a.y)).toBeCloseTo(10);
    expect(a.x).toBeLessThan(100);
    expect(a.y).toBeCloseTo(-b.y);
  });
});

describe('the picture on its stage', () => {
  it('fits whole, in the middle', () => {
    expect(pictureBox(WHOLE, STAGE)).toEqual({ left: 0, top: 75, width: 800, height: 450 });
  });
  it('goes there and back for every zoom and pan', () => {
    const view = panBy(zoomStep(WHOLE, STAGE, 5), STAGE, 37, -51);
    const box = pictureBox(view, STAGE);
    const p = screenToPicture(onScreen(123, 456), box);
    expect(pictureToScreen(p, box).x).toBeCloseTo(123);
    expect(pictureToScreen(p, box).y).toBeCloseTo(456);
  });
  it('zooms without losing the place under the pointer', () => {
    const at = onScreen(500, 300);
    const before = screenToPicture(at, pictureBox(WHOLE, STAGE));
    const after = screenToPicture(at, pictureBox(zoomAt(WHOLE, STAGE, at, 3), STAGE));
    expect(after.x).toBeCloseTo(before.x);
    expect(after.y).toBeCloseTo(before.y);
  });
  it('lies mirrored in the same box, its left edge on the right', () => {
    const mirrored = pictureBox(WHOLE, { ...STAGE, mirrored: true });
    expect(mirrored).toEqual({ left: 0, top: 75, width: 800, height: 450, mirrored: true });
    expect(pictureToScreen({ x: 0.25, y: 0.5 }, mirrored)).toEqual({ x: 600, y: 300 });
    expect(screenToPicture(onScreen(600, 300), mirrored)).toEqual({ x: 0.25, y: 0.5 });
  });
  it('goes there and back mirrored, and moves with the hand that drags it', () => {
    const stage = { ...STAGE, mirrored: true };
    const view = zoomAt(WHOLE, stage, onScreen(500, 300), 3);
    const held = screenToPicture(onScreen(500, 300), pictureBox(WHOLE, stage));
    expect(pictureToScreen(held, pictureBox(view, stage)).x).toBeCloseTo(500);
    expect(pictureToScreen(held, pictureBox(panBy(view, stage, 37, -5), stage)).x).toBeCloseTo(537);
  });
  it('comes back whole when zoomed out all the way, and never zooms past either end', () => {
    const far = zoomStep(panBy(zoomStep(WHOLE, STAGE, 4), STAGE, 90, 9), STAGE, -40);
    expect(far).toEqual(WHOLE);
    expect(zoomStep(WHOLE, STAGE, 400).zoom).toBe(16);
  });
});
