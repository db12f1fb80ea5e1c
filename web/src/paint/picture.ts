import type { Drawing, TrayFinding } from '../api/types';
import type { Range } from '../geometry/brands';
import type { Box } from '../geometry/view';
import { neighbours, onFrame } from '../ink/drawings';
import { paintGuides, type Crop } from './guides';
import { NEIGHBOUR_TINTS, paintEvidence, type Sketch } from './overlay';
import { paintDrawing, paintDrawings } from './strokes';

const NEIGHBOUR_ALPHA = 0.28;
const NEIGHBOUR_DRAWING_ALPHA = 0.4;

/** The picture itself, and the frames beside it shining through when asked for. */
export function paintPicture(on: CanvasRenderingContext2D, images: { now: ImageBitmap; neighbours: (ImageBitmap | undefined)[] }, box: Box): void {
  const { width, height } = on.canvas;
  on.save();
  on.setTransform(1, 0, 0, 1, 0, 0);
  on.clearRect(0, 0, width, height);
  on.restore();
  on.imageSmoothingQuality = smoothing((box.width * on.getTransform().a) / images.now.width);
  on.save();
  if (box.mirrored) turn(on, box);
  on.drawImage(images.now, box.left, box.top, box.width, box.height);
  for (const neighbour of images.neighbours) {
    if (!neighbour) continue;
    on.globalAlpha = NEIGHBOUR_ALPHA;
    on.drawImage(neighbour, box.left, box.top, box.width, box.height);
    on.globalAlpha = 1;
  }
  on.restore();
}

/** Left to right, in place. */
function turn(on: CanvasRenderingContext2D, box: Box): void {
  on.translate(2 * box.left + box.width, 0);
  on.scale(-1, 1);
}

/** At half size four pixels are mixed into one, and none is passed over. */
const FINEST_HALF = 0.5;

/**
 * Between half and full size the plain mixing of four pixels is within 45 dB of what browsers call high (measured on the demo film), at a sixth of
 * the time where there is no graphics card. scale: width on the screen, in its own pixels, to that of the picture.
 */
export const smoothing = (scale: number): ImageSmoothingQuality => (scale >= FINEST_HALF && scale <= 1 ? 'low' : 'high');

/** What lies over the picture: only what was asked for. */
export interface Over {
  readonly frame: number;
  readonly drawings: readonly Drawing[];
  readonly finding: TrayFinding | null;
  readonly sketch: Sketch;
  /** The drawing that the sketch joins: rubbing out shows at once. */
  readonly sketchOn: string | null;
  /** The shot that the frame is in: nothing shines through a cut. */
  readonly shot: Range;
  readonly layers: { drawings: boolean; neighbours: boolean; evidence: boolean };
  readonly guides: { crop: Crop | null; safe: boolean };
}

export function paintOverPicture(on: CanvasRenderingContext2D, over: Over, box: Box): void {
  on.save();
  on.setTransform(1, 0, 0, 1, 0, 0);
  on.clearRect(0, 0, on.canvas.width, on.canvas.height);
  on.restore();
  paintGuides(on, over.guides, box);
  if (over.layers.neighbours) paintNeighbourDrawings(on, over, box);
  if (over.layers.drawings) paintOwn(on, over, box);
  if (over.layers.evidence && over.finding) paintEvidence(on, over.finding, over.frame, box);
}

function paintOwn(on: CanvasRenderingContext2D, over: Over, box: Box): void {
  const here = onFrame(over.drawings, over.frame);
  const joined = over.sketch && here.find((d) => d.id === over.sketchOn);
  paintDrawings(on, here.filter((d) => d !== joined), box);
  if (over.sketch) paintDrawing(on, [...(joined ? (joined.strokes ?? []) : []), over.sketch], box);
}

function paintNeighbourDrawings(on: CanvasRenderingContext2D, over: Over, box: Box): void {
  const near = neighbours(over.drawings, over.frame, over.shot);
  for (const side of ['before', 'after'] as const) {
    const drawing = near[side];
    if (drawing) paintDrawing(on, drawing.strokes ?? [], box, { tint: NEIGHBOUR_TINTS[side], alpha: NEIGHBOUR_DRAWING_ALPHA });
  }
}
