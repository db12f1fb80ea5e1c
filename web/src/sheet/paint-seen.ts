import type { SheetStretch } from '../api/types';
import { colourOf, CURVES, PX, STRETCHES } from './marks';
import { lanesOf, type LaneCurve } from './model';
import { between, font, paintCurve, paintLanes, paintMark, writeDown, type LanePainter, type Painter, type Scene, type Strip } from './painting';
import { yOf } from './rows';

/** px of a row's height from which on dead frames are numbered. */
const COUNTED = 11;
/** px beside a box. */
const MARGIN = 5;

/** Picture: how much each frame moves, as a bar; a dead frame as a box that counts up, red where a finding names it; whatever else stands there. */
export const paintPicture: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, 'picture'), column, (_, lane, strip) => {
    for (const curve of lane.curves) movement(scene, curve, strip);
    for (const s of lane.stretches) {
      const at = between(scene, s);
      if (!at || STRETCHES[s.kind].shape === 'line') continue;
      if (s.count) counted(scene, s, strip);
      else paintMark(scene, s, { left: strip.x + MARGIN, right: strip.x + strip.width - MARGIN, ...at });
    }
  });

function movement(scene: Scene, curve: LaneCurve, strip: Strip): void {
  const { on, rows } = scene;
  const look = CURVES[curve.id];
  const thick = Math.min(look.width * PX, Math.max(0.8, rows.rowHeight * 0.5));
  on.fillStyle = colourOf(scene.colours, look.colour);
  for (let i = scene.first; i <= scene.last; i++) {
    const v = curve.values[i - curve.first];
    if (v > 0) on.fillRect(strip.x + 3, yOf(rows, i + 0.5) - thick / 2, v * (strip.width - 6), thick);
  }
}

function counted(scene: Scene, s: SheetStretch, strip: Strip): void {
  const { on, rows, colours } = scene;
  const gap = rows.rowHeight > 5 ? 1.5 : 0;
  for (let i = Math.max(scene.first, s.start); i < Math.min(scene.last + 1, s.stop); i++) {
    const top = yOf(rows, i) + gap;
    const bottom = Math.max(top + 0.8, yOf(rows, i + 1) - gap);
    paintMark(scene, s, { left: strip.x + MARGIN, right: strip.x + strip.width - MARGIN, top, bottom });
    if (rows.rowHeight < COUNTED) continue;
    on.fillStyle = colourOf(colours, STRETCHES[s.kind].text ?? 'ink');
    on.font = font(11, 600);
    on.textAlign = 'center';
    on.textBaseline = 'middle';
    on.fillText(String(s.count + i - s.start), strip.x + strip.width / 2, (top + bottom) / 2 + 0.5);
    on.textAlign = 'left';
  }
}

/** Mouth, body: a lane's curves, each as its series looks; a mouth from shut at the left to open at the right. */
export const paintCurves: Painter = (scene, column) =>
  paintLanes(scene, lanesOf(scene.model, column.id), column, (_, lane, strip) => {
    if (column.id === 'mouth') {
      scene.on.fillStyle = scene.colours.ruleStrong;
      scene.on.fillRect(strip.x + 3.5, 0, 1, scene.rows.height);
    }
    for (const curve of lane.curves) paintCurve(scene, curve, strip);
  });

const BAND = 6;
/** Wide: it sticks out of the band on both sides, so that it is seen on a dark band and on none. */
const TICK = 11;
const NAMED = 12;
/** px a character needs for a name beside the band. */
const LEAST_LANE = 22;
/** px of a band's length: less would leave one letter of a name. */
const LEAST_NAME = 26;

/** Eyes: a lane a character, with a band for each look and its target's name beside it; a bar across the band for a blink, thickest where the lids meet. */
export const paintEyes: Painter = (scene, column) => paintLanes(scene, lanesOf(scene.model, 'eyes'), column, eyes);

const eyes: LanePainter = (scene, lane, strip) => {
  const x = strip.x + 4;
  for (const s of lane.stretches) if (STRETCHES[s.kind].shape === 'band') lookBand(scene, s, x, strip.width);
  for (const s of lane.stretches) if (STRETCHES[s.kind].shape === 'ticks') ticks(scene, s, x);
};

function ticks(scene: Scene, s: SheetStretch, x: number): void {
  const { on, rows, colours } = scene;
  const look = STRETCHES[s.kind];
  const thick = Math.min(look.width! * PX, Math.max(1, rows.rowHeight * 0.6));
  for (let i = Math.max(scene.first, s.start); i < Math.min(scene.last + 1, s.stop); i++) {
    const y = yOf(rows, i + 0.5) - thick / 2;
    on.fillStyle = colours.paper;
    on.fillRect(x - 2, y - 1, TICK, thick + 2);
    on.fillStyle = colourOf(colours, look.line ?? 'ink');
    on.fillRect(x - 2, y, TICK, thick);
  }
}

function lookBand(scene: Scene, s: SheetStretch, x: number, lane: number): void {
  const { on, rows, colours } = scene;
  const at = between(scene, s);
  if (!at) return;
  const look = STRETCHES[s.kind];
  on.save();
  on.fillStyle = colourOf(colours, look.fill ?? 'card');
  on.strokeStyle = colourOf(colours, look.line ?? 'ink');
  on.lineWidth = look.width! * PX;
  on.setLineDash((look.dash ?? []).map((d) => d * 2));
  on.fillRect(x, at.top + 1, BAND, at.bottom - at.top - 2);
  on.strokeRect(x + 0.5, at.top + 1.5, BAND - 1, at.bottom - at.top - 3);
  on.restore();
  on.fillStyle = colourOf(colours, look.text ?? 'ink');
  bandName(scene, s.text, x + TICK, lane - TICK - 5, { top: Math.max(at.top, 0), bottom: Math.min(at.bottom, rows.height) });
}

/** Level where it fits beside its band, else down the band; never over a neighbour. */
function bandName(scene: Scene, text: string, x: number, room: number, at: { top: number; bottom: number }): void {
  const { on } = scene;
  on.font = font(NAMED);
  if (at.bottom - at.top >= NAMED + 2 && on.measureText(text).width <= room) {
    on.textAlign = 'left';
    on.textBaseline = 'top';
    on.fillText(text, x, at.top + 3);
  } else if (room + TICK >= LEAST_LANE && at.bottom - at.top >= LEAST_NAME) writeDown(on, text, x + NAMED / 2 - 1, at.top, at.bottom);
}
