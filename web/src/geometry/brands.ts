/** Kinds of numbers that must never be mixed up. A brand costs nothing at run time. */

declare const kind: unique symbol;
type Branded<T, K extends string> = T & { readonly [kind]: K };

/** Index of a frame, counted from 0, as everything inside counts. */
export type Ordinal = Branded<number, 'ordinal'>;
/** Number of a frame as people see it: ordinal + first_frame. */
export type Shown = Branded<number, 'shown'>;
/** Seconds from the first picture. */
export type Seconds = Branded<number, 'seconds'>;
/** A point as fractions of the picture's width and height, origin top left, y down. */
export type PicturePoint = Branded<{ x: number; y: number }, 'picture'>;
/** A point in CSS pixels of the element that shows it. */
export type ScreenPoint = Branded<{ x: number; y: number }, 'screen'>;

export const ordinal = (n: number): Ordinal => n as Ordinal;
export const shown = (n: number): Shown => n as Shown;
export const seconds = (n: number): Seconds => n as Seconds;
export const onPicture = (x: number, y: number): PicturePoint => ({ x, y }) as PicturePoint;
export const onScreen = (x: number, y: number): ScreenPoint => ({ x, y }) as ScreenPoint;

/** Frames first..last, both inside. */
export interface Range {
  readonly first: Ordinal;
  readonly last: Ordinal;
}

export const range = (a: number, b: number): Range => ({
  first: ordinal(Math.min(a, b)),
  last: ordinal(Math.max(a, b)),
});
export const rangeLength = (r: Range): number => r.last - r.first + 1;
export const within = (r: { first: number; last: number }, i: number): boolean => i >= r.first && i <= r.last;
export const clamp = (n: number, low: number, high: number): number => Math.min(Math.max(n, low), high);
