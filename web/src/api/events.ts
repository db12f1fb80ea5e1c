import { call } from './client';
import type { RoomEvent } from './types';

const AGAIN_MS = 1000;
const WAIT_S = 20;
/** The room says every two seconds that it is there; after three of these in silence it has gone. */
const PATIENCE_MS = 6000;

export interface Listener {
  event: (event: RoomEvent) => void;
  /** Something may have been missed: before the line was open for the first time, or while it was broken. */
  missed: (how: 'opened' | 'broken') => void;
  /** Whether the room is there; told again and again. */
  there: (yes: boolean) => void;
}

/** Listens for as long as the page lives: by socket, or by asking where sockets are blocked. What it answers ends it. */
export function listen(to: Listener): () => void {
  const line = new EventLine(to);
  return () => line.close();
}

class EventLine {
  private over = false;
  private last = 0;
  private socket: WebSocket | null = null;
  private everOpen = false;
  private heard = Date.now();
  private looked = Date.now();
  private readonly watch = setInterval(() => this.look(), AGAIN_MS);

  constructor(private readonly to: Listener) {
    this.open();
  }

  close(): void {
    this.over = true;
    clearInterval(this.watch);
    this.socket?.close();
  }

  private open(): void {
    if (this.over) return;
    const socket = (this.socket = new WebSocket(new URL('api/events', document.baseURI.replace(/^http/, 'ws'))));
    socket.onopen = () => {
      this.heard = Date.now();
      this.to.there(true);
      this.to.missed(this.everOpen ? 'broken' : 'opened');
      this.everOpen = true;
    };
    socket.onmessage = (message: MessageEvent<string>) => {
      this.heard = Date.now();
      const { n, event } = JSON.parse(message.data) as { n: number; event: RoomEvent | null };
      if (event) this.to.event(event); // null: only a sign of life
      this.last = n;
    };
    socket.onclose = () => this.lost();
  }

  private lost(): void {
    if (this.over) return;
    if (this.everOpen) this.to.there(false);
    setTimeout(() => (this.everOpen ? this.open() : void this.ask()), AGAIN_MS);
  }

  /** A line that was cut without a word: nothing closes it, so silence has to tell. */
  private look(): void {
    const now = Date.now();
    // A page that was busy or asleep has not listened: what came meanwhile is heard first.
    if (now - this.looked > 2 * AGAIN_MS) this.heard = Math.max(this.heard, now - PATIENCE_MS + AGAIN_MS);
    this.looked = now;
    if (!this.everOpen || now - this.heard <= PATIENCE_MS) return;
    this.to.there(false);
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.close();
  }

  private async ask(): Promise<void> {
    while (!this.over) {
      try {
        const news = await call('get', '/api/events', { query: { after: this.last, wait: WAIT_S } });
        this.to.there(true);
        if (news.missed) this.to.missed('broken');
        this.last = news.last;
        news.events.forEach((event) => this.to.event(event));
      } catch {
        this.to.there(false);
        await new Promise((done) => setTimeout(done, AGAIN_MS));
      }
    }
  }
}
