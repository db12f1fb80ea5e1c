import type { SeriesId, StretchKind, Weight } from '../api/types';
import type { Palette } from '../paint/colours';
import MARKS from '../../../src/shotcrit/sheet/marks.json';

/** How each thing on the sheet looks, here and on paper. What the fields mean stands in sheet/marks.py. */
export type Point = readonly [across: number, down: number];

export interface StretchLook {
  readonly shape: 'line' | 'box' | 'outline' | 'strokes' | 'bar' | 'rules' | 'zigzag' | 'band' | 'ticks';
  readonly line?: string;
  readonly fill?: string;
  readonly text?: string;
  readonly width?: number;
  readonly size?: number;
  readonly dash?: readonly number[];
  readonly outline?: readonly Point[];
  readonly strokes?: readonly (readonly Point[])[];
}

export interface CurveLook {
  readonly colour: string;
  readonly width: number;
  readonly dash?: readonly number[];
  readonly wash?: string;
}

export interface WeightLook {
  readonly colour: string;
  readonly wash: string;
  readonly width: number;
}

export type Marks = typeof MARKS;
export const STRETCHES = MARKS.stretches as unknown as Record<StretchKind, StretchLook>;
export const CURVES = MARKS.curves as unknown as Record<SeriesId, CurveLook>;
export const WEIGHTS: Record<Weight, WeightLook> = MARKS.weights;
export const HEADS: readonly { readonly key: string; readonly head: string; readonly help: string }[] = MARKS.columns;

/** CSS px in a row of the sheet as it opens, for a point on paper. */
export const PX = 1.5;

/** A colour by its name in the palette: 'ochre-wash'. */
export const colourOf = (colours: Palette, name: string): string => colours[name.replace(/-(\w)/g, (_, letter: string) => letter.toUpperCase()) as keyof Palette];
