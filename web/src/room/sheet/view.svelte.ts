import { untrack } from 'svelte';
import { grown } from '../../paint/grown.svelte';
import { columnAt, layColumns, ordered, type Laid } from '../../sheet/columns';
import { gripAt, type Grip } from '../../sheet/grips';
import { emptyColumns } from '../../sheet/model';
import { fitRange, follow, leastRow, positionAtY, rowAt, scrollBy, settled, yOf, zoomRows, type Rows } from '../../sheet/rows';
import type { Ordinal } from '../../geometry/brands';
import type { Desk } from '../desk.svelte';

/** px of a row as the sheet opens. */
const ROW = 16;
/** By one press of a key. */
const ZOOM = 1.35;
/** px of the wheel that double a row. */
const WHEEL = 300;

/** What lies under the hand. */
export interface Spot {
  readonly x: number;
  readonly y: number;
  readonly row: Ordinal;
  readonly column: Laid | undefined;
  readonly grip: Grip | null;
}

/** How the sheet lies in its box: which columns, how wide, which rows. The box is all it is told from outside. */
export class SheetView {
  private box = $state.raw({ width: 300, height: 600 });
  private unfolded = $state.raw<ReadonlySet<string>>(new Set());
  rows = $state.raw<Rows>({ frames: 1, rowHeight: ROW, scroll: 0, height: 600 });
  /** The row that a hand pressed: it is in sight, and paper that moved under the hand would lead the second press of two to another row. */
  private underHand: number | null = null;

  constructor(private readonly desk: Desk) {}

  /** The sheet is laid out as on a screen of 1920x1080, and drawn larger on a larger one. */
  readonly size = $derived({ width: this.box.width / grown(), height: this.box.height / grown() });
  readonly folded = $derived.by(() => new Set(this.desk.keep.settings?.hidden ?? []));
  readonly columns: Laid[] = $derived.by(() => {
    const { keep, finding } = this.desk;
    const order = ordered(keep.settings?.columns ?? []);
    const shown = keep.tray?.findings.find((f) => f.key === finding);
    const evidence = shown?.evidence.length ? shown.column : null;
    const empty = keep.model ? emptyColumns(keep.model, order.map((c) => c.id), evidence) : new Set<string>();
    return layColumns(order, this.size.width, this.folded, { unfolded: this.unfolded, empty });
  });

  /** The rows lie in a box of this many CSS px. */
  fit(width: number, height: number): void {
    this.box = { width, height };
  }

  /** To be called in an effect: keeps the rows in their box, and the playhead in sight. */
  keepIn(frames: number): void {
    const { height } = this.size;
    this.rows = settled({ ...untrack(() => this.rows), frames, height });
  }

  keepInSight(row: number): void {
    if (row === this.underHand) return;
    this.underHand = null;
    this.rows = follow(untrack(() => this.rows), row);
  }

  /** Larger (1), smaller (-1), the whole shot (0), the chosen rows (2). */
  wish(what: 1 | -1 | 0 | 2): void {
    const { rows } = this;
    const { transport } = this.desk;
    if (what === 0) this.rows = settled({ ...rows, rowHeight: leastRow(rows.height, rows.frames), scroll: 0 });
    else if (what === 2) this.rows = fitRange(rows, transport.here());
    else this.rows = zoomRows(rows, ZOOM ** what, yOf(rows, transport.playhead + 0.5));
  }

  turn(event: WheelEvent, y: number): void {
    this.rows = event.ctrlKey || event.altKey ? zoomRows(this.rows, 2 ** (-event.deltaY / WHEEL), y) : scrollBy(this.rows, event.deltaY / grown());
  }

  scrollTo(row: number): void {
    this.rows = settled({ ...this.rows, scroll: (row + 0.5) * this.rows.rowHeight - this.rows.height / 2 });
  }

  /** What lies under a place of the window. corner: of the paper, in the window. */
  under(event: MouseEvent, corner: DOMRect): Spot {
    const x = (event.clientX - corner.left) / grown();
    const y = (event.clientY - corner.top) / grown();
    const column = columnAt(this.columns, x);
    const { model } = this.desk.keep;
    return { x, y, row: rowAt(this.rows, y), column, grip: model ? gripAt(model, this.rows, column, y) : null };
  }

  holdUnderHand(row: number): void {
    this.underHand = row;
  }

  positionAt(y: number): number {
    return positionAtY(this.rows, y);
  }

  /** Folds a column away, or out again, where it folded by itself too. Answers which columns a person has hidden now. */
  toggle(column: Laid): string[] {
    this.unfolded = new Set(column.folded ? [...this.unfolded, column.id] : [...this.unfolded].filter((c) => c !== column.id));
    return column.folded ? [...this.folded].filter((c) => c !== column.id) : [...this.folded, column.id];
  }
}
