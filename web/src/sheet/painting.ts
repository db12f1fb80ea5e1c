import type { Palette } from '../paint/colours';
import type { Laid } from './columns';
import type { Judgement, SheetModel } from './model';
import type { Rows } from './rows';

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
  readonly chosenNote: string | null;
  readonly chosenFinding: string | null;
}

export type Painter = (scene: Scene, column: Laid) => void;

export const FONT = '"Plex Condensed", sans-serif';
export const font = (size: number, weight = 400): string => `${weight} ${size}px ${FONT}`;

/** Text that is cut off with an ellipsis rather than run into its neighbour. */
export function fitText(on: CanvasRenderingContext2D, text: string, width: number): string {
  if (on.measureText(text).width <= width) return text;
  let keep = text.length - 1;
  while (keep > 0 && on.measureText(`${text.slice(0, keep)}…`).width > width) keep--;
  return keep > 0 ? `${text.slice(0, keep)}…` : '';
}

export function clipTo(scene: Scene, column: Laid, paint: () => void): void {
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
