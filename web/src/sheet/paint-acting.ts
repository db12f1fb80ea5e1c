import type { Sheet } from '../api/types';
import type { Laid } from './columns';
import { lookStretches, type Stretch } from './looks';
import { extent, type Curve } from './model';
import { font, writeDown, type Painter, type Scene } from './painting';
import { yOf } from './rows';

/** Mouth: seen full, wanted dashed and washed; wanted comes as evidence of the findings in sight. */
export const paintMouth: Painter = (scene, column) => {
  const actors = scene.model.players.filter((a) => a.opening);
  const top = Math.max(0.2, ...actors.map((a) => extent(a.opening!.values)?.high ?? 0));
  const scale = (column.width - 10) / top;
  for (const curve of scene.judgement.findings.flatMap((f) => f.curves.filter((c) => c.unit !== '' || c.wanted.length))) {
    if (/mouth|opening|lip/i.test(curve.name)) wantedLine(scene, column, curve, scale);
  }
  for (const a of actors) {
    scene.on.strokeStyle = a.who === scene.who || !scene.who ? scene.colours.ink : scene.colours.graphite;
    scene.on.lineWidth = a.who === scene.who || !scene.who ? 1.6 : 1;
    line(scene, column.x + 5, a.opening!.values, 0, (v) => v * scale);
  }
};

function wantedLine(scene: Scene, column: Laid, curve: { first: number; wanted: readonly (number | null)[] }, scale: number): void {
  const values = curve.wanted.map((v) => v ?? NaN);
  const { on } = scene;
  on.save();
  on.strokeStyle = scene.colours.ochre;
  on.setLineDash([3, 2]);
  line(scene, column.x + 5, values, curve.first, (v) => v * scale);
  on.restore();
}

/** Body: how much the picture moves, or how far the chest lifts, each against its own greatest value. */
export const paintBody: Painter = (scene, column) => {
  const { movement, players: actors } = scene.model;
  const lifts = actors.filter((a) => a.lift).map((a) => ({ curve: a.lift!, strong: !scene.who || a.who === scene.who }));
  if (lifts.length === 0 && movement) washed(scene, column, movement);
  for (const { curve, strong } of lifts) {
    const e = extent(curve.values);
    if (!e) continue;
    scene.on.strokeStyle = scene.colours.blue;
    scene.on.lineWidth = strong ? 1.6 : 0.8;
    const scale = (column.width - 10) / (e.high - e.low || 1);
    line(scene, column.x + 5, curve.values, 0, (v) => (v - e.low) * scale);
  }
};

function washed(scene: Scene, column: Laid, curve: Curve): void {
  const e = extent(curve.values);
  if (!e || e.high <= 0) return;
  const scale = (column.width - 8) / Math.sqrt(e.high);
  scene.on.fillStyle = scene.colours.blueWash;
  scene.on.strokeStyle = scene.colours.blue;
  scene.on.lineWidth = 1.2;
  for (let i = scene.first; i <= scene.last; i++) {
    const v = curve.values[i];
    if (v > 0) scene.on.fillRect(column.x + 4, yOf(scene.rows, i), Math.sqrt(v) * scale, scene.rows.rowHeight);
  }
  line(scene, column.x + 4, curve.values, 0, (v) => Math.sqrt(Math.max(0, v)) * scale);
}

/** A line down the rows, through the middle of each; broken where nothing was measured. */
function line(scene: Scene, x: number, values: ArrayLike<number>, first: number, to: (v: number) => number): void {
  const { on, rows } = scene;
  on.beginPath();
  let pen = false;
  const from = Math.max(first, scene.first - 1);
  const until = Math.min(first + values.length - 1, scene.last + 1);
  for (let i = from; i <= until; i++) {
    const v = values[i - first];
    if (!Number.isFinite(v)) {
      pen = false;
      continue;
    }
    const y = yOf(rows, i + 0.5);
    if (pen) on.lineTo(x + to(v), y);
    else on.moveTo(x + to(v), y);
    pen = true;
  }
  on.stroke();
}

const BAND = 6;
const BLINK = 11;
/** Wide: it sticks out of the band on both sides, so that it is seen on a dark band and on none. */
const NAMED = 12;
const LEAST_LANE = 22;
/** px a character needs for a name beside the band. */
const LEAST_NAME = 26;
/** px of a band's length: less would leave one letter of a name. */

/** Eyes: a lane a character, with a band for each look and its target's name beside it; a bar across the band for a blink, thickest where the lids meet. */
export const paintEyes: Painter = (scene, column) => {
  const people = [...new Set([...scene.model.sheet.looks.map((l) => l.who), ...scene.model.sheet.blinks.map((b) => b.who)])];
  const lane = (column.width - 6) / Math.max(1, people.length);
  const left = (who: string): number => column.x + 4 + people.indexOf(who) * lane;
  for (const stretch of lookStretches(scene.model.sheet.looks, scene.judgement.findings)) lookBand(scene, stretch, left(stretch.look.who), lane);
  for (const blink of scene.model.sheet.blinks) blinkBars(scene, blink, left(blink.who));
};

function blinkBars({ on, rows, colours }: Scene, blink: Sheet['blinks'][0], x: number): void {
  for (let i = blink.first; i <= blink.last; i++) {
    const thick = i === blink.shut ? 3 : 1.5;
    const y = yOf(rows, i + 0.5) - thick / 2;
    on.fillStyle = colours.paper;
    on.fillRect(x - 2, y - 1, BLINK, thick + 2);
    on.fillStyle = colours.ink;
    on.fillRect(x - 2, y, BLINK, thick);
  }
}

/** Dark where the other looks back, light for a look alone, hollow red where it misses; broken where it was only read from the eyes. */
function lookBand(scene: Scene, { look, first, last, state }: Stretch, x: number, lane: number): void {
  const { on, rows, colours } = scene;
  const top = yOf(rows, first);
  const bottom = yOf(rows, last + 1);
  if (bottom < 0 || top > rows.height) return;
  const colour = state === 'missed' ? colours.red : colours.green;
  on.fillStyle = state === 'missed' || look.proposed ? colours.card : state === 'met' ? colours.green : colours.greenWash;
  on.fillRect(x, top + 1, BAND, bottom - top - 2);
  on.strokeStyle = colour;
  on.save();
  if (look.proposed || state === 'missed') on.setLineDash([3, 3]);
  on.lineWidth = 1;
  on.strokeRect(x + 0.5, top + 1.5, BAND - 1, bottom - top - 3);
  on.restore();
  on.fillStyle = colour;
  bandName(scene, lookWords(look, state), x + BLINK, lane - BLINK - 1, { top: Math.max(top, 0), bottom: Math.min(bottom, rows.height) });
}

/** What is written beside a look's band, a line each: a prop by its own name, without its mark's. */
export function lookWords(look: Stretch['look'], state: Stretch['state']): string[] {
  const name = `${look.at.split('.')[0]}${look.proposed ? '?' : ''}`;
  return state === 'missed' ? ['misses', name] : [name];
}

/** Level where it fits beside its band, else down the band; never over a neighbour. */
function bandName(scene: Scene, lines: readonly string[], x: number, room: number, at: { top: number; bottom: number }): void {
  const { on } = scene;
  on.font = font(NAMED);
  const high = (NAMED + 2) * lines.length;
  if (at.bottom - at.top >= high && lines.every((l) => on.measureText(l).width <= room)) {
    on.textAlign = 'left';
    on.textBaseline = 'top';
    lines.forEach((l, k) => on.fillText(l, x, at.top + 3 + k * (NAMED + 2)));
  } else if (room + BLINK >= LEAST_LANE && at.bottom - at.top >= LEAST_NAME) writeDown(on, lines.join(' '), x + NAMED / 2 - 1, at.top, at.bottom);
}
