import { clamp, ordinal, type Ordinal } from '../geometry/brands';

/** How the rows lie in the window: one row a frame, running down. scroll: px of paper above the window. */
export interface Rows {
  readonly frames: number;
  readonly rowHeight: number;
  readonly scroll: number;
  readonly height: number;
}

/** The whole shot fits; a short shot keeps rows that can be read. */
export const leastRow = (height: number, frames: number): number => Math.min(height / frames, 16);
/** Times the window: one frame fills it. */
const GREATEST_ROW = 1;
/** Paper beyond the first and last row, in windows' halves, so that the ends can come to the middle. */
const MARGIN_ROWS = 0.5;

const least = (r: Rows): number => leastRow(r.height, r.frames);

export function settled(r: Rows): Rows {
  const rowHeight = clamp(r.rowHeight, least(r), Math.max(least(r), r.height * GREATEST_ROW));
  const paper = rowHeight * r.frames;
  const spare = paper <= r.height ? 0 : r.height * MARGIN_ROWS * 0.2;
  return { ...r, rowHeight, scroll: clamp(r.scroll, -spare, Math.max(-spare, paper - r.height + spare)) };
}

/** y of a fractional frame number, CSS px from the window's top. */
export const yOf = (r: Rows, position: number): number => position * r.rowHeight - r.scroll;

/** Fractional frame number at y. */
export const positionAtY = (r: Rows, y: number): number => (y + r.scroll) / r.rowHeight;

export const rowAt = (r: Rows, y: number): Ordinal => ordinal(clamp(Math.floor(positionAtY(r, y)), 0, r.frames - 1));

/** Rows that touch the window: nothing else is drawn. */
export function visible(r: Rows): { first: number; last: number } {
  const first = Math.floor(positionAtY(r, 0));
  const last = Math.ceil(positionAtY(r, r.height)) - 1;
  return { first: clamp(first, 0, r.frames - 1), last: clamp(last, 0, r.frames - 1) };
}

/** Zoom so that the row under y stays under it. */
export function zoomRows(r: Rows, factor: number, y: number): Rows {
  const held = positionAtY(r, y);
  const rowHeight = settled({ ...r, rowHeight: r.rowHeight * factor }).rowHeight;
  return settled({ ...r, rowHeight, scroll: held * rowHeight - y });
}

export const scrollBy = (r: Rows, dy: number): Rows => settled({ ...r, scroll: r.scroll + dy });

const NEAR_EDGE = 0.14;
const TURN_TO = 0.2;

/** Keep a frame in sight. When it nears an edge the paper moves on by most of a page, as a page is turned: seldom, and by much. */
export function follow(r: Rows, i: number): Rows {
  const y = yOf(r, i + 0.5);
  if (r.rowHeight > r.height / 2) return settled({ ...r, scroll: (i + 0.5) * r.rowHeight - r.height / 2 });
  if (y >= r.height * NEAR_EDGE && y <= r.height * (1 - NEAR_EDGE)) return r;
  const to = y < r.height * NEAR_EDGE ? 1 - TURN_TO : TURN_TO;
  return settled({ ...r, scroll: (i + 0.5) * r.rowHeight - r.height * to });
}

/** Show a range as large as it goes, with a little paper around it. */
export function fitRange(r: Rows, range: { first: number; last: number }): Rows {
  const rows = range.last - range.first + 1;
  const rowHeight = settled({ ...r, rowHeight: r.height / (rows * 1.15) }).rowHeight;
  return settled({ ...r, rowHeight, scroll: ((range.first + range.last + 1) / 2) * rowHeight - r.height / 2 });
}

/** Every how many rows a number is written, so that numbers never touch. */
export function numberStep(rowHeight: number): number {
  const LINE = 12;
  return [1, 2, 4, 6, 12, 24, 48, 120, 240, 480].find((n) => n * rowHeight >= LINE) ?? 1200;
}
