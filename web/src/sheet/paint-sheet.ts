import type { Range } from '../geometry/brands';
import type { Palette } from '../paint/colours';
import type { ColumnId, Laid } from './columns';
import { paintBody, paintEyes, paintMouth } from './paint-acting';
import { paintFound, paintNotes } from './paint-judgement';
import { paintAir, paintPhones, paintWave, paintWords } from './paint-sound';
import { clipTo, font, type Painter, type Scene } from './painting';
import { numberStep, yOf, type Rows } from './rows';

const HALF_SECOND = 0.5;

const paintNumbers: Painter = (scene, column) => {
  const { on, rows, model, colours } = scene;
  const step = numberStep(rows.rowHeight);
  const perSecond = Math.round(model.clock.rate);
  on.textAlign = 'right';
  on.textBaseline = 'middle';
  for (let i = scene.first; i <= scene.last; i++) {
    const number = model.clock.shown(i);
    if (number % step !== 0 && rows.rowHeight < 12) continue;
    const whole = i % perSecond === 0;
    on.fillStyle = whole ? colours.ink : colours.soft;
    on.font = font(whole ? 12 : 11, whole ? 600 : 400);
    on.fillText(`${number}`, column.x + column.width - 7, yOf(rows, i + 0.5));
  }
  on.textAlign = 'left';
};

/** Picture: a dead frame is a filled stamp, one a row, so that they can be counted; a cut is a torn edge across all columns. */
const paintPicture: Painter = (scene, column) => {
  const { on, rows, model, colours } = scene;
  on.fillStyle = colours.red;
  for (let i = scene.first; i <= scene.last; i++) {
    if (!model.dead[i]) continue;
    const gap = rows.rowHeight > 5 ? 1.5 : 0;
    on.fillRect(column.x + 7, yOf(rows, i) + gap, column.width - 14, Math.max(0.8, rows.rowHeight - 2 * gap));
  }
};

const PAINTERS: Record<ColumnId, Painter> = {
  frame: paintNumbers,
  picture: paintPicture,
  sound: paintWave,
  words: paintWords,
  phones: paintPhones,
  air: paintAir,
  mouth: paintMouth,
  eyes: paintEyes,
  body: paintBody,
  found: paintFound,
  notes: paintNotes,
};

/** The paper with everything on it but playhead and chosen range. */
export function paintSheet(scene: Scene, columns: readonly Laid[], width: number): void {
  scene.on.fillStyle = scene.colours.paper;
  scene.on.fillRect(0, 0, width, scene.rows.height);
  paintRules(scene, columns, width);
  for (const column of columns) {
    if (column.folded) paintSlit(scene, column);
    else clipTo(scene, column, () => PAINTERS[column.id](scene, column));
  }
  paintCuts(scene, columns, width);
}

function paintRules(scene: Scene, columns: readonly Laid[], width: number): void {
  const { on, rows, colours, model } = scene;
  const half = Math.max(1, Math.round(model.clock.rate * HALF_SECOND));
  for (let i = scene.first; i <= scene.last + 1; i++) {
    const strong = i % half === 0;
    if (!strong && rows.rowHeight < 5) continue;
    on.fillStyle = strong ? colours.ruleStrong : colours.rule;
    on.fillRect(0, Math.round(yOf(rows, i)), width, 1);
  }
  on.fillStyle = colours.ruleStrong;
  for (const column of columns) on.fillRect(Math.round(column.x + column.width) - 1, 0, 1, rows.height);
}

/** A folded column: shaded, with a tick on each row where it holds something. */
function paintSlit(scene: Scene, column: Laid): void {
  const { on, rows, colours } = scene;
  on.fillStyle = colours.shade;
  on.fillRect(column.x, 0, column.width - 1, rows.height);
  on.fillStyle = colours.graphite;
  for (let i = scene.first; i <= scene.last; i++) {
    if (holds(scene, column.id, i)) on.fillRect(column.x + 3, yOf(rows, i) + 0.5, column.width - 7, Math.max(1, rows.rowHeight - 1));
  }
}

function holds(scene: Scene, id: ColumnId, i: number): boolean {
  const { sheet, dead, movement } = scene.model;
  const on = (list: readonly { first: number; last: number }[]): boolean => list.some((e) => i >= e.first && i <= e.last);
  switch (id) {
    case 'picture':
      return dead[i] === 1;
    case 'phones':
      return on(sheet.phones);
    case 'air':
      return on(sheet.breaths) || sheet.tremors.some((t) => scene.model.clock.position(t.start_s) < i + 1 && scene.model.clock.position(t.end_s) > i);
    case 'sound':
      return sheet.accents.some((a) => a.frame === i);
    case 'eyes':
      return on(sheet.blinks);
    case 'mouth':
      return scene.model.players.some((a) => (a.opening?.values[i] ?? 0) > 0.15);
    case 'body':
      return (movement?.values[i] ?? 0) > 0.5;
    default:
      return false;
  }
}

function paintCuts(scene: Scene, columns: readonly Laid[], width: number): void {
  const { on, rows, colours } = scene;
  for (const cut of scene.model.sheet.cuts) {
    const y = yOf(rows, cut.frame);
    if (y < -4 || y > rows.height + 4) continue;
    on.strokeStyle = colours.ink;
    on.lineWidth = 1.5;
    on.beginPath();
    for (let x = 0; x <= width; x += 6) on.lineTo(x, y + (x % 12 === 0 ? -1.5 : 1.5));
    on.stroke();
    const column = columns.find((c) => c.id === 'picture' && !c.folded);
    if (!column) continue;
    on.fillStyle = colours.ink;
    on.font = font(11, 600);
    on.textBaseline = 'top';
    on.fillText(cut.by_hand ? 'cut ✓' : 'cut', column.x + 4, y + 3);
  }
}

/** The band of the playhead and the chosen range, on a canvas of its own so that playing repaints little. */
export function paintOver(on: CanvasRenderingContext2D, how: { rows: Rows; width: number; playhead: number; range: Range | null; colours: Palette; faint: boolean }): void {
  const { rows, width, playhead, range, colours } = how;
  on.clearRect(0, 0, width, rows.height);
  if (range) {
    const top = yOf(rows, range.first);
    const bottom = yOf(rows, range.last + 1);
    on.fillStyle = 'rgba(120, 96, 40, 0.13)';
    on.fillRect(0, top, width, bottom - top);
    on.fillStyle = colours.ochre;
    on.fillRect(0, top, 4, bottom - top);
    on.fillRect(0, top, width, 1.5);
    on.fillRect(0, bottom - 1.5, width, 1.5);
  }
  const y = yOf(rows, playhead);
  on.fillStyle = 'rgba(38, 34, 29, 0.14)';
  on.fillRect(0, y, width, rows.rowHeight);
  on.fillStyle = colours.ink;
  on.fillRect(0, Math.round(y), width, 1.5);
  on.fillRect(0, Math.round(y + rows.rowHeight) - 1.5, width, 1.5);
}
