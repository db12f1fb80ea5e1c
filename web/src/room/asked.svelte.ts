import { call } from '../api/client';
import { Turns } from '../api/turns';
import type { Asked, AskedNote, Drawing, FrameTable, LinedTake, Take } from '../api/types';
import { carriedDrawing, oldFrame } from '../tools/takes';
import type { Keep } from './keep.svelte';

/** What was asked on older takes, where it lies on this one, and the reviewer's walk along it. Fetched anew after every edit and measurement. */
export class AskedBefore {
  now = $state.raw<Asked | null>(null);
  /** Older takes as they lie in this one, the newest first. */
  lined = $state.raw<LinedTake[]>([]);
  /** Pictures of older takes, by the take's id. */
  tables = $state.raw<Readonly<Record<string, FrameTable>>>({});
  /** The list lies in the place of the notes. Opens by itself on a take of which something was asked. */
  open = $state(false);
  /** The note that is being answered. */
  at = $state<string | null>(null);
  /** Answered by a press whose edit is under way: the next press means the next note. */
  answering = $state.raw<ReadonlySet<string>>(new Set());
  private begun: string | null = null;
  private readonly lists = new Turns();
  private fetchedOf: readonly unknown[] = [];
  private fetching: Promise<void> = Promise.resolve();

  constructor(private readonly keep: Keep) {}

  older = $derived.by<Take[]>(() => {
    const { take, crit } = this.keep;
    return take ? (crit?.takes ?? []).filter((t) => t.shot === take.shot && (t.number ?? 1) < (take.number ?? 1)) : [];
  });
  notes = $derived<AskedNote[]>(this.now?.notes ?? []);
  left = $derived(this.notes.filter((n) => !n.note.settled));
  shown = $derived(this.open && this.older.length > 0);
  current = $derived<AskedNote | null>(this.notes.find((n) => n.note.id === this.at) ?? null);
  /** The take that this one is held against. */
  against = $derived<LinedTake | null>(this.lined[0] ?? null);

  /** The list as of what the page knows now: asked for once, however many want it. */
  fetch(): Promise<void> {
    const of = [this.keep.takeId, this.keep.crit?.seq, this.keep.model];
    if (of.some((one, k) => one !== this.fetchedOf[k])) {
      this.fetchedOf = of;
      this.fetching = this.fetchList();
    }
    return this.fetching;
  }

  private async fetchList(): Promise<void> {
    const { takeId } = this.keep;
    if (takeId !== this.begun) this.forget(takeId);
    if (!takeId || !this.older.length) return;
    try {
      const path = { take_id: takeId };
      const news = this.lists.ask();
      const now = await call('get', '/api/takes/{take_id}/asked', { path });
      const lined = now.lined_up && this.lined.length < this.older.length ? await call('get', '/api/takes/{take_id}/lined', { path }) : this.lined;
      if (takeId !== this.keep.takeId || !news()) return;
      const fresh = this.now === null;
      this.now = now;
      this.lined = lined;
      if (fresh) this.open = this.left.length > 0;
      this.at ??= this.left[0]?.note.id ?? null;
      await this.fetchTables(takeId);
    } catch (problem) {
      this.fetchedOf = [];
      this.keep.tell(problem);
    }
  }

  private forget(takeId: string | null): void {
    this.begun = takeId;
    this.now = this.at = null;
    this.lined = [];
    this.open = false;
  }

  /** Tables of older takes whose notes or pictures are shown; one whose movie is not there has none. */
  private async fetchTables(takeId: string): Promise<void> {
    const wanted = new Set([...this.notes.map((n) => n.note.take), ...this.lined.map((l) => l.take)]);
    for (const take_id of wanted) {
      const here = this.keep.crit?.media.find((m) => m.take === take_id)?.state === 'here';
      if (this.tables[take_id] || !here) continue;
      const table = await call('get', '/api/takes/{take_id}/frames', { path: { take_id } });
      if (takeId === this.keep.takeId) this.tables = { ...this.tables, [take_id]: table };
    }
  }

  /** While `work` answers a note, it is passed by as answered. */
  async passing<T>(id: string, work: () => Promise<T>): Promise<T> {
    this.answering = new Set([...this.answering, id]);
    try {
      return await work();
    } finally {
      this.answering = new Set([...this.answering].filter((other) => other !== id));
    }
  }

  /** The next one that is not answered yet, from the current one on; null where all are. */
  next(way: 1 | -1 = 1, any = false): AskedNote | null {
    const from = this.notes.findIndex((n) => n.note.id === this.at);
    const turned = this.notes.map((_, k) => this.notes.at((from + way * (k + 1)) % this.notes.length));
    return turned.find((n) => n && (any || (!n.note.settled && !this.answering.has(n.note.id)))) ?? null;
  }

  /** What was drawn for the note in hand, on this take's frames and framing, as long as it is not answered. */
  drawn = $derived.by<Drawing[]>(() => {
    const asked = this.shown ? this.current : null;
    if (!asked || asked.note.settled || asked.first === null || asked.last === null) return [];
    const framing = this.lined.find((l) => l.take === asked.note.take)?.framing ?? null;
    const own = (this.keep.crit?.drawings ?? []).filter((d) => asked.note.drawings?.includes(d.id));
    return own.map((d) => carriedDrawing(d, { first: asked.first ?? 0, last: asked.last ?? 0 }, framing));
  });

  /** The older take's frame that belongs to one of this take's; null where it is new, or nothing is lined up. */
  oldFrame(index: number): number | null {
    return this.against ? oldFrame(this.against, index) : null;
  }
}
