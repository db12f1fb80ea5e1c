import type { Kept } from './cache';

/** From the page to the worker. */
export type Order =
  | { readonly what: 'open'; readonly base: string; readonly frame: string; readonly socket: string }
  | { readonly what: 'get'; readonly id: number; readonly index: number }
  | { readonly what: 'drop'; readonly id: number };
/** Back: the picture of an order, or null when it is not made yet. */
export interface Supply<T> {
  readonly id: number;
  readonly image: T | null;
}

/** Gets and decodes pictures in the order in which they are asked for; what was dropped meanwhile is not decoded. */
export class Supplier<T extends Kept> {
  private readonly wanted = new Set<number>();

  constructor(
    private readonly get: (index: number) => Promise<Blob | null>,
    private readonly decode: (picture: Blob) => Promise<T>,
    private readonly supply: (one: Supply<T>) => void,
  ) {}

  async ask(id: number, index: number): Promise<void> {
    this.wanted.add(id);
    const picture = await this.get(index).catch(() => null);
    if (!this.wanted.has(id)) return;
    const image = picture && (await this.decode(picture).catch(() => null));
    if (this.wanted.delete(id)) this.supply({ id, image });
    else image?.close();
  }

  drop(id: number): void {
    this.wanted.delete(id);
  }
}
