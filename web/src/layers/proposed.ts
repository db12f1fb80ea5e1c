import { pictureToScreen, type Box } from '../geometry/view';
import { PENCILS } from '../ink/look';
import { seen, thickness, type Context } from '../paint/overlay';
import type { Draft } from '../tools/found';
import { write, type Room } from './labels';

/** Points that a found face proposes: pale and broken, until they are confirmed. */
const RING = 4;
const PALE = 0.6;

export function paintDrafts(on: Context, drafts: readonly Draft[], box: Box, written: Room[]): void {
  const thick = thickness(on);
  on.save();
  on.globalAlpha = PALE;
  for (const draft of drafts) {
    const p = pictureToScreen(draft, box);
    const ring = RING * thick;
    seen(on, PENCILS.white.css, 1.4, [2, 2.5], () => on.arc(p.x, p.y, ring, 0, Math.PI * 2));
    written.push({ left: p.x - ring, right: p.x + ring, top: p.y - ring, bottom: p.y + ring });
  }
  on.restore();
  for (const face of new Set(drafts.map((d) => d.face))) {
    const own = drafts.filter((d) => d.face === face);
    const lowest = own.reduce((a, b) => (b.y > a.y ? b : a));
    write(on, `${lowest.who ?? 'a face'}: drafts`, pictureToScreen(lowest, box), RING + 6, written);
  }
}
