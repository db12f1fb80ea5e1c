import { rows } from './action';

/** Ways to look at the picture. */
export const GLASS = rows('see', [
  ['glass', 'ways to look', '_', 'Mirror, values, silhouette, light: open or close the row.', (d) => (d.glass.open = !d.glass.open)],
  ['mirror', 'mirror', 'shift+h', 'The picture left to right, with all that lies over it, for a fresh eye.', (d) => (d.glass.mirrored = !d.glass.mirrored)],
  ['values', 'values only', 'shift+q', 'Light and dark without colour.', (d) => d.glass.turnTo('values')],
  ['shape', 'silhouette', 'shift+p', 'Black and white alone: what reads as a shape. Brighter and darker move the border between them.', (d) => d.glass.turnTo('shape')],
  ['brighter', 'brighter', '*', 'Show the picture a step brighter.', (d) => d.glass.lighten(1)],
  ['darker', 'darker', '/', 'Show the picture a step darker.', (d) => d.glass.lighten(-1)],
  ['as-it-is', 'as it is', '=', 'The picture as it is, without mirror, tones or changed light.', (d) => d.glass.clear()],
]);
