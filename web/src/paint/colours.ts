import type { PencilColour } from '../api/types';

/** The page's palette, read once from the style sheet, where it has its one home. */
export interface Palette {
  paper: string;
  card: string;
  shade: string;
  room: string;
  ink: string;
  soft: string;
  chalk: string;
  red: string;
  blue: string;
  ochre: string;
  green: string;
  graphite: string;
  redWash: string;
  blueWash: string;
  ochreWash: string;
  greenWash: string;
  rule: string;
  ruleStrong: string;
}

let known: Palette | null = null;

export function palette(): Palette {
  if (known) return known;
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  known = {
    ...{ paper: of('paper'), card: of('card'), shade: of('shade'), room: of('room'), ink: of('ink'), soft: of('soft'), chalk: of('chalk') },
    ...{ red: of('red'), blue: of('blue'), ochre: of('ochre'), green: of('green'), graphite: of('graphite') },
    ...{ redWash: of('red-wash'), blueWash: of('blue-wash'), ochreWash: of('ochre-wash'), greenWash: of('green-wash') },
    ...{ rule: of('rule'), ruleStrong: of('rule-strong') },
  };
  return known;
}

/** How each pencil looks on the picture: brighter than on paper, because it must be seen on any frame. */
export const PENCILS: Record<PencilColour, { css: string; name: string }> = {
  red: { css: '#d8402b', name: 'red' },
  blue: { css: '#3f8fdc', name: 'blue' },
  green: { css: '#6fae58', name: 'green' },
  ochre: { css: '#d9a531', name: 'ochre' },
  white: { css: '#f7f4ee', name: 'white' },
  black: { css: '#3a3733', name: 'soft graphite' },
};
