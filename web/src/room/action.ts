import type { CastTool } from './casting.svelte';
import type { Desk } from './desk.svelte';

/** Something that can be done by key, with its name and one line of help. */
export interface Action {
  readonly id: string;
  readonly group: 'run' | 'go' | 'choose' | 'draw' | 'see' | 'cast' | 'judge' | 'page';
  readonly name: string;
  readonly help: string;
  /** As it comes; a person may change it. */
  readonly key: string;
  readonly run: (desk: Desk) => void;
  /** Where it works; 'study' if not said. */
  readonly mode?: 'any' | 'first';
  /** Only while this tool of the cast is in hand; its key then goes before others. */
  readonly hand?: CastTool;
}

export type Row = [id: string, name: string, key: string, help: string, run: (desk: Desk) => void];
export const rows = (group: Action['group'], list: Row[], where: Pick<Action, 'mode' | 'hand'> = {}): Action[] =>
  list.map(([id, name, key, help, run]) => ({ id, group, name, key, help, run, ...where }));
