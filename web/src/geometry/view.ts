import { clamp, onPicture, onScreen, type PicturePoint, type ScreenPoint } from './brands';

/** How the picture lies in its stage. zoom 1 = the whole picture fits; centre: the picture point in the stage's middle. */
export interface PictureView {
  readonly zoom: number;
  readonly centre: PicturePoint;
}

/** The stage and the picture's own shape, CSS px and a ratio width / height. */
export interface Stage {
  readonly width: number;
  readonly height: number;
  readonly aspect: number;
  /** Seen left to right. */
  readonly mirrored?: boolean;
}

/** Where the picture lies on the stage, CSS px; mirrored: its left edge lies on the right. */
export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
  readonly mirrored?: boolean;
}

export const WHOLE: PictureView = { zoom: 1, centre: onPicture(0.5, 0.5) };
/** Times: at 16 a pixel of a 1280 px picture is as large as a fingertip on most screens (guess). */
export const CLOSEST = 16;
const ZOOM_STEP = 1.25;

export function pictureBox(view: PictureView, stage: Stage): Box {
  const fit = Math.min(stage.width, stage.height * stage.aspect);
  const width = fit * view.zoom;
  const height = width / stage.aspect;
  return {
    left: stage.width / 2 - across(view.centre.x, stage) * width,
    top: stage.height / 2 - view.centre.y * height,
    width,
    height,
    ...(stage.mirrored && { mirrored: true }),
  };
}

/** A fraction of the picture's width as it is seen, or back. */
const across = (x: number, { mirrored }: { readonly mirrored?: boolean }): number => (mirrored ? 1 - x : x);

export function screenToPicture(p: ScreenPoint, box: Box): PicturePoint {
  return onPicture(across((p.x - box.left) / box.width, box), (p.y - box.top) / box.height);
}

export function pictureToScreen(p: { x: number; y: number }, box: Box): ScreenPoint {
  return onScreen(box.left + across(p.x, box) * box.width, box.top + p.y * box.height);
}

/** Which way a movement to the right goes in the picture. */
export const way = ({ mirrored }: { readonly mirrored?: boolean }): 1 | -1 => (mirrored ? -1 : 1);

/** Zoom by a factor so that the picture point under `at` stays under it. */
export function zoomAt(view: PictureView, stage: Stage, at: ScreenPoint, factor: number): PictureView {
  const zoom = clamp(view.zoom * factor, 1, CLOSEST);
  const held = screenToPicture(at, pictureBox(view, stage));
  const box = pictureBox({ zoom, centre: view.centre }, stage);
  const centre = onPicture(
    held.x - (way(stage) * (at.x - stage.width / 2)) / box.width,
    held.y - (at.y - stage.height / 2) / box.height,
  );
  return kept({ zoom, centre });
}

export const zoomStep = (view: PictureView, stage: Stage, steps: number): PictureView =>
  zoomAt(view, stage, onScreen(stage.width / 2, stage.height / 2), ZOOM_STEP ** steps);

export function panBy(view: PictureView, stage: Stage, dx: number, dy: number): PictureView {
  const box = pictureBox(view, stage);
  return kept({ zoom: view.zoom, centre: onPicture(view.centre.x - (way(stage) * dx) / box.width, view.centre.y - dy / box.height) });
}

/** The middle of the stage never leaves the picture; at zoom 1 the picture lies in the middle. */
function kept(view: PictureView): PictureView {
  if (view.zoom === 1) return WHOLE;
  return { zoom: view.zoom, centre: onPicture(clamp(view.centre.x, 0, 1), clamp(view.centre.y, 0, 1)) };
}
