import type { Box } from '../geometry/view';
import { seen, type Context } from './overlay';

/** What a screen or a cinema will cut off, and what it may: shapes by their usual names, width over height. */
export const CROPS = { '1.85': 1.85, '2.39': 2.39, '4:3': 4 / 3, '1:1': 1, '9:16': 9 / 16 } as const;
export type Crop = keyof typeof CROPS;

/**
 * Of the picture's width and height, within which action and titles are safe. SMPTE ST 2046-1:2009 (second hand): 93 % and 90 % of the production
 * aperture; EBU R 95 (second hand) says the same as 3.5 % and 5 % from each edge.
 */
export const SAFE = { action: 0.93, title: 0.9 } as const;

const OUTSIDE = 'rgba(12, 12, 12, 0.86)';
const LINE = '#f7f4ee';

/** The largest part of a shape `aspect` that has the shape `crop`, about the same middle. */
export function cropped(box: Box, crop: number): Box {
  const width = Math.min(box.width, box.height * crop);
  const height = width / crop;
  return { left: box.left + (box.width - width) / 2, top: box.top + (box.height - height) / 2, width, height };
}

export function paintGuides(on: Context, { crop, safe }: { crop: Crop | null; safe: boolean }, box: Box): void {
  const kept = crop ? cropped(box, CROPS[crop]) : box;
  if (crop) {
    on.save();
    on.fillStyle = OUTSIDE;
    on.beginPath();
    on.rect(box.left, box.top, box.width, box.height);
    on.rect(kept.left, kept.top, kept.width, kept.height);
    on.fill('evenodd');
    on.restore();
  }
  if (!safe) return;
  for (const [part, dash] of [[SAFE.action, []], [SAFE.title, [7, 5]]] as const) {
    const [w, h] = [kept.width * part, kept.height * part];
    seen(on, LINE, 1, [...dash], () => on.rect(kept.left + (kept.width - w) / 2, kept.top + (kept.height - h) / 2, w, h));
  }
}
