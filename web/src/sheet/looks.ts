import type { Sheet, TrayFinding } from '../api/types';

type Look = Sheet['looks'][0];
const MISSES = new Set(['off_target', 'drift', 'do_not_meet', 'heights']);

/** A part of a look: of eye contact (the other looks back), of a look alone, or of one that a finding says misses. */
export interface Stretch {
  readonly look: Look;
  readonly first: number;
  readonly last: number;
  readonly state: 'met' | 'alone' | 'missed';
}

type Missing = Pick<TrayFinding, 'check' | 'kind' | 'who' | 'first' | 'last' | 'state'>;

/** Whether a finding is about `who`: alone, or with whom they look at. */
const isOf = (f: Missing, look: Look): boolean => [look.who, `${look.who} and ${look.at}`, `${look.at} and ${look.who}`].includes(f.who ?? '');

const missed = (look: Look, row: number, findings: readonly Missing[]): boolean =>
  findings.some((f) => f.check === 'eyeline' && MISSES.has(f.kind) && f.state !== 'dismissed' && isOf(f, look) && f.first <= row && row <= f.last);

/** Looks cut where eye contact begins and ends, and where a look misses. */
export function lookStretches(looks: readonly Look[], findings: readonly Missing[]): Stretch[] {
  return looks.flatMap((look) => {
    const backs = looks.filter((k) => k.who === look.at && k.at === look.who);
    const out: Stretch[] = [];
    for (let row = look.first; row <= look.last; row++) {
      const back = backs.some((k) => k.first <= row && row <= k.last && !missed(k, row, findings));
      const state = missed(look, row, findings) ? 'missed' : back ? 'met' : 'alone';
      const open = out[out.length - 1];
      if (open?.state === state) out[out.length - 1] = { ...open, last: row };
      else out.push({ look, first: row, last: row, state });
    }
    return out;
  });
}
