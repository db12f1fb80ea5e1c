import type { PictureView } from '../geometry/view';
import type { Desk, Layer } from './desk.svelte';
import type { Seen } from './glass.svelte';

/** What a window with nothing but the picture needs to follow this one. */
interface Shown {
  readonly take: string | null;
  readonly frame: number;
  readonly view: PictureView;
  readonly layers: Record<Layer, boolean>;
  readonly finding: string | null;
  readonly seen: Seen;
}

const NAME = 'shotcrit.picture';
export const FOLLOWS = '#picture';

/** Whether this window is one that follows. */
export const follows = (): boolean => location.hash === FOLLOWS;

export function openFollower(): void {
  const here = location.href.split('#')[0];
  window.open(`${here}${FOLLOWS}`, 'shotcrit-picture', 'popup,width=1280,height=720');
}

/** Tells other windows what this one shows; call in an effect. */
export class Lead {
  private readonly line = new BroadcastChannel(NAME);
  private last: Shown | null = null;

  constructor() {
    this.line.onmessage = ({ data }) => {
      if (data === 'what' && this.last) this.line.postMessage(this.last);
    };
  }

  tell(desk: Desk): void {
    const { take, frame, view, layers, finding } = { take: desk.keep.takeId, frame: desk.transport.playhead, view: desk.view, layers: { ...desk.layers }, finding: desk.finding };
    this.last = { take, frame, view: { zoom: view.zoom, centre: { ...view.centre } }, layers, finding, seen: desk.glass.seen };
    this.line.postMessage(this.last);
  }

  close(): void {
    this.line.close();
  }
}

/** Shows what the leading window shows. Sound stays with the leader. Returns what ends it. */
export function follow(desk: Desk): () => void {
  const line = new BroadcastChannel(NAME);
  line.onmessage = ({ data }) => {
    if (typeof data !== 'object' || data === null) return;
    const shown = data as Shown;
    if (shown.take && shown.take !== desk.keep.takeId) void desk.keep.show(shown.take);
    desk.view = shown.view;
    desk.layers = shown.layers;
    desk.finding = shown.finding;
    desk.glass.show(shown.seen);
    desk.transport.go(shown.frame);
  };
  line.postMessage('what');
  return () => line.close();
}
