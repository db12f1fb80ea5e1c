import { call } from '../api/client';
import type { Reference } from '../api/types';
import type { Keep } from './keep.svelte';

/** What lies beside the take, as the room keeps it. Fetched when it is asked for, and after every edit: an undo may have changed it. */
export class BesideTake {
  now = $state.raw<Reference | null>(null);

  constructor(private readonly keep: Keep) {}

  async fetch(): Promise<void> {
    const take_id = this.keep.takeId;
    if (!take_id) return;
    try {
      const found = await call('get', '/api/takes/{take_id}/reference', { path: { take_id } });
      if (take_id === this.keep.takeId) this.now = found;
    } catch (problem) {
      this.now = null;
      this.keep.tell(problem);
    }
  }

  /** Lay something beside the take, move it in time, or take it away (null). */
  async put(path: string | null, offset_s = 0): Promise<void> {
    const path_ = { take_id: this.keep.takeId ?? '' };
    await this.keep.edit('now', () => call('put', '/api/takes/{take_id}/reference', { path: path_, body: { path, offset_s } }));
  }
}
