import type { Drawing, Stroke } from '../api/types';
import type { Box } from '../geometry/view';
import { inUnits, linePath, pencilOutline, polygonPath, UNITS } from '../ink/outline';
import { PENCILS } from './colours';

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D;

const RIM = 'rgba(251, 247, 238, 0.55)';
const EDGE = 3;
/** Units of a picture 1000 high, both sides of the line together. */
const GRAPHITE_ALPHA = 0.75;
const TEXT_SIZE = 9;
/** Height of drawn text in stroke widths. */
const paths = new WeakMap<Stroke, { aspect: number; path: Path2D }>();

/** One stroke; `box` is where the picture lies, in the context's own pixels. Rubbing out clears what lies below in this context. */
export function paintStroke(context: Context, stroke: Stroke, box: Box, tint?: string): void {
  context.save();
  context.translate(box.left, box.top);
  context.scale(box.height / UNITS, box.height / UNITS);
  const colour = tint ?? PENCILS[stroke.colour ?? 'blue'].css;
  const aspect = box.width / box.height;
  if (stroke.tool === 'text') paintText(context, stroke, aspect, colour);
  else if (stroke.tool === 'pencil' || stroke.tool === 'eraser') fillPencil(context, stroke, aspect, colour);
  else strokeLine(context, stroke, aspect, colour);
  context.restore();
}

/** Strokes of one drawing on a layer of their own, so that rubbing out never rubs out the picture. */
export function paintDrawing(context: CanvasRenderingContext2D, strokes: readonly Stroke[], box: Box, how: { tint?: string; alpha?: number } = {}): void {
  const needsLayer = strokes.some((s) => s.tool === 'eraser') || (how.alpha ?? 1) < 1;
  if (!needsLayer) {
    for (const stroke of strokes) paintStroke(context, stroke, box, how.tint);
    return;
  }
  const { width, height } = context.canvas;
  const layer = new OffscreenCanvas(Math.max(1, width), Math.max(1, height));
  const on = layer.getContext('2d');
  if (!on) return;
  on.setTransform(context.getTransform());
  for (const stroke of strokes) paintStroke(on, stroke, box, how.tint);
  context.save();
  context.globalAlpha = how.alpha ?? 1;
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.drawImage(layer, 0, 0);
  context.restore();
}

export const paintDrawings = (context: CanvasRenderingContext2D, drawings: readonly Drawing[], box: Box): void => {
  for (const drawing of drawings) paintDrawing(context, drawing.strokes ?? [], box);
};

function fillPencil(context: Context, stroke: Stroke, aspect: number, colour: string): void {
  if (stroke.tool === 'eraser') context.globalCompositeOperation = 'destination-out';
  if (stroke.colour === 'black') context.globalAlpha *= GRAPHITE_ALPHA;
  const path = pathOf(stroke, aspect, () => polygonPath(pencilOutline(stroke, aspect)));
  if (stroke.tool === 'pencil') edge(context, path, EDGE);
  context.fillStyle = colour;
  context.fill(path);
}

function strokeLine(context: Context, stroke: Stroke, aspect: number, colour: string): void {
  const width = (stroke.width ?? 0.006) * UNITS;
  context.lineWidth = width;
  context.lineCap = context.lineJoin = 'round';
  context.setLineDash(stroke.dashed ? [width * 3, width * 2.5] : []);
  const path = pathOf(stroke, aspect, () => linePath(stroke, aspect));
  edge(context, path, width + EDGE);
  context.strokeStyle = colour;
  context.lineWidth = width;
  context.stroke(path);
}

/** A thin pale rim, so that a line can be seen on any picture. */
function edge(context: Context, path: Path2D, width: number): void {
  context.strokeStyle = RIM;
  context.lineWidth = width;
  context.lineJoin = 'round';
  context.stroke(path);
}

function paintText(context: Context, stroke: Stroke, aspect: number, colour: string): void {
  const [at] = inUnits(stroke, aspect);
  const size = (stroke.width ?? 0.006) * UNITS * TEXT_SIZE;
  context.font = `600 ${size}px "Plex Condensed", sans-serif`;
  context.lineWidth = size / 6;
  context.lineJoin = 'round';
  context.strokeStyle = stroke.colour === 'white' ? '#26221d' : '#fbf7ee';
  context.strokeText(stroke.text ?? '', at.x, at.y);
  context.fillStyle = colour;
  context.fillText(stroke.text ?? '', at.x, at.y);
}

function pathOf(stroke: Stroke, aspect: number, make: () => string): Path2D {
  const old = paths.get(stroke);
  if (old && Math.abs(old.aspect - aspect) < 1e-6) return old.path;
  const path = new Path2D(make());
  paths.set(stroke, { aspect, path });
  return path;
}
