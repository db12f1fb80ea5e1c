import { clamp } from '../geometry/brands';
import { CROPS, type Crop } from '../paint/guides';
import type { Pair } from '../tools/pair';

/** How a person looks at the picture: what an eye does with a mirror, or with eyes half shut. Nothing here is stored, sent or measured. */
export interface Seen {
  readonly mirrored: boolean;
  readonly tones: Tones;
  /** Steps brighter (above 0) or darker than it is. */
  readonly light: number;
  /** What will be cut off lies in the dark. */
  readonly crop: Crop | null;
  /** Lines within which action and titles are safe. */
  readonly safe: boolean;
}
/** colours: as they are; values: grey alone; shape: black and white alone. */
export type Tones = 'colours' | 'values' | 'shape';

/** How the take before is held against this one. then: it lies in this one's place. */
export type AgainstTake = 'then' | 'beside' | 'over' | 'differ';

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
  crop = $state<Crop | null>(null);
  safe = $state(false);
  /** Two frames lie side by side. */
  beside = $state(false);
  /** The take before is held against this one. */
  takes = $state<AgainstTake | null>(null);
  /** Eyes and mouths are enlarged in a row of their own. */
  faces = $state(false);
  /** The shots before and after in the cut lie in a row of their own. */
  cut = $state(false);
  /** Something from disk lies beside the shot, or is asked for. */
  reference = $state(false);
  /** The two frames that are being flipped. */
  flipped: Pair | null = null;

  get plain(): boolean {
    return !this.mirrored && this.tones === 'colours' && this.light === 0 && this.crop === null && !this.safe;
  }

  /** The next crop, after the last one none. */
  nextCrop(): void {
    const all = [...(Object.keys(CROPS) as Crop[]), null];
    this.crop = all[(all.indexOf(this.crop) + 1) % all.length];
  }

  turnTo(tones: Tones): void {
    this.tones = this.tones === tones ? 'colours' : tones;
  }

  lighten(steps: number): void {
    this.light = clamp(this.light + steps, -MOST, MOST);
  }

  /** The picture as it is. */
  clear(): void {
    this.show({ mirrored: false, tones: 'colours', light: 0, crop: null, safe: false });
  }

  get seen(): Seen {
    return { mirrored: this.mirrored, tones: this.tones, light: this.light, crop: this.crop, safe: this.safe };
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
  return [seen.mirrored ? 'mirrored' : '', tones, seen.light ? `light ${Math.round(times(seen) * 100)} %` : '', seen.crop ? `cropped to ${seen.crop}` : '', seen.safe ? 'safe 93 and 90 %' : ''].filter(Boolean).join(', ');
}
