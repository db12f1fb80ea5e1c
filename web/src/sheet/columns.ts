/** The sheet's columns: what each is called, how wide it wants to be, and which fold first when paper is scarce. */
export interface Column {
  readonly id: ColumnId;
  readonly name: string;
  readonly help: string;
  readonly ideal: number;
  readonly least: number;
  /** Higher folds earlier; 0 never folds by itself. */
  readonly folds: number;
}

export const COLUMN_IDS = ['frame', 'picture', 'sound', 'words', 'phones', 'air', 'mouth', 'eyes', 'body', 'found', 'notes'] as const;
export type ColumnId = (typeof COLUMN_IDS)[number];

const column = (id: ColumnId, help: string, ideal: number, least: number, folds: number): Column => ({ id, name: id, help, ideal, least, folds });

export const COLUMNS: readonly Column[] = [
  column('frame', 'frame number', 46, 42, 0),
  column('picture', 'cuts, and dead frames: those that repeat the frame before', 34, 30, 1),
  column('sound', 'the wave of the sound', 64, 44, 3),
  column('words', 'what is said', 72, 54, 0),
  column('phones', 'the sounds that words are made of', 40, 34, 4),
  column('air', 'breaths in and out, smacks', 38, 32, 2),
  column('mouth', 'how far the mouth is open: seen full, wanted dashed', 72, 52, 5),
  column('eyes', 'who looks at what, and blinks', 58, 46, 7),
  column('body', 'how much moves', 54, 40, 6),
  column('found', 'what checks found', 46, 36, 0),
  column('notes', 'your notes and first-look markers', 42, 34, 0),
];

export const FOLDED = 11;
/** Width of a folded column: a slit that still shows that something is there. */

export interface Laid extends Column {
  readonly x: number;
  readonly width: number;
  readonly folded: boolean;
}

/** Columns in the reviewer's order, unknown names left out, missing ones at the end. */
export function ordered(order: readonly string[]): Column[] {
  const known = order.filter((id): id is ColumnId => (COLUMN_IDS as readonly string[]).includes(id));
  const rest = COLUMN_IDS.filter((id) => !known.includes(id));
  return [...known, ...rest].map((id) => COLUMNS.find((c) => c.id === id)!);
}

/** Lay columns over `width` px: fold what does not fit (by `folds`), then share what is left. unfolded: never folded by itself. */
export function layColumns(columns: readonly Column[], width: number, folded: ReadonlySet<string>, unfolded: ReadonlySet<string> = new Set()): Laid[] {
  const shut = new Set(columns.filter((c) => folded.has(c.id)).map((c) => c.id));
  const need = (): number => columns.reduce((sum, c) => sum + (shut.has(c.id) ? FOLDED : c.least), 0);
  const spare = [...columns].filter((c) => c.folds > 0 && !unfolded.has(c.id)).sort((a, b) => b.folds - a.folds);
  for (const c of spare) {
    if (need() <= width) break;
    shut.add(c.id);
  }
  const open = columns.filter((c) => !shut.has(c.id));
  const wish = open.reduce((sum, c) => sum + c.ideal - c.least, 0) || 1;
  const extra = Math.max(0, width - need());
  let x = 0;
  return columns.map((c) => {
    const w = shut.has(c.id) ? FOLDED : c.least + ((c.ideal - c.least) / wish) * extra;
    const laid = { ...c, x, width: w, folded: shut.has(c.id) };
    x += w;
    return laid;
  });
}

export const columnAt = (laid: readonly Laid[], x: number): Laid | undefined => laid.find((c) => x >= c.x && x < c.x + c.width);
