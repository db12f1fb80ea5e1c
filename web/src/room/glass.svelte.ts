import { clamp } from '../geometry/brands';

/** How a person looks at the picture: what an eye does with a mirror, or with eyes half shut. Nothing here is stored, sent or measured. */
export interface Seen {
  readonly mirrored: boolean;
  readonly tones: Tones;
  /** Steps brighter (above 0) or darker than it is. */
  readonly light: number;
}
/** colours: as they are; values: grey alone; shape: black and white alone. */
export type Tones = 'colours' | 'values' | 'shape';

/** Of the numbers of the picture as it is shown; two steps are about half as bright again. Guess: a step that can just be seen in a dusk picture. */
const STEP = 1.25;
/** Up to nine times, and down to a ninth. */
const MOST = 10;
/** Two tones with a border that is not ragged. */
const HARD = 60;

export class Glass {
  /** The row of these lies open. */
  open = $state(false);
  mirrored = $state(false);
  tones = $state<Tones>('colours');
  light = $state(0);

  get plain(): boolean {
    return !this.mirrored && this.tones === 'colours' && this.light === 0;
  }

  turnTo(tones: Tones): void {
    this.tones = this.tones === tones ? 'colours' : tones;
  }

  lighten(steps: number): void {
    this.light = clamp(this.light + steps, -MOST, MOST);
  }

  /** The picture as it is. */
  clear(): void {
    this.show({ mirrored: false, tones: 'colours', light: 0 });
  }

  get seen(): Seen {
    return { mirrored: this.mirrored, tones: this.tones, light: this.light };
  }

  show(seen: Seen): void {
    Object.assign(this, seen);
  }
}

const times = ({ light }: Seen): number => STEP ** light;

/** For CSS. Grey is Rec. 709 luma of the picture's own numbers: the matrix of `grayscale` in W3C Filter Effects 1, section 13.1. */
export function filterOf(seen: Seen): string {
  const light = seen.light ? [`brightness(${times(seen).toFixed(3)})`] : [];
  const grey = seen.tones === 'colours' ? [] : ['grayscale(1)'];
  const hard = seen.tones === 'shape' ? [`contrast(${HARD})`] : [];
  return [...grey, ...light, ...hard].join(' ') || 'none';
}

/** What is done to the picture, in words; empty when it is as it is. */
export function saysOf(seen: Seen): string {
  const tones = { colours: '', values: 'values only', shape: 'silhouette' }[seen.tones];
  return [seen.mirrored ? 'mirrored' : '', tones, seen.light ? `light ${Math.round(times(seen) * 100)} %` : ''].filter(Boolean).join(', ');
}
