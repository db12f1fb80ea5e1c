import { dismissFinding } from './acts';
import type { Desk } from './desk.svelte';
import { isOpen } from '../sheet/findings';

/** Ready reasons for leaving a finding alone, a key each. The reason is kept in the crit; 'wrong' says that the check was, and whoever works on the checks learns from it. */
export const REASONS = [
  { id: 'leave-meant', reason: 'meant', key: '!', help: 'Leave the chosen finding alone: it is meant so.' },
  { id: 'leave-small', reason: 'too small', key: '<', help: 'Leave the chosen finding alone: true, and too small to matter.' },
  { id: 'leave-wrong', reason: 'wrong', key: '#', help: 'Leave the chosen finding alone: it is not so. Kept in the crit, so that the checks can be mended by it.' },
] as const;

export function leaveFor(desk: Desk, reason: string): void {
  const finding = desk.keep.tray?.findings.find((f) => f.key === desk.finding && isOpen(f));
  if (!finding) return desk.keep.say('Choose a finding first: press its card, or go to the next one.');
  desk.finding = null;
  void dismissFinding(desk, finding.key, reason);
  desk.keep.say(`Left alone: ${reason}.`);
}
