import type { SheetAccent, SheetBreath, SheetTremor } from '../api/types';
import type { Laid } from './columns';
import { fitText, font, writeDown, type Painter, type Scene } from './painting';
import { yOf } from './rows';

const READABLE = 9;
/** px of height below which a label is left out. */
const SHAKE_NAMED = 70;
/** px of height from which on a shake's rate is written. */
const WEDGE = 8;
/** px. */
const LEANS_SHOWN = 3;
/** As on the sent sheet: accents ranked up to this are large. */
const ZIGZAG = 3;
/** px to each side of a shaking voice's line. */

/** The wave, one stroke a pixel row at most, widths from the least and greatest sample of each slice. */
export const paintWave: Painter = (scene, column) => {
  const { wave } = scene.model;
  if (!wave) return;
  const { on, rows } = scene;
  const middle = column.x + column.width / 2;
  const half = (column.width / 2 - 3) / 127;
  const step = Math.max(1, Math.floor(wave.slices / rows.rowHeight));
  for (const accent of scene.model.sheet.accents) wedge(scene, column, accent);
  on.fillStyle = scene.colours.graphite;
  for (let i = scene.first; i <= scene.last; i++) {
    for (let k = 0; k < wave.slices; k += step) {
      const [low, high] = loudest(wave.data, (i * wave.slices + k) * 2, Math.min(step, wave.slices - k));
      const y = yOf(rows, i + k / wave.slices);
      on.fillRect(middle + low * half, y, Math.max(0.6, (high - low) * half), Math.max(0.8, (rows.rowHeight * step) / wave.slices));
    }
  }
};

/** A wedge where the voice leans; the strongest are large and carry their rank. */
function wedge(scene: Scene, column: Laid, accent: SheetAccent): void {
  const { on, colours } = scene;
  const y = yOf(scene.rows, scene.model.clock.position(accent.time_s));
  if (y < -WEDGE || y > scene.rows.height + WEDGE) return;
  const size = accent.rank <= LEANS_SHOWN ? WEDGE : WEDGE * 0.6;
  const right = column.x + column.width - 2;
  on.fillStyle = colours.ink;
  on.beginPath();
  on.moveTo(right, y - size * 0.65);
  on.lineTo(right, y + size * 0.65);
  on.lineTo(right - size, y);
  on.fill();
  if (accent.rank > LEANS_SHOWN || scene.rows.rowHeight < 5) return;
  on.font = font(11, 600);
  on.textAlign = 'right';
  on.textBaseline = 'bottom';
  on.fillText(String(accent.rank), right, y - size * 0.65);
  on.textAlign = 'left';
}

function loudest(data: Int8Array, from: number, slices: number): [number, number] {
  let low = 0;
  let high = 0;
  for (let s = 0; s < slices; s++) {
    low = Math.min(low, data[from + s * 2]);
    high = Math.max(high, data[from + s * 2 + 1]);
  }
  return [low, high];
}

/** Words: a bar as long as the word, its text at its middle. A word moved by hand has a hook at its start. */
export const paintWords: Painter = (scene, column) => {
  const { on, colours } = scene;
  const voices = [...new Set(scene.model.sheet.words.map((w) => w.who))];
  for (const word of scene.model.sheet.words) {
    const at = between(scene, word.start_s, word.end_s);
    if (!at) continue;
    const second = voices.indexOf(word.who) > 0;
    on.fillStyle = word.confidence < 0.5 ? colours.soft : colours.ink;
    on.fillRect(column.x + (second ? 5 : 3), at.top + 0.5, second ? 3.5 : 2, Math.max(1, at.bottom - at.top - 1.5));
    if (word.by_hand) hook(scene, column.x + 3, at.top);
    if (at.bottom - at.top < READABLE) continue;
    on.font = font(Math.min(14, Math.max(11, at.bottom - at.top - 2)), second ? 600 : 400);
    on.textBaseline = 'middle';
    on.textAlign = 'left';
    on.fillText(fitText(on, word.text, column.width - 14), column.x + 12, middleInSight(scene, at));
  }
};

export const paintPhones: Painter = (scene, column) => {
  const { on, colours } = scene;
  for (const phone of scene.model.sheet.phones) {
    const at = between(scene, phone.start_s, phone.end_s);
    if (!at) continue;
    on.strokeStyle = colours.ruleStrong;
    rule(scene, column, at.top);
    rule(scene, column, at.bottom);
    if (phone.by_hand) hook(scene, column.x + 2, at.top);
    if (at.bottom - at.top < READABLE) continue;
    on.fillStyle = colours.ink;
    on.font = font(11.5, phone.stress ? 600 : 400);
    on.textAlign = 'center';
    on.textBaseline = 'middle';
    on.fillText(phone.phone, column.x + column.width / 2, middleInSight(scene, at));
  }
};

/** Air: a leaf for a breath, pointing in or out, a dot for a smack. */
export const paintAir: Painter = (scene, column) => {
  for (const breath of scene.model.sheet.breaths) {
    const at = between(scene, breath.start_s, breath.end_s);
    if (at) leaf(scene, column, breath, at);
  }
  for (const tremor of scene.model.sheet.tremors) {
    const at = between(scene, tremor.start_s, tremor.end_s);
    if (at) zigzag(scene, column, tremor, at);
  }
};

/** A voice that shakes: a zigzag down the column's right edge, its rate written beside it where there is room. */
function zigzag(scene: Scene, column: Laid, tremor: SheetTremor, at: { top: number; bottom: number }): void {
  const { on, colours } = scene;
  const x = column.x + column.width - ZIGZAG - 3;
  const steps = Math.max(2, Math.round((at.bottom - at.top) / ZIGZAG));
  on.strokeStyle = colours.blue;
  on.lineWidth = 1.2;
  on.beginPath();
  for (let k = 0; k <= steps; k++) on.lineTo(x + (k % 2 ? ZIGZAG : -ZIGZAG), at.top + ((at.bottom - at.top) * k) / steps);
  on.stroke();
  on.fillStyle = colours.blue;
  on.font = font(11);
  if (at.bottom - at.top > SHAKE_NAMED) writeDown(on, `shakes ${tremor.rate_hz.toFixed(1)} Hz`, x - 9, Math.max(at.top, 0), Math.min(at.bottom, scene.rows.height));
}


function leaf(scene: Scene, column: Laid, breath: SheetBreath, at: { top: number; bottom: number }): void {
  const { on, colours } = scene;
  const middle = column.x + column.width / 2;
  const wide = Math.min(column.width - 6, 26) / 2;
  on.fillStyle = colours.blueWash;
  on.strokeStyle = colours.blue;
  on.beginPath();
  if (breath.kind === 'smack') {
    on.arc(middle, (at.top + at.bottom) / 2, Math.max(2.5, Math.min(5, (at.bottom - at.top) / 2)), 0, Math.PI * 2);
  } else {
    const belly = breath.kind === 'inhale' ? at.top + (at.bottom - at.top) * 0.7 : at.top + (at.bottom - at.top) * 0.3;
    on.moveTo(middle, at.top);
    on.quadraticCurveTo(middle + wide * 1.3, belly, middle, at.bottom);
    on.quadraticCurveTo(middle - wide * 1.3, belly, middle, at.top);
  }
  on.fill();
  on.stroke();
  if (breath.by_hand) hook(scene, column.x + 2, at.top);
  if (at.bottom - at.top < READABLE + 3) return;
  on.fillStyle = colours.blue;
  on.font = font(11, 600);
  on.textAlign = 'center';
  on.textBaseline = 'middle';
  on.fillText({ inhale: 'in', exhale: 'out', smack: '' }[breath.kind], middle, middleInSight(scene, at));
}

/** y of a stretch of time, or null out of sight. */
export function between(scene: Scene, start: number, stop: number): { top: number; bottom: number } | null {
  const top = yOf(scene.rows, scene.model.clock.position(start));
  const bottom = yOf(scene.rows, scene.model.clock.position(stop));
  return bottom < 0 || top > scene.rows.height ? null : { top, bottom };
}

/** The middle of what is in sight, so that a long word never loses its text. */
function middleInSight(scene: Scene, at: { top: number; bottom: number }): number {
  return (Math.max(at.top, 0) + Math.min(at.bottom, scene.rows.height)) / 2;
}

function rule(scene: Scene, column: Laid, y: number): void {
  scene.on.beginPath();
  scene.on.moveTo(column.x + 3, Math.round(y) + 0.5);
  scene.on.lineTo(column.x + column.width - 3, Math.round(y) + 0.5);
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
