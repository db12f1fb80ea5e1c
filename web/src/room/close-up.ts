import { frameFetcher } from '../frames/fetch';

/** Pixels: how wide the ordinary pictures are. */
const PROXY_WIDTH = 1280;
/** Fetch the full picture when it would be shown this much wider than that. */
const WORTH_IT = 1.15;
const SETTLE_MS = 120;

/** One sharp picture, of the frame that stands still while zoomed in. */
export class CloseUp {
  private image: ImageBitmap | null = null;
  private index = -1;
  private width = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private stop: AbortController | null = null;

  constructor(private readonly onReady: () => void) {}

  of(index: number): ImageBitmap | undefined {
    return this.image && this.index === index ? this.image : undefined;
  }

  want(url: string, index: number, shownWidth: number, fullWidth: number): void {
    const width = Math.min(fullWidth, shownWidth > PROXY_WIDTH * WORTH_IT ? fullWidth : 0);
    if (width <= PROXY_WIDTH) return this.drop();
    if (this.index === index && this.width === width) return;
    this.drop();
    this.index = index;
    this.width = width;
    this.timer = setTimeout(() => void this.fetch(url), SETTLE_MS);
  }

  private async fetch(url: string): Promise<void> {
    const stop = (this.stop = new AbortController());
    const image = await frameFetcher(url, this.width)(this.index, stop.signal).catch(() => null);
    if (stop.signal.aborted) return image?.close();
    this.image = image;
    if (image) this.onReady();
  }

  private drop(): void {
    clearTimeout(this.timer);
    this.stop?.abort();
    this.image?.close();
    this.image = null;
    this.index = -1;
    this.width = 0;
  }
}
