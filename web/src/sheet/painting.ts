import type { SheetStretch } from '../api/types';
import type { Palette } from '../paint/colours';
import type { Laid } from './columns';
import { colourOf, CURVES, PX, STRETCHES, type Point, type StretchLook } from './marks';
import type { Judgement, Lane, LaneCurve, SheetModel } from './model';
import { yOf, type Rows } from './rows';

/** What every column painter gets. All in CSS px of the sheet's window. */
export interface Scene {
  readonly on: CanvasRenderingContext2D;
  readonly model: SheetModel;
  readonly judgement: Judgement;
  readonly rows: Rows;
  readonly first: number;
  readonly last: number;
  readonly colours: Palette;
  /** The character whose acting is drawn strongest. */
  readonly who: string | null;
  /** The frames that are judged; null for all. */
  readonly counts: { readonly first: number; readonly last: number } | null;
  readonly chosenNote: string | null;
  readonly chosenFinding: string | null;
}

/** Where a lane lies. */
export interface Strip {
  readonly x: number;
  readonly width: number;
}

export type Painter = (scene: Scene, column: Laid) => void;
export type LanePainter = (scene: Scene, lane: Lane, strip: Strip) => void;

export const FONT = '"Plex Condensed", sans-serif';
export const font = (size: number, weight = 400): string => `${weight} ${size}px ${FONT}`;
/** Of a lane that is not the chosen character's. */
const FAINT = 0.4;

/** Lanes side by side in their column, the chosen character's strongest. */
export function paintLanes(scene: Scene, lanes: readonly Lane[], column: Strip, paint: LanePainter): void {
  lanes.forEach((lane, k) => {
    scene.on.globalAlpha = scene.who && lane.who && lane.who !== scene.who ? FAINT : 1;
    paint(scene, lane, stripOf(column, k, lanes.length));
  });
  scene.on.globalAlpha = 1;
}

export const stripOf = (column: Strip, k: number, count: number): Strip => ({ x: column.x + (column.width / count) * k, width: column.width / count });

/** y of a stretch, or null out of sight. */
export function between(scene: Scene, s: { start: number; stop: number }): { top: number; bottom: number } | null {
  const top = yOf(scene.rows, s.start);
  const bottom = yOf(scene.rows, s.stop);
  return bottom < 0 || top > scene.rows.height ? null : { top, bottom };
}

/** What a stretch of a shape that hangs on its box alone is made of: box, outline, strokes. Each a run of points in px. */
export function markOf({ outline, strokes }: StretchLook, box: { left: number; right: number; top: number; bottom: number }): Point[][] {
  const at = ([across, down]: Point): Point => [box.left + ((across + 1) / 2) * (box.right - box.left), box.top + down * (box.bottom - box.top)];
  const corners: readonly Point[] = outline ?? [[-1, 0], [1, 0], [1, 1], [-1, 1]];
  return strokes ? strokes.map((stroke) => stroke.map(at)) : [corners.map(at)];
}

export function paintMark(scene: Scene, s: SheetStretch, box: { left: number; right: number; top: number; bottom: number }): void {
  const { on, colours } = scene;
  const look = STRETCHES[s.kind];
  on.beginPath();
  for (const run of markOf(look, box)) {
    run.forEach(([x, y], i) => (i ? on.lineTo(x, y) : on.moveTo(x, y)));
    if (!look.strokes) on.closePath();
  }
  if (look.fill) {
    on.fillStyle = colourOf(colours, look.fill);
    on.fill();
  }
  if (!look.line || !look.width) return;
  on.save();
  on.strokeStyle = colourOf(colours, look.line);
  on.lineWidth = look.width * PX;
  if (!s.sure) on.setLineDash((look.dash ?? []).map((d) => d * PX));
  on.stroke();
  on.restore();
}

/** A curve as its series looks, through the middle of each row, broken where nothing is known. */
export function paintCurve(scene: Scene, curve: LaneCurve, strip: Strip): void {
  const { on, colours } = scene;
  const look = CURVES[curve.id];
  const [left, room] = [strip.x + 4, strip.width - 8];
  for (const run of runsOf(curve, scene.first - 1, scene.last + 1)) {
    const points = run.map(([row, v]): Point => [left + v * room, yOf(scene.rows, row + 0.5)]);
    const trace = (): void => points.forEach(([x, y], i) => (i ? on.lineTo(x, y) : on.moveTo(x, y)));
    if (look.wash) {
      on.beginPath();
      on.moveTo(left, points[0][1]);
      points.forEach(([x, y]) => on.lineTo(x, y));
      on.lineTo(left, points[points.length - 1][1]);
      on.fillStyle = colourOf(colours, look.wash);
      on.fill();
    }
    on.save();
    on.strokeStyle = colourOf(colours, look.colour);
    on.lineWidth = look.width * PX;
    on.lineJoin = 'round';
    on.setLineDash((look.dash ?? []).map((d) => d * PX));
    on.beginPath();
    if (points.length > 1) trace();
    else {
      on.moveTo(points[0][0], points[0][1] - scene.rows.rowHeight / 3);
      on.lineTo(points[0][0], points[0][1] + scene.rows.rowHeight / 3);
    }
    on.stroke();
    on.restore();
  }
}

/** Rows from..to of a curve with their values, parted where nothing is known. */
export function runsOf(curve: LaneCurve, from: number, to: number): [row: number, value: number][][] {
  const runs: [number, number][][] = [];
  let open = false;
  for (let row = Math.max(from, curve.first); row <= Math.min(to, curve.first + curve.values.length - 1); row++) {
    const v = curve.values[row - curve.first];
    if (!Number.isFinite(v)) {
      open = false;
      continue;
    }
    if (!open) runs.push([]);
    runs[runs.length - 1].push([row, v]);
    open = true;
  }
  return runs;
}

/** Text that is cut off with an ellipsis rather than run into its neighbour. */
export function fitText(on: CanvasRenderingContext2D, text: string, width: number): string {
  if (on.measureText(text).width <= width) return text;
  let keep = text.length - 1;
  while (keep > 0 && on.measureText(`${text.slice(0, keep)}…`).width > width) keep--;
  return keep > 0 ? `${text.slice(0, keep)}…` : '';
}

export function clipTo(scene: Scene, column: Strip, paint: () => void): void {
  scene.on.save();
  scene.on.beginPath();
  scene.on.rect(column.x, 0, column.width, scene.rows.height);
  scene.on.clip();
  paint();
  scene.on.restore();
}

/** Written down the column, for things that are long and narrow. */
export function writeDown(on: CanvasRenderingContext2D, text: string, x: number, top: number, bottom: number): void {
  on.save();
  on.translate(x, (top + bottom) / 2);
  on.rotate(Math.PI / 2);
  on.textAlign = 'center';
  on.textBaseline = 'middle';
  on.fillText(fitText(on, text, bottom - top - 4), 0, 0);
  on.restore();
}
