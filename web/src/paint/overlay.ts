import type { Stroke, TrayFinding } from '../api/types';
import { arrowHead } from '../geometry/paths';
import { pictureToScreen, type Box } from '../geometry/view';
import { EVIDENCE, PENCILS } from '../ink/look';

/** CSS px: up to here lines are as thick as written. */
const USUAL_HIGH = 650;
/** Labels are at least this part of the stage high, so that they can be read on a large screen. */
const LABELS_HIGH = 34;
const WHITE = PENCILS.white.css;
const DARK = 'rgba(20, 18, 15, 0.65)';

export type Context = CanvasRenderingContext2D;

/** A line that can be seen on any picture: dark edge, light core. */
export function seen(on: Context, colour: string, width: number, dash: number[], path: () => void): void {
  const thick = thickness(on);
  on.save();
  on.lineCap = on.lineJoin = 'round';
  on.setLineDash(dash.map((d) => d * thick));
  for (const [style, w] of [[DARK, (width + 2) * thick], [colour, width * thick]] as const) {
    on.strokeStyle = style;
    on.lineWidth = w;
    on.beginPath();
    path();
    on.stroke();
  }
  on.restore();
}

/** Lines on a large picture are thicker: twice on one of 1300 px. */
export const thickness = (on: Context): number => Math.min(2, Math.max(1, on.canvas.clientHeight / USUAL_HIGH));

export const labelSize = (on: Context): number => Math.max(13, on.canvas.clientHeight / LABELS_HIGH);

export function label(on: Context, text: string, x: number, y: number): void {
  const size = labelSize(on);
  on.font = `600 ${size}px "Plex Condensed", sans-serif`;
  on.lineWidth = 3;
  on.strokeStyle = DARK;
  on.lineJoin = 'round';
  on.strokeText(text, x, y);
  on.fillStyle = WHITE;
  on.fillText(text, x, y);
}

export function paintArrow(on: Context, from: { x: number; y: number }, to: { x: number; y: number }, colour: string, dash: number[]): void {
  seen(on, colour, 2.2, dash, () => {
    on.moveTo(from.x, from.y);
    on.lineTo(to.x, to.y);
  });
  const [a, b] = arrowHead(from, to, 11 * thickness(on));
  seen(on, colour, 2.2, [], () => {
    on.moveTo(a.x, a.y);
    on.lineTo(to.x, to.y);
    on.lineTo(b.x, b.y);
  });
}

/** What a finding measured on this frame, in the same lines as on the page and on paper. */
export function paintEvidence(on: Context, finding: TrayFinding, frame: number, box: Box): void {
  for (const stroke of finding.strokes.filter((s) => s.frame === frame)) {
    const points = stroke.points.map(([x, y]) => pictureToScreen({ x, y }, box));
    const look = EVIDENCE[stroke.kind];
    const [colour, dash] = [PENCILS[look.pencil].css, [...(look.dash ?? [])]];
    if (stroke.kind === 'path') paintPath(on, points, colour);
    else if (points.length === 2 && look.arrow) paintArrow(on, points[0], points[1], colour, dash);
    else seen(on, colour, 2, dash, () => trace(on, points, stroke.kind === 'patch'));
    const end = points[points.length - 1];
    if (stroke.label && end) label(on, stroke.label, end.x + 8, end.y + 4);
  }
}

/** A way through the picture, with a tick across it at each frame, so that its spacing can be read. */
function paintPath(on: Context, points: readonly { x: number; y: number }[], colour: string): void {
  const half = 5 * thickness(on);
  seen(on, colour, 1.3, [], () => {
    trace(on, points, false);
    let across = { x: 0, y: half };
    points.forEach((p, i) => {
      const from = points[Math.max(0, i - 1)];
      const to = points[Math.min(points.length - 1, i + 1)];
      const long = Math.hypot(to.x - from.x, to.y - from.y);
      if (long > 2) across = { x: ((from.y - to.y) / long) * half, y: ((to.x - from.x) / long) * half };
      on.moveTo(p.x - across.x, p.y - across.y);
      on.lineTo(p.x + across.x, p.y + across.y);
    });
  });
}

function trace(on: Context, points: readonly { x: number; y: number }[], closed: boolean): void {
  points.forEach((p, i) => (i ? on.lineTo(p.x, p.y) : on.moveTo(p.x, p.y)));
  if (closed) on.closePath();
}

/** Drawings of frames before and after: apart from each other by hue and lightness, and neither of them a colour that judges. */
export const NEIGHBOUR_TINTS = { before: PENCILS.ochre.css, after: PENCILS.blue.css };
export type Sketch = Stroke | null;
