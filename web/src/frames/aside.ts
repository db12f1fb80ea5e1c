import type { Fetcher } from './loader';
import type { Order, Supply } from './supplier';

type Answer = (image: ImageBitmap | null) => void;

/** The worker that fetches and decodes frames, as the page sees it. Begun before there is a movie, so that the first picture need not wait for it. */
export class FramesAside {
  private readonly worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
  private readonly asked = new Map<number, Answer>();
  private lastId = 0;

  constructor() {
    this.worker.onmessage = ({ data }: MessageEvent<Supply<ImageBitmap>>) => {
      const answer = this.asked.get(data.id);
      this.asked.delete(data.id);
      if (answer) answer(data.image);
      else data.image?.close();
    };
  }

  /** From now on frames of this movie. url: as the frame table has it, with {index} in it; its folder is the socket's address. */
  open(url: string): Fetcher<ImageBitmap> {
    for (const answer of this.asked.values()) answer(null);
    this.asked.clear();
    const frame = url.slice(1);
    this.tell({ what: 'open', base: document.baseURI, frame, socket: frame.slice(0, frame.lastIndexOf('/')) });
    return (index, signal) => this.fetch(index, signal);
  }

  private fetch(index: number, signal: AbortSignal): Promise<ImageBitmap | null> {
    const id = ++this.lastId;
    return new Promise((answer) => {
      this.asked.set(id, answer);
      signal.addEventListener('abort', () => this.drop(id), { once: true });
      this.tell({ what: 'get', id, index });
    });
  }

  private drop(id: number): void {
    const answer = this.asked.get(id);
    if (!answer) return;
    this.asked.delete(id);
    this.tell({ what: 'drop', id });
    answer(null);
  }

  private tell(order: Order): void {
    this.worker.postMessage(order);
  }
}
