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
