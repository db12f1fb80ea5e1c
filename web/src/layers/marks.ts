import { pictureToScreen, type Box } from '../geometry/view';
import { PENCILS } from '../ink/look';
import { seen, thickness, type Context } from '../paint/overlay';
import { write, type Room } from './labels';

/** Followed marks with their paths: a tick for every frame, so that spacing can be read; dashes where a mark was lost, and a hollow ring where it was seen last. */

/** Frames of a path to either side: a second at 24 fps. */
const PATH_FRAMES = 24;
/** The same for marks that are not in question. */
const SHORT_PATH = 6;
const TICK = 3.2;
const RING = 5;
/** Frames after it was lost that a mark is still shown where it was last; the one in question always is. */
const LOST_FOR = 8;

export interface ShownMark {
  readonly who: string;
  readonly mark: string;
  readonly name: string;
  /** Fractions of the picture by frame index, or null where lost. */
  readonly at: (index: number) => { x: number; y: number } | null;
  readonly placed: boolean;
  /** Frame index at which a person placed it. */
  readonly isPlacedOn: (index: number) => boolean;
  /** strong: in question; plain: of the same character; faint: all others. */
  readonly weight: 'strong' | 'plain' | 'faint';
  readonly held: boolean;
}

export interface MarksScene {
  readonly frame: number;
  readonly frames: number;
  /** First frames of shots; paths never cross them. */
  readonly cuts: readonly number[];
  readonly marks: readonly ShownMark[];
  readonly labels: 'all' | 'strong';
}

type Spot = { x: number; y: number };
type Paper = { on: Context; box: Box; scene: MarksScene };

export function paintMarks(on: Context, scene: MarksScene, box: Box, written: Room[]): void {
  const paper = { on, box, scene };
  const order = { faint: 0, plain: 1, strong: 2 };
  const marks = [...scene.marks].sort((a, b) => order[a.weight] - order[b.weight]);
  for (const mark of marks) paintPath(paper, mark);
  written.push(...marks.flatMap((mark) => ringRoom(paper, mark)));
  for (const mark of [...marks].reverse()) paintHere(paper, mark, written);
}

function bounds({ frame, frames, cuts }: MarksScene, reach: number): [number, number] {
  const start = Math.max(0, ...cuts.filter((c) => c <= frame));
  const stop = Math.min(frames, ...cuts.filter((c) => c > frame));
  return [Math.max(start, frame - reach), Math.min(stop - 1, frame + reach)];
}

function paintPath(paper: Paper, mark: ShownMark): void {
  const [from, to] = bounds(paper.scene, mark.weight === 'faint' ? SHORT_PATH : PATH_FRAMES);
  const spots = Array.from({ length: to - from + 1 }, (_, k) => {
    const p = mark.at(from + k);
    return p && pictureToScreen(p, paper.box);
  });
  const { on } = paper;
  on.save();
  on.globalAlpha = { strong: 1, plain: 0.75, faint: 0.35 }[mark.weight];
  seen(on, PENCILS.ochre.css, 1.4, [], () => trace(on, spots));
  seen(on, PENCILS.ochre.css, 1.2, [4, 4], () => bridge(on, spots));
  if (mark.weight !== 'faint') seen(on, PENCILS.ochre.css, 1.2, [], () => spots.forEach((p, k) => p && from + k !== paper.scene.frame && tick(on, p, spots[k + 1] ?? spots[k - 1])));
  on.restore();
}

function trace(on: Context, spots: readonly (Spot | null)[]): void {
  spots.forEach((p, k) => {
    if (p && spots[k - 1]) on.lineTo(p.x, p.y);
    else if (p) on.moveTo(p.x, p.y);
  });
}

/** Over each stretch that was lost, from where it was seen last to where it was seen next. */
function bridge(on: Context, spots: readonly (Spot | null)[]): void {
  let last: { p: Spot; k: number } | null = null;
  spots.forEach((p, k) => {
    if (!p) return;
    if (last && last.k < k - 1) {
      on.moveTo(last.p.x, last.p.y);
      on.lineTo(p.x, p.y);
    }
    last = { p, k };
  });
}

function tick(on: Context, p: Spot, next: Spot | null | undefined): void {
  const angle = next ? Math.atan2(next.y - p.y, next.x - p.x) + Math.PI / 2 : 0;
  const long = TICK * thickness(on);
  const [dx, dy] = [Math.cos(angle) * long, Math.sin(angle) * long];
  on.moveTo(p.x - dx, p.y - dy);
  on.lineTo(p.x + dx, p.y + dy);
}

/** The mark on this frame: a full point where it was placed, a ring where it was followed, a dashed ring where it is lost. */
function paintHere(paper: Paper, mark: ShownMark, written: Room[]): void {
  const { on, box, scene } = paper;
  const here = mark.at(scene.frame);
  const known = here ?? lastSeen(scene, mark, mark.weight === 'strong' ? scene.frames : LOST_FOR);
  if (!known) return;
  const p = pictureToScreen(known, box);
  const thick = thickness(on);
  const radius = (mark.weight === 'faint' ? RING - 2 : RING) * thick;
  on.save();
  on.globalAlpha = mark.weight === 'faint' ? 0.6 : 1;
  if (!here) seen(on, PENCILS.white.css, 1.6, [2.5, 3], () => on.arc(p.x, p.y, radius + thick, 0, Math.PI * 2));
  else if (mark.isPlacedOn(scene.frame)) dot(on, p, radius / thick - 1.6, mark.held ? PENCILS.red.css : PENCILS.white.css);
  else seen(on, PENCILS.white.css, 1.8, [], () => on.arc(p.x, p.y, radius - thick, 0, Math.PI * 2));
  if (mark.held) seen(on, PENCILS.white.css, 1.6, [], () => on.arc(p.x, p.y, radius + 4 * thick, 0, Math.PI * 2));
  on.restore();
  if (mark.weight === 'strong' || (scene.labels === 'all' && mark.weight !== 'faint')) write(on, here ? mark.name : `${mark.name}, lost`, p, radius + 7, written);
}

function dot(on: Context, p: Spot, radius: number, colour: string): void {
  seen(on, colour, radius, [], () => on.arc(p.x, p.y, (radius / 2) * thickness(on), 0, Math.PI * 2));
}

/** Names leave the points themselves free. */
function ringRoom({ on, scene, box }: Paper, mark: ShownMark): Room[] {
  const here = mark.at(scene.frame);
  if (!here || mark.weight === 'faint') return [];
  const p = pictureToScreen(here, box);
  const ring = RING * thickness(on);
  return [{ left: p.x - ring, right: p.x + ring, top: p.y - ring, bottom: p.y + ring }];
}

function lastSeen(scene: MarksScene, mark: ShownMark, reach: number): Spot | null {
  const [from] = bounds(scene, reach);
  for (let i = scene.frame - 1; i >= from; i--) {
    const p = mark.at(i);
    if (p) return p;
  }
  return null;
}
