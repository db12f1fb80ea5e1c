import type { PencilColour, Stroke, ToolName } from '../api/types';
import type { PicturePoint } from '../geometry/brands';

/** A pen point as it is kept for good: x, y as fractions of the picture, pressure 0..1, milliseconds since the stroke began. */
export type PenPoint = [x: number, y: number, pressure: number, ms: number];

export interface Pencil {
  readonly tool: ToolName;
  readonly colour: PencilColour;
  /** Part of the picture's height; how thick a pressed line of it is stands in sheet/ink.json. */
  readonly width: number;
  readonly dashed: boolean;
}

/** Pen points between a press and a lift are kept as they came; outlines are derived, never stored. */
export function penPoint(at: PicturePoint, pressure: number, ms: number): PenPoint {
  return [at.x, at.y, Math.min(1, Math.max(0, pressure)), Math.max(0, ms)];
}

/** The stroke as it is saved. Tools made of two ends keep only these. */
export function toStroke(pencil: Pencil, points: readonly PenPoint[], text = ''): Stroke {
  const ends = pencil.tool === 'pencil' || pencil.tool === 'eraser' ? points : twoEnds(points);
  return { tool: pencil.tool, colour: pencil.colour, width: pencil.width, dashed: pencil.dashed, text, points: ends.map((p) => [...p]) as Stroke['points'] };
}

const twoEnds = (points: readonly PenPoint[]): PenPoint[] =>
  points.length < 2 ? [...points] : [points[0], points[points.length - 1]];

/** A drawing moved as a mark moved: every stroke by the same step, fractions of the picture. */
export function moved(stroke: Stroke, dx: number, dy: number): Stroke {
  return { ...stroke, points: stroke.points.map(([x, y, p, ms]) => [x + dx, y + dy, p, ms]) as Stroke['points'] };
}
