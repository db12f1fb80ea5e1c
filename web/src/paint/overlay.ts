import type { Drawing, Stroke, TrayFinding } from '../api/types';
import { arrowHead } from '../geometry/paths';
import { pictureToScreen, type Box } from '../geometry/view';
import type { Actor } from '../sheet/model';
import { PENCILS } from './colours';

const PATH_FRAMES = 24;
/** Frames of a mark's path to either side: a second at 24 fps. */
const RAY_LENGTH = 0.32;
/** Of the picture's height. */
const LABELS_HIGH = 34;
/** Labels are at least this part of the stage high, so that they can be read on a large screen. */
const WHITE = PENCILS.white.css;
const DARK = 'rgba(20, 18, 15, 0.65)';

type Context = CanvasRenderingContext2D;

/** A line that can be seen on any picture: dark edge, light core. */
function seen(on: Context, colour: string, width: number, dash: number[], path: () => void): void {
  on.save();
  on.lineCap = on.lineJoin = 'round';
  on.setLineDash(dash);
  for (const [style, w] of [[DARK, width + 2], [colour, width]] as const) {
    on.strokeStyle = style;
    on.lineWidth = w;
    on.beginPath();
    path();
    on.stroke();
  }
  on.restore();
}

function label(on: Context, text: string, x: number, y: number): void {
  const size = Math.max(13, on.canvas.clientHeight / LABELS_HIGH);
  on.font = `600 ${size}px "Plex Condensed", sans-serif`;
  on.lineWidth = 3;
  on.strokeStyle = DARK;
  on.lineJoin = 'round';
  on.strokeText(text, x, y);
  on.fillStyle = WHITE;
  on.fillText(text, x, y);
}

/** Marks with their paths: a tick for every frame, so that spacing can be read; gaps where a mark was lost. */
export function paintMarks(on: Context, actors: readonly Actor[], frame: number, box: Box): void {
  for (const actor of actors) for (const [name, track] of actor.marks) paintTrack(on, name, track, frame, box);
}

function paintTrack(on: Context, name: string, track: { xy: Float32Array; placed: ReadonlySet<number> }, frame: number, box: Box): void {
  const frames = track.xy.length / 2;
  const from = Math.max(0, frame - PATH_FRAMES);
  const to = Math.min(frames - 1, frame + PATH_FRAMES);
  const at = (i: number): { x: number; y: number } | null =>
    Number.isFinite(track.xy[i * 2]) ? pictureToScreen({ x: track.xy[i * 2], y: track.xy[i * 2 + 1] }, box) : null;
  seen(on, PENCILS.ochre.css, 1.4, [], () => {
    let pen = false;
    for (let i = from; i <= to; i++) {
      const p = at(i);
      if (p && pen) on.lineTo(p.x, p.y);
      else if (p) on.moveTo(p.x, p.y);
      pen = p !== null;
    }
  });
  for (let i = from; i <= to; i++) tick(on, at(i), at(i + 1) ?? at(i - 1), i === frame);
  const now = at(frame);
  if (now) label(on, track.placed.has(frame) ? `${name} ✓` : name, now.x + 8, now.y - 6);
}

function tick(on: Context, p: { x: number; y: number } | null, next: { x: number; y: number } | null, current: boolean): void {
  if (!p) return;
  if (current) {
    seen(on, WHITE, 2, [], () => on.arc(p.x, p.y, 5, 0, Math.PI * 2));
    return;
  }
  const angle = next ? Math.atan2(next.y - p.y, next.x - p.x) + Math.PI / 2 : 0;
  const [dx, dy] = [Math.cos(angle) * 3, Math.sin(angle) * 3];
  seen(on, PENCILS.ochre.css, 1.2, [], () => {
    on.moveTo(p.x - dx, p.y - dy);
    on.lineTo(p.x + dx, p.y + dy);
  });
}

/** Look rays: from each eye along its direction as seen by the camera. Straight at the lens it is a ring. */
export function paintRays(on: Context, actors: readonly Actor[], frame: number, box: Box): void {
  for (const { who, gaze } of actors) {
    gaze.forEach((eye, k) => {
      const [x, y] = eye.origin.subarray(frame * 2, frame * 2 + 2);
      const [dx, dy] = eye.direction.subarray(frame * 3, frame * 3 + 3);
      if (![x, y, dx, dy].every(Number.isFinite)) return;
      const from = pictureToScreen({ x, y }, box);
      const to = { x: from.x + dx * RAY_LENGTH * box.height, y: from.y + dy * RAY_LENGTH * box.height };
      if (Math.hypot(dx, dy) < 0.05) seen(on, WHITE, 2, [], () => on.arc(from.x, from.y, 9, 0, Math.PI * 2));
      else paintArrow(on, from, to, WHITE, []);
      if (k === 0) label(on, who, to.x + 6, to.y);
    });
  }
}

function paintArrow(on: Context, from: { x: number; y: number }, to: { x: number; y: number }, colour: string, dash: number[]): void {
  seen(on, colour, 2.2, dash, () => {
    on.moveTo(from.x, from.y);
    on.lineTo(to.x, to.y);
  });
  const [a, b] = arrowHead(from, to, 11);
  seen(on, colour, 2.2, [], () => {
    on.moveTo(a.x, a.y);
    on.lineTo(to.x, to.y);
    on.lineTo(b.x, b.y);
  });
}

/** What a finding measured on this frame: as it is in full red, as it should be in white dashes. */
export function paintEvidence(on: Context, finding: TrayFinding, frame: number, box: Box): void {
  for (const stroke of finding.strokes.filter((s) => s.frame === frame)) {
    const points = stroke.points.map(([x, y]) => pictureToScreen({ x, y }, box));
    const colour = stroke.kind === 'should' ? WHITE : PENCILS.red.css;
    const dash = stroke.kind === 'should' ? [8, 6] : [];
    if (points.length === 2 && stroke.kind !== 'patch') paintArrow(on, points[0], points[1], colour, dash);
    else seen(on, colour, 2, dash, () => trace(on, points, stroke.kind === 'patch'));
    const end = points[points.length - 1];
    if (stroke.label && end) label(on, stroke.label, end.x + 8, end.y + 4);
  }
}

function trace(on: Context, points: readonly { x: number; y: number }[], closed: boolean): void {
  points.forEach((p, i) => (i ? on.lineTo(p.x, p.y) : on.moveTo(p.x, p.y)));
  if (closed) on.closePath();
}

export interface Ghosts {
  readonly before?: Drawing;
  readonly after?: Drawing;
}
export const GHOST_TINTS = { before: PENCILS.red.css, after: PENCILS.green.css };
export type Sketch = Stroke | null;
