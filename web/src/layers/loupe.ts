import type { Box } from '../geometry/view';

/** The inset beside the pointer: a round piece of the picture, large enough to place a point within parts of a pixel. */

/** CSS px across. */
export const LOUPE = 172;
/** CSS px between pointer and inset. */
const GAP = 26;
/** CSS px that one pixel of the full-size picture takes. */
const PIXEL = 5;

/** Where the inset lies: beside the pointer, on the side that has room; never over the point itself. */
export function loupePlace(p: { x: number; y: number }, stage: { width: number; height: number }): { left: number; top: number } {
  const right = p.x + GAP + LOUPE <= stage.width;
  const left = right ? p.x + GAP : p.x - GAP - LOUPE;
  const top = Math.min(Math.max(p.y - LOUPE - GAP / 2, 0), Math.max(0, stage.height - LOUPE));
  const covers = top + LOUPE > p.y - GAP / 2 && left < p.x + GAP / 2 && left + LOUPE > p.x - GAP / 2;
  return { left: Math.max(0, left), top: covers ? Math.max(0, p.y - LOUPE - GAP) : top };
}

export interface LoupeView {
  readonly image: ImageBitmap;
  readonly at: { x: number; y: number };
  /** Of the full-size picture, px. */
  readonly full: { width: number; height: number };
  /** Points placed on this frame, fractions of the picture. */
  readonly points: readonly { x: number; y: number; held: boolean }[];
}

/** Where the whole picture would lie so that `at` is in the middle of the inset; to draw with. */
export function loupeBox(at: { x: number; y: number }, full: { width: number; height: number }): Box {
  const [width, height] = [full.width * PIXEL, full.height * PIXEL];
  return { left: LOUPE / 2 - at.x * width, top: LOUPE / 2 - at.y * height, width, height };
}

export function paintLoupe(on: CanvasRenderingContext2D, view: LoupeView): void {
  const box = loupeBox(view.at, view.full);
  on.clearRect(0, 0, LOUPE, LOUPE);
  on.save();
  on.beginPath();
  on.arc(LOUPE / 2, LOUPE / 2, LOUPE / 2 - 2, 0, Math.PI * 2);
  on.fillStyle = '#666';
  on.fill();
  on.clip();
  on.imageSmoothingQuality = 'high';
  drawPart(on, view.image, box);
  for (const p of view.points) ring(on, box.left + p.x * box.width, box.top + p.y * box.height, 5, p.held ? '#d8402b' : '#f7f4ee');
  on.restore();
  cross(on);
  ring(on, LOUPE / 2, LOUPE / 2, LOUPE / 2 - 2, '#f7f4ee');
}

/** Only the part of the image that is seen: drawing a picture at five times its size would be slow. */
function drawPart(on: CanvasRenderingContext2D, image: ImageBitmap, box: Box): void {
  const sx = Math.max(0, -box.left / box.width);
  const sy = Math.max(0, -box.top / box.height);
  const ex = Math.min(1, (LOUPE - box.left) / box.width);
  const ey = Math.min(1, (LOUPE - box.top) / box.height);
  if (ex <= sx || ey <= sy) return;
  const [w, h] = [image.width, image.height];
  on.drawImage(image, sx * w, sy * h, (ex - sx) * w, (ey - sy) * h, box.left + sx * box.width, box.top + sy * box.height, (ex - sx) * box.width, (ey - sy) * box.height);
}

function cross(on: CanvasRenderingContext2D): void {
  const c = LOUPE / 2;
  for (const [style, width] of [['rgba(20, 18, 15, 0.6)', 3], ['#f7f4ee', 1]] as const) {
    on.strokeStyle = style;
    on.lineWidth = width;
    on.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      on.moveTo(c + dx * 7, c + dy * 7);
      on.lineTo(c + dx * 30, c + dy * 30);
    }
    on.stroke();
  }
  on.fillStyle = '#d8402b';
  on.fillRect(c - 1, c - 1, 2, 2);
}

function ring(on: CanvasRenderingContext2D, x: number, y: number, radius: number, colour: string): void {
  for (const [style, width] of [['rgba(20, 18, 15, 0.6)', 3.5], [colour, 1.6]] as const) {
    on.strokeStyle = style;
    on.lineWidth = width;
    on.beginPath();
    on.arc(x, y, radius, 0, Math.PI * 2);
    on.stroke();
  }
}
