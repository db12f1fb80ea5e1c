import { call } from './client';
import type { RoomEvent } from './types';

const AGAIN_MS = 1000;
const WAIT_S = 20;

/** Listens for as long as the page lives: by socket, or by asking where sockets are blocked. `missed`: fetch everything again. */
export function listen(onEvent: (event: RoomEvent) => void, missed: () => void): () => void {
  let over = false;
  let last = 0;
  let socket: WebSocket | null = null;
  let everOpen = false;

  const open = (): void => {
    if (over) return;
    socket = new WebSocket(new URL('api/events', document.baseURI.replace(/^http/, 'ws')));
    socket.onopen = () => {
      if (everOpen) missed(); // the line was broken meanwhile
      everOpen = true;
    };
    socket.onmessage = (message: MessageEvent<string>) => {
      const { n, event } = JSON.parse(message.data) as { n: number; event: RoomEvent | null };
      if (event) onEvent(event); // null: only a sign of life
      last = n;
    };
    socket.onclose = () => setTimeout(() => (everOpen ? open() : void ask()), AGAIN_MS);
  };

  const ask = async (): Promise<void> => {
    while (!over) {
      try {
        const news = await call('get', '/api/events', { query: { after: last, wait: WAIT_S } });
        if (news.missed) missed();
        last = news.last;
        news.events.forEach(onEvent);
      } catch {
        await new Promise((done) => setTimeout(done, AGAIN_MS));
      }
    }
  };

  open();
  return () => {
    over = true;
    socket?.close();
  };
}
