/** Fetches and decodes pictures beside the page: each fetch, decode and answer would cost the page's own thread about a millisecond. */
import { FrameSocket, type Line } from './socket';
import { Supplier, type Order } from './supplier';

let supplier: Supplier<ImageBitmap> | null = null;
let socket: FrameSocket | null = null;

function open(order: Extract<Order, { what: 'open' }>): void {
  socket?.close();
  const line = (socket = new FrameSocket(() => new WebSocket(new URL(order.socket, order.base.replace(/^http/, 'ws'))) as unknown as Line));
  const request = async (index: number): Promise<Blob | null> => {
    const answer = await fetch(new URL(order.frame.replace('{index}', String(index)), order.base));
    return answer.ok ? answer.blob() : null;
  };
  supplier = new Supplier(
    (index) => (line.open ? line.ask(index) : request(index)),
    (picture) => createImageBitmap(picture),
    (one) => self.postMessage(one, one.image ? { transfer: [one.image] } : {}),
  );
}

self.onmessage = ({ data }: MessageEvent<Order>) => {
  if (data.what === 'open') open(data);
  else if (data.what === 'get') void supplier?.ask(data.id, data.index);
  else supplier?.drop(data.id);
};
