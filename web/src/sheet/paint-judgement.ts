import type { TrayFinding, Weight } from '../api/types';
import { isOpen } from './findings';
import { lanes } from './lanes';
import { colourOf, PX, WEIGHTS } from './marks';
import { clipTo, font, type Painter, type Scene } from './painting';
import { yOf } from './rows';

/** Found: a bracket a finding, as heavy as it weighs, its value beside it. */
export const paintFound: Painter = (scene, column) => {
  const open = scene.judgement.findings.filter(isOpen);
  const laid = lanes(open);
  const step = Math.min(10, (column.width - 8) / Math.max(1, laid.count));
  open.forEach((finding, k) => bracket(scene, finding, column.x + 4 + laid.lane[k] * step, laid.count === 1 ? column.x + column.width : 0));
};

/** Rows at either end that tell of a finding about the whole shot: a line down all of it would only say that the shot is long. */
const STUB = 3;
export const isWhole = (f: { first: number; last: number }, frames: number): boolean => f.first === 0 && f.last >= frames - 1 && frames > 2 * STUB;

function bracket(scene: Scene, f: TrayFinding, x: number, room: number): void {
  const { on, rows, colours } = scene;
  const top = yOf(rows, f.first) + 1.5;
  const bottom = Math.max(top + 1, yOf(rows, f.last + 1) - 1.5);
  if (bottom < 0 || top > rows.height) return;
  const look = WEIGHTS[f.weight];
  on.strokeStyle = on.fillStyle = colourOf(colours, look.colour);
  on.lineWidth = look.width * PX * (f.key === scene.chosenFinding ? 1.6 : 0.9);
  on.beginPath();
  on.moveTo(x + 5, top);
  on.lineTo(x, top);
  if (isWhole(f, scene.model.sheet.frames)) {
    on.lineTo(x, yOf(rows, STUB));
    on.moveTo(x, yOf(rows, f.last + 1 - STUB));
  }
  on.lineTo(x, bottom);
  on.lineTo(x + 5, bottom);
  on.stroke();
  if (!room || bottom - top < 12) return;
  on.font = font(11, 600);
  on.textBaseline = 'middle';
  on.fillText(shortNumber(f.numbers.value), x + 7, (Math.max(top, 0) + Math.min(bottom, rows.height)) / 2, room - x - 9);
}

export const shortNumber = (v: number): string => (Math.abs(v) >= 10 || Number.isInteger(v) ? `${Math.round(v)}` : v.toPrecision(2));

/** Notes: a numbered slip over its frames; first-look markers: a pencil cross on their frame. */
export const paintNotes: Painter = (scene, column) => {
  clipTo(scene, column, () => {
    const laid = lanes(scene.judgement.notes);
    const wide = (column.width - 4) / Math.max(1, laid.count);
    scene.judgement.notes.forEach((note, k) => slip(scene, { ...note, weight: note.weight ?? 'polish' }, k + 1, column.x + 2 + laid.lane[k] * wide, wide - 2));
    for (const marker of scene.judgement.markers) cross(scene, marker.frame, column.x + column.width - 9);
  });
};

function slip(scene: Scene, note: { id: string; first: number; last: number; weight: Weight }, number: number, x: number, wide: number): void {
  const { on, rows, colours } = scene;
  const top = yOf(rows, note.first) + 1;
  const bottom = Math.max(top + 3, yOf(rows, note.last + 1) - 1);
  if (bottom < 0 || top > rows.height) return;
  const look = WEIGHTS[note.weight];
  const [wash, pencil] = [colourOf(colours, look.wash), colourOf(colours, look.colour)];
  on.fillStyle = wash;
  on.fillRect(x, top, wide, bottom - top);
  on.fillStyle = pencil;
  on.fillRect(x, top, note.id === scene.chosenNote ? 4 : 2, bottom - top);
  if (bottom - top < 11) return;
  on.font = font(12, 600);
  on.textAlign = 'center';
  on.textBaseline = 'middle';
  on.fillText(`${number}`, x + wide / 2 + 1, (Math.max(top, 0) + Math.min(bottom, rows.height)) / 2);
  on.textAlign = 'left';
}

function cross(scene: Scene, frame: number, x: number): void {
  const y = yOf(scene.rows, frame + 0.5);
  const { on } = scene;
  on.strokeStyle = scene.colours.ink;
  on.lineWidth = 1.6;
  on.beginPath();
  on.moveTo(x - 4, y - 4);
  on.lineTo(x + 4, y + 4);
  on.moveTo(x + 4, y - 4);
  on.lineTo(x - 4, y + 4);
  on.stroke();
}
