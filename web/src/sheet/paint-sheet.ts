import type { Range } from '../geometry/brands';
import type { Palette } from '../paint/colours';
import type { ColumnId, Laid } from './columns';
import { colourOf, PX, STRETCHES } from './marks';
import { covers, laneCurve, lanesOf } from './model';
import { paintAir, paintPhones, paintWave, paintWords } from './paint-heard';
import { paintFound, paintNotes } from './paint-judgement';
import { paintCurves, paintEyes, paintPicture } from './paint-seen';
import { clipTo, font, paintCurve, stripOf, writeDown, type Painter, type Scene } from './painting';
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

const PAINTERS: Record<ColumnId, Painter> = {
  frame: paintNumbers,
  picture: paintPicture,
  sound: paintWave,
  words: paintWords,
  phones: paintPhones,
  air: paintAir,
  mouth: paintCurves,
  eyes: paintEyes,
  body: paintCurves,
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
    else clipTo(scene, column, () => paintColumn(scene, column));
  }
  paintCuts(scene, columns, width);
  paintHandles(scene, width);
}

/** What does not count lies under thin paper, with a ruled line where the judged frames begin and end. */
function paintHandles(scene: Scene, width: number): void {
  const { on, rows, colours, counts } = scene;
  if (!counts) return;
  const top = yOf(rows, counts.first);
  const bottom = yOf(rows, counts.last + 1);
  on.save();
  on.globalAlpha = 0.72;
  on.fillStyle = colours.shade;
  on.fillRect(0, 0, width, Math.max(0, top));
  on.fillRect(0, bottom, width, Math.max(0, rows.height - bottom));
  on.restore();
  on.fillStyle = colours.ink;
  on.fillRect(0, Math.round(top) - 1, width, 1);
  on.fillRect(0, Math.round(bottom), width, 1);
}

/** A column that cannot be painted says so, and the others stand. */
function paintColumn(scene: Scene, column: Laid): void {
  try {
    PAINTERS[column.id](scene, column);
    paintEvidence(scene, column);
  } catch {
    scene.on.fillStyle = scene.colours.soft;
    scene.on.font = font(12);
    writeDown(scene.on, 'cannot be drawn', column.x + column.width / 2, 0, scene.rows.height);
  }
}

/** The curves that the chosen finding rests on, in the lane of whom it is about. */
function paintEvidence(scene: Scene, column: Laid): void {
  const finding = scene.judgement.findings.find((f) => f.key === scene.chosenFinding);
  if (!finding || finding.column !== column.id) return;
  const lanes = lanesOf(scene.model, column.id);
  const own = lanes.findIndex((l) => l.who === finding.who);
  const strip = own < 0 ? column : stripOf(column, own, lanes.length);
  for (const curve of finding.evidence) paintCurve(scene, laneCurve(curve), strip);
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

/** Of a lane's width: from here on a curve is something. */
const SOMETHING = 0.5;

function holds(scene: Scene, id: ColumnId, i: number): boolean {
  return lanesOf(scene.model, id).some(
    (lane) => lane.stretches.some((s) => covers(s, i)) || lane.curves.some((c) => c.slices === 1 && c.values[i - c.first] > SOMETHING),
  );
}

/** A heavy line over the whole sheet where a new shot begins, named in the picture's column. */
function paintCuts(scene: Scene, columns: readonly Laid[], width: number): void {
  const { on, rows, colours, model } = scene;
  const look = STRETCHES.cut;
  const named = columns.find((c) => c.id === 'picture' && !c.folded);
  const cuts = lanesOf(model, 'picture').flatMap((lane) => lane.stretches.filter((s) => STRETCHES[s.kind].shape === 'line'));
  for (const cut of cuts) {
    const y = yOf(rows, cut.start);
    if (y < -20 || y > rows.height + 4) continue;
    on.fillStyle = colourOf(colours, look.line ?? 'ink');
    on.fillRect(0, y - (look.width! * PX) / 2, width, look.width! * PX);
    if (!named) continue;
    const text = cut.event !== null && model.sheet.cuts[cut.event]?.by_hand ? 'cut ✓' : 'cut';
    on.font = font(11, 600);
    on.fillRect(named.x, y, on.measureText(text).width + 8, 14);
    on.fillStyle = colours.paper;
    on.textBaseline = 'top';
    on.fillText(text, named.x + 4, y + 2);
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
