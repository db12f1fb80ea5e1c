import { flip } from '../tools/pair';
import { rows } from './action';
import type { Desk } from './desk.svelte';

/** Ways to look at the picture. */
export const GLASS = rows('see', [
  ['glass', 'ways to look', '_', 'Mirror, values, silhouette, light: open or close the row.', (d) => (d.glass.open = !d.glass.open)],
  ['mirror', 'mirror', 'shift+h', 'The picture left to right, with all that lies over it, for a fresh eye.', (d) => (d.glass.mirrored = !d.glass.mirrored)],
  ['values', 'values only', 'shift+q', 'Light and dark without colour.', (d) => d.glass.turnTo('values')],
  ['shape', 'silhouette', 'shift+p', 'Black and white alone: what reads as a shape. Brighter and darker move the border between them.', (d) => d.glass.turnTo('shape')],
  ['brighter', 'brighter', '*', 'Show the picture a step brighter.', (d) => d.glass.lighten(1)],
  ['darker', 'darker', '/', 'Show the picture a step darker.', (d) => d.glass.lighten(-1)],
  ['crop', 'crop', "'", 'Lay in the dark what another shape of screen cuts off: 1.85, 2.39, 4:3, 1:1, 9:16, none.', (d) => d.glass.nextCrop()],
  ['safe', 'safe areas', '"', 'Lines within which action and titles are safe on any television (93 % and 90 %).', (d) => (d.glass.safe = !d.glass.safe)],
  ['flip', 'flip', ';', 'To and fro between the first and last of the chosen frames, as one flips drawings; with none chosen, between this frame and the one before.', flipOver],
  ['pair', 'two side by side', ':', 'The first and last of the chosen frames side by side; with none chosen, the frame before and this one.', (d) => (d.glass.beside = !d.glass.beside)],
  ['faces', 'eyes and mouths', '%', 'Eyes and mouth of each character, enlarged in a row that follows them.', (d) => (d.glass.faces = !d.glass.faces)],
  ['in-the-cut', 'in the cut', '&', 'How the shot before ends and the one after begins, if their movies lie in the same folder, by the order of their names.', (d) => (d.glass.cut = !d.glass.cut)],
  ['reference', 'from disk', '$', 'A still, a drawing or another movie from disk beside the shot, in step with it.', (d) => (d.glass.reference = !d.glass.reference)],
  ['as-it-is', 'as it is', '=', 'The picture as it is, without mirror, tones, changed light, crop or lines.', (d) => d.glass.clear()],
]);

function flipOver(d: Desk): void {
  const { pair, to } = flip(d.glass.flipped, d.transport.chosen, d.transport.target);
  d.glass.flipped = pair;
  d.transport.go(to);
}
