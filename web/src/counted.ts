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

/** What a value is held against: '3 frames' of -3 'frames, + when the mouth comes late'. */
export const bound = (number: number, unit: string): string => quantity(Math.abs(number), unit.split(/,| that | too /)[0]);

/** How a unit says what its sign means, and what the other sign means. */
const SIGN = /, \+ (?:when|is) (.+)$/;
const OTHER: Record<string, string> = { late: 'early', longer: 'shorter', right: 'left', high: 'low', up: 'down', 'in front of': 'behind' };

/** '7 frames', '1 frame', '14.2° too high', '3 frames, the mouth comes early'. */
export function quantity(number: number, unit: string): string {
  const sign = SIGN.exec(unit);
  if (sign && Number.isFinite(number)) {
    const means = number >= 0 ? sign[1] : sign[1].replace(new RegExp(`\\b(${Object.keys(OTHER).join('|')})\\b`, 'g'), (word) => OTHER[word]);
    return quantity(Math.abs(number), `${unit.slice(0, sign.index)}, ${means}`);
  }
  const shown = real(number);
  const noun = unit.split(' ')[0].replace(/,+$/, '');
  const said = (shown === '1' || shown === '-1') && noun in MANY ? MANY[noun] + unit.slice(noun.length) : unit;
  return `${shown}${said.startsWith('°') ? '' : ' '}${said}`.trim();
}
