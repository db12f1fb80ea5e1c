import { within } from '../../geometry/brands';
import { dragEdge, gripEvent, type Grip } from '../../sheet/grips';
import { mendingAt, type Mending } from '../../sheet/mend';
import { isOpen } from '../../sheet/findings';
import { yOf } from '../../sheet/rows';
import { AT_REST, hand, type RowState } from '../../tools/rows';
import { correct, openNote } from '../acts';
import type { Desk } from '../desk.svelte';
import { chooseFinding } from '../jump';
import type { SheetView, Spot } from './view.svelte';

const TYPES = { pointerdown: 'down', pointermove: 'move', pointerup: 'up', pointercancel: 'cancel' } as const;

/** A slip of paper that is open on the sheet. n: counts them, so that each is a new one. */
export interface OpenSlip {
  readonly start: Mending;
  readonly free: boolean;
  readonly y: number;
  readonly n: number;
}

/** What a hand does on the sheet: choose rows, pull edges, open what lies there, mend. Paints nothing. */
export class SheetHand {
  /** The edge that is being pulled, and where to. */
  pulling = $state.raw<{ grip: Grip; y: number } | null>(null);
  cursor = $state('default');
  slip = $state.raw<OpenSlip | null>(null);
  private grasp: RowState = AT_REST;
  private before: Element | null = null;

  constructor(
    private readonly desk: Desk,
    private readonly view: SheetView,
  ) {}

  /** Answers whether the pointer is held from now on. */
  point(event: PointerEvent, spot: Spot): boolean {
    const type = TYPES[event.type as keyof typeof TYPES];
    if (!type || (type === 'down' && event.button !== 0)) return false;
    if (type === 'down' && this.pick(spot)) return true;
    const { row, y, grip } = spot;
    this.cursor = grip && grip.part !== 'body' ? 'row-resize' : 'default';
    const next = hand(this.grasp, { type, row, y, grip, shift: event.shiftKey, playhead: this.desk.transport.playhead });
    this.grasp = next.state;
    for (const { what } of next.changes) this.act(what);
    return type === 'down';
  }

  /** A press on a note or finding opens it. */
  private pick({ column, row }: Spot): boolean {
    const { keep } = this.desk;
    const note = column?.id === 'notes' && keep.notes.find((n) => within(n, row));
    if (note) openNote(this.desk, note);
    const finding = column?.id === 'found' && keep.tray?.findings.find((f) => within(f, row) && isOpen(f));
    if (finding) chooseFinding(this.desk, finding.key);
    return Boolean(note || finding);
  }

  private act(what: ReturnType<typeof hand>['changes'][0]['what']): void {
    const { transport, keep } = this.desk;
    if (what.kind === 'go') {
      transport.choose(null);
      this.view.holdUnderHand(what.to);
      transport.go(what.to);
    }
    if (what.kind === 'choose') transport.choose(what.range);
    if (what.kind === 'pull') this.pulling = { grip: what.grip, y: what.y };
    if (what.kind === 'forget') this.pulling = null;
    if (what.kind === 'pulled' && keep.model) {
      const changes = dragEdge(keep.model, this.view.rows, what.grip, what.y, what.snap);
      void correct(this.desk, changes).finally(() => (this.pulling = null));
    }
  }

  /** A double press mends what lies there, or adds what was missed. */
  press({ column, row, y, grip }: Spot): void {
    const { model } = this.desk.keep;
    const kind = gripEvent(column);
    if (!model || !kind) return;
    const found = mendingAt(model, kind, row, this.desk.transport.chosen);
    this.mend({ ...found, index: grip ? grip.index : kind === 'cut' ? null : found.index, t: model.clock.time(this.view.positionAt(y)) }, false, y);
  }

  /** By key: what is said on this frame, else what is breathed, else a word to be added. */
  mendHere(): void {
    const { keep, transport } = this.desk;
    const { model } = keep;
    if (!model) return;
    const at = (kind: Grip['event']): Mending => mendingAt(model, kind, transport.target, transport.chosen);
    const there = (['word', 'breath', 'cut'] as const).map(at).find((m) => m.index !== null);
    this.mend(there ?? at('word'), true, yOf(this.view.rows, transport.target + 1));
  }

  private mend(start: Mending, free: boolean, y: number): void {
    if (!this.slip) this.before = document.activeElement;
    this.slip = { start, free, y, n: (this.slip?.n ?? 0) + 1 };
  }

  endMending(): void {
    this.slip = null;
    if (this.before instanceof HTMLElement && this.before.isConnected) this.before.focus();
  }
}
