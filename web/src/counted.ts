// How a number and what it counts are written, as src/shotcrit/counted.py has it; tests/shared/counted.json holds both to it.

const MANY: Record<string, string> = {
  conversions: 'conversion', degrees: 'degree', drawings: 'drawing', flashes: 'flash', frames: 'frame', pictures: 'picture', seconds: 'second', strokes: 'stroke',
  times: 'time', words: 'word',
};

/** A number with as many digits as mean something. */
export function real(value: number): string {
  if (!Number.isFinite(value)) return 'not known';
  if (Math.abs(value) < 5e-3) return '0';
  if (Math.abs(value - Math.round(value)) < 5e-3 || Math.abs(value) >= 100) return String(Math.round(value));
  return Math.abs(value) >= 1 ? value.toFixed(1) : value.toFixed(2);
}

/** 'no cuts', '1 cut', '2 cuts'. */
export const counted = (number: number, one: string, many = `${one}s`): string => `${number === 0 ? 'no' : number} ${number === 1 ? one : many}`;

/** '7 frames', '1 frame', '14.2° too high'. */
export function quantity(number: number, unit: string): string {
  const shown = real(number);
  const noun = unit.split(' ')[0].replace(/,+$/, '');
  const said = (shown === '1' || shown === '-1') && noun in MANY ? MANY[noun] + unit.slice(noun.length) : unit;
  return `${shown}${said.startsWith('°') ? '' : ' '}${said}`.trim();
}
