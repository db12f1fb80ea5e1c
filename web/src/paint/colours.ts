import { isDim } from './tone.svelte';

/** The page's palette, read from the style sheet, where it has its one home: once for the lit desk and once for the dim one. */
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

const known = new Map<boolean, Palette>();

export function palette(): Palette {
  const there = known.get(isDim());
  if (there) return there;
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  const read: Palette = {
    ...{ paper: of('paper'), card: of('card'), shade: of('shade'), room: of('room'), ink: of('ink'), soft: of('soft'), chalk: of('chalk') },
    ...{ red: of('red'), blue: of('blue'), ochre: of('ochre'), green: of('green'), graphite: of('graphite') },
    ...{ redWash: of('red-wash'), blueWash: of('blue-wash'), ochreWash: of('ochre-wash'), greenWash: of('green-wash') },
    ...{ rule: of('rule'), ruleStrong: of('rule-strong') },
  };
  known.set(isDim(), read);
  return read;
}
