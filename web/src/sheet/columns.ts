import { HEADS } from './marks';

/** The sheet's columns: what each is called, how wide it wants to be, and which fold first when paper is scarce. */
export interface Column {
  readonly id: ColumnId;
  readonly name: string;
  /** What stands over it; shorter than its name where room is scarce. */
  readonly head: string;
  readonly help: string;
  readonly ideal: number;
  readonly least: number;
  /** Higher folds earlier; 0 never folds by itself. */
  readonly folds: number;
}

export const COLUMN_IDS = ['frame', 'picture', 'sound', 'words', 'phones', 'air', 'mouth', 'eyes', 'body', 'found', 'notes'] as const;
export type ColumnId = (typeof COLUMN_IDS)[number];

/** ideal, least : px; folds : as in Column. */
const ROOM: Record<ColumnId, readonly [ideal: number, least: number, folds: number]> = {
  frame: [46, 38, 0],
  picture: [34, 26, 1],
  sound: [60, 36, 0],
  words: [84, 60, 0],
  phones: [42, 36, 4],
  air: [36, 26, 2],
  mouth: [76, 38, 5],
  eyes: [110, 60, 7],
  body: [52, 24, 6],
  found: [44, 32, 0],
  notes: [40, 28, 0],
};

export const COLUMNS: readonly Column[] = COLUMN_IDS.map((id) => {
  const [ideal, least, folds] = ROOM[id];
  const { head, help } = HEADS.find(({ key }) => key === id)!;
  return { id, name: id, head, help, ideal, least, folds };
});

/** Width of a folded column: a slit that still shows that something is there. */
export const FOLDED = 11;

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

/** Lay columns over `width` px: fold what does not fit (by `folds`), then share what is left. unfolded: never folded by itself; empty: hold nothing, fold first. */
export function layColumns(columns: readonly Column[], width: number, folded: ReadonlySet<string>, how: { unfolded?: ReadonlySet<string>; empty?: ReadonlySet<string> } = {}): Laid[] {
  const shut = new Set(columns.filter((c) => folded.has(c.id)).map((c) => c.id));
  const need = (): number => columns.reduce((sum, c) => sum + (shut.has(c.id) ? FOLDED : c.least), 0);
  const may = columns.filter((c) => c.folds > 0 && !how.unfolded?.has(c.id)).sort((a, b) => b.folds - a.folds);
  const wishes = columns.reduce((sum, c) => sum + (shut.has(c.id) ? FOLDED : c.ideal), 0);
  for (const c of may) if (wishes > width && how.empty?.has(c.id)) shut.add(c.id);
  for (const c of may) if (need() > width) shut.add(c.id);
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
