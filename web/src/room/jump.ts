import { range } from '../geometry/brands';
import { isOpen } from '../sheet/findings';
import { openNote } from './acts';
import type { Desk } from './desk.svelte';

export type Thing = 'word' | 'breath' | 'cut' | 'finding' | 'note';

/** To the next or former thing of a kind. */
export function jump(desk: Desk, thing: Thing, way: 1 | -1): void {
  if (thing === 'note') return jumpNote(desk, way);
  const { sheet } = desk.keep.model ?? {};
  if (!sheet) return;
  const findings = (desk.keep.tray?.findings ?? []).filter(isOpen);
  const places = { word: sheet.words, breath: sheet.breaths, finding: findings, cut: sheet.cuts.map((c) => ({ first: c.frame, last: c.frame })) }[thing];
  const at = desk.transport.target;
  const sorted = [...places].sort((a, b) => (a.first - b.first) * way);
  const next = sorted.find((p) => (p.first - at) * way > 0) ?? sameFrame(sorted, desk, at, thing);
  if (!next) return desk.keep.say(`There is no further ${thing} that way.`);
  if (thing === 'finding') chooseFinding(desk, (next as (typeof findings)[0]).key);
  else desk.transport.go(next.first);
}

/** Findings that begin on one frame are visited one after the other. */
function sameFrame<T extends { first: number }>(list: T[], desk: Desk, at: number, thing: Thing): T | undefined {
  if (thing !== 'finding') return undefined;
  const here = list.filter((p) => p.first === at) as (T & { key: string })[];
  return here[here.findIndex((p) => p.key === desk.finding) + 1];
}

export function chooseFinding(desk: Desk, key: string): void {
  const finding = desk.keep.tray?.findings.find((f) => f.key === key);
  if (!finding) return;
  desk.finding = key;
  desk.cast.open &&= desk.cast.tool !== null;
  desk.note = null;
  desk.transport.go(finding.strokes[0]?.frame ?? finding.first);
  desk.transport.choose(range(finding.first, finding.last));
}

function jumpNote(desk: Desk, way: 1 | -1): void {
  const { notes } = desk.keep;
  const at = notes.findIndex((n) => n.id === desk.note);
  const next = notes[at < 0 ? (way > 0 ? 0 : notes.length - 1) : at + way];
  if (next) openNote(desk, next);
  else desk.keep.say(notes.length ? 'There is no further note that way.' : 'There is no note yet.');
}
