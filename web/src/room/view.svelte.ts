import { setDim } from '../paint/tone.svelte';

export type NotesPlace = 'under' | 'beside';

interface Kept {
  sheet: boolean;
  dim: boolean;
  notes: NotesPlace;
}

const KEY = 'shotcrit.view';
const AS_IT_COMES: Kept = { sheet: true, dim: false, notes: 'under' };

/** How this window is arranged. It is a matter of this screen and this pair of eyes, so the browser keeps it, and no crit does. */
export class View {
  /** Whether the sheet lies open. */
  sheet = $state(true);
  dim = $state(false);
  notes = $state<NotesPlace>('under');
  /** The picture and nothing else. */
  alone = $state(false);

  constructor() {
    const kept = remembered();
    this.sheet = kept.sheet;
    this.notes = kept.notes;
    this.dim = kept.dim;
    setDim(this.dim);
  }

  foldSheet(): void {
    this.sheet = !this.sheet;
    this.keep();
  }

  dimDesk(): void {
    this.dim = !this.dim;
    setDim(this.dim);
    this.keep();
  }

  moveNotes(): void {
    this.notes = this.notes === 'under' ? 'beside' : 'under';
    this.keep();
  }

  /** The picture alone, over the whole screen where the browser lets it. */
  standAlone(on = !this.alone): void {
    this.alone = on;
    if (on) void document.documentElement.requestFullscreen?.().catch(() => undefined);
    else if (document.fullscreenElement) void document.exitFullscreen().catch(() => undefined);
  }

  private keep(): void {
    const kept: Kept = { sheet: this.sheet, dim: this.dim, notes: this.notes };
    try {
      localStorage.setItem(KEY, JSON.stringify(kept));
    } catch {
      // A browser that keeps nothing still shows everything.
    }
  }
}

function remembered(): Kept {
  try {
    const said: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    return { ...AS_IT_COMES, ...(said as Partial<Kept>) };
  } catch {
    return AS_IT_COMES;
  }
}
