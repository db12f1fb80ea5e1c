import type { Laid } from './columns';
import { lookStretches, type Stretch } from './looks';
import { extent, type Curve } from './model';
import { font, writeDown, type Painter, type Scene } from './painting';
import { yOf } from './rows';

/** Mouth: seen full, wanted dashed and washed; wanted comes as evidence of the findings in sight. */
export const paintMouth: Painter = (scene, column) => {
  const actors = scene.model.actors.filter((a) => a.opening);
  const top = Math.max(0.2, ...actors.map((a) => extent(a.opening!.values)?.high ?? 0));
  const scale = (column.width - 10) / top;
  for (const curve of scene.judgement.findings.flatMap((f) => f.curves.filter((c) => c.unit !== '' || c.wanted.length))) {
    if (/mouth|opening|lip/i.test(curve.name)) wantedLine(scene, column, curve, scale);
  }
  for (const a of actors) {
    scene.on.strokeStyle = a.who === scene.who || !scene.who ? scene.colours.ink : scene.colours.graphite;
    scene.on.lineWidth = a.who === scene.who || !scene.who ? 1.6 : 1;
    line(scene, column.x + 5, a.opening!.values, 0, (v) => v * scale);
  }
};

function wantedLine(scene: Scene, column: Laid, curve: { first: number; wanted: readonly (number | null)[] }, scale: number): void {
  const values = curve.wanted.map((v) => v ?? NaN);
  const { on } = scene;
  on.save();
  on.strokeStyle = scene.colours.ochre;
  on.setLineDash([3, 2]);
  line(scene, column.x + 5, values, curve.first, (v) => v * scale);
  on.restore();
}

/** Body: how much the picture moves, or how far the chest lifts, each against its own greatest value. */
export const paintBody: Painter = (scene, column) => {
  const { movement, actors } = scene.model;
  const lifts = actors.filter((a) => a.lift).map((a) => ({ curve: a.lift!, strong: !scene.who || a.who === scene.who }));
  if (lifts.length === 0 && movement) washed(scene, column, movement);
  for (const { curve, strong } of lifts) {
    const e = extent(curve.values);
    if (!e) continue;
    scene.on.strokeStyle = scene.colours.blue;
    scene.on.lineWidth = strong ? 1.6 : 0.8;
    const scale = (column.width - 10) / (e.high - e.low || 1);
    line(scene, column.x + 5, curve.values, 0, (v) => (v - e.low) * scale);
  }
};

function washed(scene: Scene, column: Laid, curve: Curve): void {
  const e = extent(curve.values);
  if (!e || e.high <= 0) return;
  const scale = (column.width - 8) / Math.sqrt(e.high);
  scene.on.fillStyle = scene.colours.blueWash;
  scene.on.strokeStyle = scene.colours.blue;
  scene.on.lineWidth = 1.2;
  for (let i = scene.first; i <= scene.last; i++) {
    const v = curve.values[i];
    if (v > 0) scene.on.fillRect(column.x + 4, yOf(scene.rows, i), Math.sqrt(v) * scale, scene.rows.rowHeight);
  }
  line(scene, column.x + 4, curve.values, 0, (v) => Math.sqrt(Math.max(0, v)) * scale);
}

/** A line down the rows, through the middle of each; broken where nothing was measured. */
function line(scene: Scene, x: number, values: ArrayLike<number>, first: number, to: (v: number) => number): void {
  const { on, rows } = scene;
  on.beginPath();
  let pen = false;
  const from = Math.max(first, scene.first - 1);
  const until = Math.min(first + values.length - 1, scene.last + 1);
  for (let i = from; i <= until; i++) {
    const v = values[i - first];
    if (!Number.isFinite(v)) {
      pen = false;
      continue;
    }
    const y = yOf(rows, i + 0.5);
    if (pen) on.lineTo(x + to(v), y);
    else on.moveTo(x + to(v), y);
    pen = true;
  }
  on.stroke();
}

/** Eyes: a band for each look with its target written down it; a bar for a blink, darkest where the lids meet. */
export const paintEyes: Painter = (scene, column) => {
  const people = [...new Set([...scene.model.sheet.looks.map((l) => l.who), ...scene.model.sheet.blinks.map((b) => b.who)])];
  const lane = (column.width - 4) / Math.max(1, people.length);
  for (const stretch of lookStretches(scene.model.sheet.looks, scene.judgement.findings)) {
    lookBand(scene, stretch, column.x + 2 + people.indexOf(stretch.look.who) * lane);
  }
  for (const blink of scene.model.sheet.blinks) {
    const x = column.x + 2 + people.indexOf(blink.who) * lane;
    scene.on.fillStyle = scene.colours.ink;
    for (let i = blink.first; i <= blink.last; i++) {
      const thick = i === blink.shut ? 3 : 1.5;
      scene.on.fillRect(x + lane * 0.55, yOf(scene.rows, i + 0.5) - thick / 2, lane * 0.35, thick);
    }
  }
};

/** Dark where the other looks back, light for a look alone, hollow red where it misses; broken where it was only read from the eyes. */
function lookBand(scene: Scene, { look, first, last, state }: Stretch, x: number): void {
  const { on, rows, colours } = scene;
  const top = yOf(rows, first);
  const bottom = yOf(rows, last + 1);
  if (bottom < 0 || top > rows.height) return;
  const colour = state === 'missed' ? colours.red : colours.green;
  on.fillStyle = state === 'missed' || look.proposed ? colours.card : state === 'met' ? colours.green : colours.greenWash;
  on.fillRect(x + 1, top + 1, 6, bottom - top - 2);
  on.strokeStyle = colour;
  on.save();
  if (look.proposed || state === 'missed') on.setLineDash([3, 3]);
  on.strokeRect(x + 1.5, top + 1.5, 5, bottom - top - 3);
  on.restore();
  on.fillStyle = colour;
  on.font = font(11);
  const said = `${state === 'missed' ? 'misses' : 'at'} ${look.at}${look.proposed ? '?' : state === 'met' ? ', met' : ''}`;
  writeDown(on, said, x + 14, Math.max(top, 0), Math.min(bottom, rows.height));
}
