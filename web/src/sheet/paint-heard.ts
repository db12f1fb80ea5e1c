import type { SheetStretch } from '../api/types';
import { colourOf, CURVES, PX, STRETCHES } from './marks';
import { lanesOf, type LaneCurve } from './model';
import { between, fitText, font, paintLanes, paintMark, writeDown, type Painter, type Scene, type Strip } from './painting';
import { yOf } from './rows';

/** px of height below which a label is left out. */
const READABLE = 9;
/** px of height from which on a shake's rate is written. */
const SHAKE_NAMED = 70;
/** px to each side of a shaking voice's line. */
const ZIGZAG = 3;
/** Full scale of the packed wave. */
const FULL = 127;
/** A wedge's px for a point on paper: it must be seen beside a moving wave. */
const WEDGE = 1.9;

/** The wave, and a wedge where the voice leans. */
export const paintWave: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, 'sound'), column, (_, lane, strip) => {
    for (const curve of lane.curves) swing(scene, curve, strip);
    for (const lean of lane.stretches) wedge(scene, lean, strip);
  });

/** One closed shape down the right edge and up the left; no more points than there are pixels. */
function swing(scene: Scene, wave: LaneCurve, strip: Strip): void {
  const { on, rows } = scene;
  const middle = strip.x + strip.width / 2;
  const half = (strip.width / 2 - 3) / FULL;
  const step = Math.max(1, Math.floor(wave.slices / rows.rowHeight));
  const from = scene.first * wave.slices;
  const until = Math.min((scene.last + 1) * wave.slices, wave.values.length / 2);
  const edge: { y: number; low: number; high: number }[] = [];
  for (let k = from; k < until; k += step) {
    const [low, high] = loudest(wave.values, k * 2, Math.min(step, until - k));
    edge.push({ y: yOf(rows, (k + step / 2) / wave.slices), low: middle + low * half - 0.3, high: middle + high * half + 0.3 });
  }
  on.fillStyle = colourOf(scene.colours, CURVES[wave.id].colour);
  on.beginPath();
  for (const { y, high } of edge) on.lineTo(high, y);
  for (const { y, low } of edge.reverse()) on.lineTo(low, y);
  on.fill();
}

/** The strongest leans are large and carry their rank. */
function wedge(scene: Scene, s: SheetStretch, strip: Strip): void {
  const { on } = scene;
  const size = STRETCHES[s.kind].size! * WEDGE;
  const y = yOf(scene.rows, s.start);
  if (y < -size || y > scene.rows.height + size) return;
  const right = strip.x + strip.width - 2;
  paintMark(scene, s, { left: right - size, right, top: y - size / 1.6, bottom: y + size / 1.6 });
  if (s.kind !== 'lean' || scene.rows.rowHeight < 5) return;
  on.font = font(11, 600);
  on.textAlign = 'right';
  on.textBaseline = 'bottom';
  on.fillText(s.text, right, y - size / 1.6);
  on.textAlign = 'left';
}

function loudest(data: LaneCurve['values'], from: number, slices: number): [number, number] {
  let low = 0;
  let high = 0;
  for (let s = 0; s < slices; s++) {
    low = Math.min(low, data[from + s * 2]);
    high = Math.max(high, data[from + s * 2 + 1]);
  }
  return [low, high];
}

/** Words: a line as long as the word, its text at its top, who speaks where a line begins. A word moved by hand has a hook at its start. */
export const paintWords: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, 'words'), column, (_, lane, strip) => {
    let free = -Infinity;
    for (const s of lane.stretches) {
      const at = between(scene, s);
      if (at) word(scene, s, strip, at, free);
      free = yOf(scene.rows, s.stop);
    }
  });

function word(scene: Scene, s: SheetStretch, strip: Strip, at: { top: number; bottom: number }, free: number): void {
  const { on, colours, model } = scene;
  const look = STRETCHES[s.kind];
  on.save();
  on.strokeStyle = colourOf(colours, look.line ?? 'ink');
  on.lineWidth = look.width! * PX;
  if (!s.sure) on.setLineDash((look.dash ?? []).map((d) => d * PX));
  on.beginPath();
  on.moveTo(strip.x + 5, at.top + 0.5);
  on.lineTo(strip.x + 5, Math.max(at.top + 1, at.bottom - 1));
  on.stroke();
  on.restore();
  if (s.event !== null && model.sheet.words[s.event]?.by_hand) hook(scene, strip.x + 3, at.top);
  if (at.bottom - at.top < READABLE) return;
  const size = Math.min(14, Math.max(11, at.bottom - at.top - 2));
  const top = Math.max(at.top, 0);
  on.textBaseline = 'top';
  on.textAlign = 'left';
  on.font = font(size, 600);
  on.fillStyle = colours.ink;
  on.fillText(fitText(on, s.text, strip.width - 14), strip.x + 12, top + Math.min(3, Math.max(0, (at.bottom - top - size) / 2)));
  if (!s.leads || !s.who || at.top - free < 13) return;
  on.font = font(11);
  on.fillStyle = colours.soft;
  on.fillText(fitText(on, s.who, strip.width - 14), strip.x + 12, at.top - 11);
}

export const paintPhones: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, 'phones'), column, (_, lane, strip) => {
    for (const s of lane.stretches) phone(scene, s, strip);
  });

function phone(scene: Scene, s: SheetStretch, strip: Strip): void {
  const { on, colours, model } = scene;
  const at = between(scene, s);
  if (!at) return;
  on.strokeStyle = colourOf(colours, STRETCHES[s.kind].line ?? 'graphite');
  on.lineWidth = 1;
  rule(scene, strip, at.top);
  rule(scene, strip, at.bottom);
  if (s.event !== null && model.sheet.phones[s.event]?.by_hand) hook(scene, strip.x + 2, at.top);
  if (at.bottom - at.top < READABLE) return;
  on.fillStyle = colours.ink;
  on.font = font(11.5, s.kind === 'phone_stressed' ? 600 : 400);
  on.textAlign = 'center';
  on.textBaseline = 'middle';
  on.fillText(s.text, strip.x + strip.width / 2, middleInSight(scene, at));
  on.textAlign = 'left';
}

/** Air: breath in widens, breath out narrows, a smack is two strokes, a shaking voice a zigzag down the right edge. */
export const paintAir: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, 'air'), column, (_, lane, strip) => {
    for (const s of lane.stretches) {
      const at = between(scene, s);
      if (at && STRETCHES[s.kind].shape === 'zigzag') zigzag(scene, s, strip, at, !besideBreath(lane.stretches, s));
      else if (at) breath(scene, s, strip, at);
    }
  });

/** A breath on the same rows has its own name there. */
export const besideBreath = (all: readonly SheetStretch[], s: SheetStretch): boolean =>
  all.some((other) => STRETCHES[other.kind].shape !== 'zigzag' && other.start < s.stop && other.stop > s.start);

/** Its rate is written beside it where there is room. */
function zigzag(scene: Scene, s: SheetStretch, strip: Strip, at: { top: number; bottom: number }, named: boolean): void {
  const { on, colours } = scene;
  const look = STRETCHES[s.kind];
  const x = strip.x + strip.width - ZIGZAG - 3;
  const steps = Math.max(2, Math.round((at.bottom - at.top) / (look.size! * PX)));
  on.strokeStyle = colourOf(colours, look.line ?? 'blue');
  on.lineWidth = look.width! * PX;
  on.beginPath();
  for (let k = 0; k <= steps; k++) on.lineTo(x + (k % 2 ? ZIGZAG : -ZIGZAG), at.top + ((at.bottom - at.top) * k) / steps);
  on.stroke();
  on.fillStyle = colourOf(colours, look.text ?? 'blue');
  on.font = font(11);
  if (named && at.bottom - at.top > SHAKE_NAMED) writeDown(on, s.text, x - 9, Math.max(at.top, 0), Math.min(at.bottom, scene.rows.height));
}

/** Where in its shape a breath is widest, as a part of its length: its name has room there. */
const WIDEST: Partial<Record<SheetStretch['kind'], number>> = { inhale: 0.72, exhale: 0.28 };

function breath(scene: Scene, s: SheetStretch, strip: Strip, at: { top: number; bottom: number }): void {
  const { on, colours, model } = scene;
  const middle = strip.x + strip.width / 2;
  const half = Math.min(strip.width - 6, 26) / 2;
  paintMark(scene, s, { left: middle - half, right: middle + half, ...at });
  if (s.event !== null && model.sheet.breaths[s.event]?.by_hand) hook(scene, strip.x + 2, at.top);
  const part = WIDEST[s.kind];
  on.font = font(11, 600);
  if (part === undefined || at.bottom - at.top < READABLE + 3 || on.measureText(s.text).width > strip.width - 2) return;
  on.fillStyle = colourOf(colours, STRETCHES[s.kind].text ?? 'blue');
  on.textAlign = 'center';
  on.textBaseline = 'middle';
  on.fillText(s.text, middle, at.top + (at.bottom - at.top) * part);
  on.textAlign = 'left';
}

/** The middle of what is in sight, so that a long phone never loses its name. */
function middleInSight(scene: Scene, at: { top: number; bottom: number }): number {
  return (Math.max(at.top, 0) + Math.min(at.bottom, scene.rows.height)) / 2;
}

function rule(scene: Scene, strip: Strip, y: number): void {
  scene.on.beginPath();
  scene.on.moveTo(strip.x + 3, Math.round(y) + 0.5);
  scene.on.lineTo(strip.x + strip.width - 3, Math.round(y) + 0.5);
  scene.on.stroke();
}

/** A small pencil hook: set by hand. */
function hook(scene: Scene, x: number, y: number): void {
  const { on } = scene;
  on.save();
  on.strokeStyle = scene.colours.blue;
  on.lineWidth = 1.5;
  on.beginPath();
  on.moveTo(x - 2, y + 4);
  on.lineTo(x, y + 7);
  on.lineTo(x + 5, y + 1);
  on.stroke();
  on.restore();
}
