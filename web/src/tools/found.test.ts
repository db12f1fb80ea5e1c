import { describe, expect, it } from 'vitest';
import type { SheetFace } from '../api/types';
import { asSaid, draftsOn, isConfirmed, pairIn, proposedBy } from './found';

const FACE = {
  id: 1, who: 'Oona', first: 0, last: 40,
  proposed: [
    { frame: 4, shape: 'shut', marks: { lip_upper: [0.4, 0.5], lip_lower: [0.4, 0.52] } },
    { frame: 9, shape: 'open', marks: { lip_upper: [0.41, 0.5] } },
  ],
} as unknown as SheetFace; // prettier-ignore
const OTHER = { ...FACE, id: 2, who: 'Bram', first: 10, last: 60 } as SheetFace;
const place = (frame: number) => ({ frame, x: 0.1, y: 0.1 });

describe('faces that were found', () => {
  it('propose points by mark, as a cast counts', () => {
    expect(proposedBy(FACE, 1001)).toEqual({ lip_upper: [{ frame: 1005, x: 0.4, y: 0.5 }, { frame: 1010, x: 0.41, y: 0.5 }], lip_lower: [{ frame: 1005, x: 0.4, y: 0.52 }] });
  });

  it('show as drafts only what nobody placed', () => {
    const oona = { name: 'Oona', marks: { lip_upper: [place(1005)] }, scene: {} };
    expect(draftsOn([FACE], 4, [], 1001).map((d) => d.mark)).toEqual(['lip_upper', 'lip_lower']);
    expect(draftsOn([FACE], 4, [oona], 1001).map((d) => d.mark)).toEqual(['lip_lower']);
    expect(draftsOn([FACE], 5, [], 1001)).toEqual([]);
  });

  it('are confirmed when all that they propose is placed, wherever it was pulled', () => {
    const half = { name: 'Oona', marks: { lip_upper: [place(1005), place(1010)] }, scene: {} };
    const whole = { ...half, marks: { ...half.marks, lip_lower: [place(1005)] } };
    expect([isConfirmed(FACE, [], 1001), isConfirmed(FACE, [half], 1001), isConfirmed(FACE, [whole], 1001)]).toEqual([false, false, true]);
    expect(isConfirmed({ ...FACE, proposed: [] }, [whole], 1001)).toBe(false);
  });

  it('are whose a person last said', () => {
    const at = { ...FACE, at: 4, point: [0.4, 0.5] } as SheetFace;
    expect(asSaid([at], [{ who: 'Bram', frame: 1005, x: 0.4, y: 0.5 }], 1001)[0]).toMatchObject({ who: 'Bram', said: true });
    expect(asSaid([at], [{ who: null, frame: 1005, x: 0.4, y: 0.5 }], 1001)[0].who).toBeNull();
    expect(asSaid([at], [{ who: 'Bram', frame: 1006, x: 0.4, y: 0.5 }], 1001)[0].who).toBe('Oona');
  });

  it('can be swapped where two people are seen in a shot', () => {
    expect(pairIn([FACE, OTHER], { first: 0, last: 60 })).toEqual(['Bram', 'Oona']);
    expect(pairIn([FACE, OTHER], { first: 0, last: 8 })).toBeNull();
    expect(pairIn([FACE, { ...OTHER, who: null } as SheetFace], { first: 0, last: 60 })).toBeNull();
  });
});
