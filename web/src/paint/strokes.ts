import type { Drawing, Stroke } from '../api/types';
import { way, type Box } from '../geometry/view';
import { LOOK, PENCILS } from '../ink/look';
import { endsPath, inUnits, linePath, pencilPath, textSize, thickness } from '../ink/outline';

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D;

/** A stroke's path, made once for a shape of picture. */
const paths = new WeakMap<Stroke, { aspect: number; path: Path2D }>();

/** One stroke; `box` is where the picture lies, in the context's own pixels. Rubbing out clears what lies below in this context. */
export function paintStroke(context: Context, stroke: Stroke, box: Box, tint?: string): void {
  context.save();
  const unit = box.height / LOOK.units;
  context.translate(box.mirrored ? box.left + box.width : box.left, box.top);
  context.scale(way(box) * unit, unit);
  const pencil = PENCILS[stroke.colour ?? 'blue'];
  const look = { colour: tint ?? pencil.css, rim: pencil.rim };
  const aspect = box.width / box.height;
  if (stroke.tool === 'text') paintText(context, stroke, aspect, { ...look, mirrored: box.mirrored });
  else if (stroke.tool === 'pencil' || stroke.tool === 'eraser') fillPencil(context, stroke, aspect, look);
  else strokeLine(context, stroke, aspect, look);
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

interface Look {
  readonly colour: string;
  readonly rim: string;
}

function fillPencil(context: Context, stroke: Stroke, aspect: number, look: Look): void {
  if (stroke.tool === 'eraser') context.globalCompositeOperation = 'destination-out';
  const path = pathOf(stroke, aspect, () => pencilPath(stroke, aspect));
  if (stroke.tool === 'pencil') rim(context, path, LOOK.rim.wide, look);
  context.fillStyle = look.colour;
  context.fill(path);
}

function strokeLine(context: Context, stroke: Stroke, aspect: number, look: Look): void {
  const width = thickness(stroke);
  context.lineCap = context.lineJoin = 'round';
  const dash = stroke.dashed ? [width * LOOK.dash.on, width * LOOK.dash.off] : [];
  const parts = [
    { path: pathOf(stroke, aspect, () => linePath(stroke, aspect)), dash },
    { path: new Path2D(endsPath(stroke, aspect)), dash: [] },
  ];
  for (const part of parts) {
    context.setLineDash(part.dash);
    rim(context, part.path, width + LOOK.rim.wide, look);
  }
  context.strokeStyle = look.colour;
  context.lineWidth = width;
  for (const part of parts) {
    context.setLineDash(part.dash);
    context.stroke(part.path);
  }
}

/** A thin line round the stroke, and under it, so that it can be seen on any picture. */
function rim(context: Context, path: Path2D, width: number, look: Look): void {
  const alpha = context.globalAlpha;
  context.globalAlpha = alpha * LOOK.rim.opacity;
  context.strokeStyle = look.rim;
  context.lineWidth = width;
  context.lineJoin = 'round';
  context.stroke(path);
  context.globalAlpha = alpha;
}

/** Words over the same place of a mirrored picture, and still to be read. */
function paintText(context: Context, stroke: Stroke, aspect: number, look: Look & { readonly mirrored?: boolean }): void {
  const [point] = inUnits(stroke, aspect);
  const at = { x: way(look) * point.x, y: point.y };
  context.scale(way(look), 1);
  if (look.mirrored) context.textAlign = 'right';
  const size = textSize(stroke);
  context.font = `600 ${size}px "Plex Condensed", sans-serif`;
  context.lineWidth = size * LOOK.text.rim;
  context.lineJoin = 'round';
  context.strokeStyle = look.rim;
  context.strokeText(stroke.text ?? '', at.x, at.y);
  context.fillStyle = look.colour;
  context.fillText(stroke.text ?? '', at.x, at.y);
}

function pathOf(stroke: Stroke, aspect: number, make: () => string): Path2D {
  const old = paths.get(stroke);
  if (old && Math.abs(old.aspect - aspect) < 1e-6) return old.path;
  const path = new Path2D(make());
  paths.set(stroke, { aspect, path });
  return path;
}
