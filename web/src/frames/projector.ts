/** Shows one frame after another, and never says a frame that it does not show. */
export interface Screen {
  /** The picture of exactly this frame, if it is at hand. */
  has(index: number): boolean;
  /** Draw it now. */
  draw(index: number): void;
  /** The picture of this frame is not made yet: say so instead of showing another. */
  veil(index: number): void;
}

const NOTHING = -1;
/** Until then the old frame and its number stay; longer would feel stuck (guess). */
const PATIENCE_MS = 150;

/**
 * `shown` is what picture, sheet and readout all show. A frame asked for becomes `shown` when its picture is there,
 * or with a veil over the picture when that takes long.
 */
export class Projector {
  shown = NOTHING;
  veiled = false;
  private target = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly screen: Screen,
    private readonly onShown: (index: number, veiled: boolean) => void,
  ) {}

  get wanted(): number {
    return this.target;
  }

  /** Another movie: whatever was shown is of no account. */
  reset(): void {
    clearTimeout(this.timer);
    this.shown = NOTHING;
    this.veiled = false;
  }

  /** Show this frame as soon as it can be had. */
  seek(index: number): void {
    this.target = index;
    clearTimeout(this.timer);
    if (this.screen.has(index)) return this.show(index);
    this.timer = setTimeout(() => this.cover(), PATIENCE_MS);
  }

  /** In playing: show it if it is at hand, else keep the frame before. True when shown. */
  offer(index: number): boolean {
    this.target = index;
    clearTimeout(this.timer);
    if (!this.screen.has(index)) return false;
    if (index !== this.shown || this.veiled) this.show(index);
    return true;
  }

  /** A picture came in. */
  arrived(index: number): void {
    if (index === this.target && (index !== this.shown || this.veiled)) this.seek(index);
  }

  private show(index: number): void {
    this.veiled = false;
    this.shown = index;
    this.screen.draw(index);
    this.onShown(index, false);
  }

  private cover(): void {
    this.veiled = true;
    this.shown = this.target;
    this.screen.veil(this.target);
    this.onShown(this.target, true);
  }
}
