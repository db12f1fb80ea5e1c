import { describe, expect, it } from 'vitest';
import { onPicture, ordinal } from '../geometry/brands';
import type { Pencil } from '../ink/ink';
import type { Grip } from '../sheet/grips';
import { draw, IDLE, type DrawEvent, type DrawState } from './draw';
import { AT_REST, hand, type RowEvent, type RowState } from './rows';

const PENCIL: Pencil = { tool: 'pencil', colour: 'blue', width: 0.006, dashed: false };
const pen = (type: 'down' | 'move' | 'up' | 'cancel', x: number, y: number, pencil: Pencil = PENCIL, pressure = 0.5, ms = 0): DrawEvent => ({ type, at: onPicture(x, y), pressure, ms, shift: false, pencil });

function drive(events: DrawEvent[], from: DrawState = IDLE): { names: string[]; undo: string[]; last: ReturnType<typeof draw> } {
  let last: ReturnType<typeof draw> = { state: from, changes: [] };
  const names: string[] = [];
  const undo: string[] = [];
  for (const event of events) {
    last = draw(last.state, event);
    names.push(last.state.name);
    undo.push(...last.changes.map((c) => c.undo));
  }
  return { names, undo, last };
}

describe('a pencil', () => {
  it('draws from press to lift: one step of undo, at the end', () => {
    const { names, undo, last } = drive([pen('move', 0, 0), pen('down', 0.1, 0.1, PENCIL, 0.3, 1000), pen('move', 0.2, 0.1, PENCIL, 0.8, 1008), pen('up', 0.2, 0.1, PENCIL, 0, 1016)]);
    expect(names).toEqual(['idle', 'drawing', 'drawing', 'idle']);
    expect(undo).toEqual(['later', 'later', 'now']);
    const [{ what }] = last.changes;
    expect(what.kind === 'stroke' && what.stroke.points).toEqual([[0.1, 0.1, 0.3, 0], [0.2, 0.1, 0.8, 8]]);
  });
  it('leaves a dot where it was pressed once', () => {
    const { last } = drive([pen('down', 0.1, 0.1), pen('up', 0.1, 0.1)]);
    expect(last.changes[0].what.kind).toBe('stroke');
  });
  it('forgets what was cancelled', () => {
    const { names, last } = drive([pen('down', 0.1, 0.1), pen('move', 0.5, 0.5), pen('cancel', 0.5, 0.5)]);
    expect(names).toEqual(['drawing', 'drawing', 'idle']);
    expect(last.changes).toEqual([{ undo: 'later', what: { kind: 'clear' } }]);
  });
});

describe('an arrow', () => {
  const arrow: Pencil = { ...PENCIL, tool: 'arrow' };
  it('is pulled from one end to the other', () => {
    const { last } = drive([pen('down', 0.1, 0.1, arrow), pen('move', 0.3, 0.4, arrow), pen('move', 0.5, 0.5, arrow), pen('up', 0.5, 0.5, arrow)]);
    const [{ what }] = last.changes;
    expect(what.kind === 'stroke' && what.stroke.points.map(([x]) => x)).toEqual([0.1, 0.5]);
  });
  it('is nothing when the hand only slipped', () => {
    expect(drive([pen('down', 0.1, 0.1, arrow), pen('move', 0.101, 0.1, arrow), pen('up', 0.101, 0.1, arrow)]).last.changes[0].what.kind).toBe('clear');
  });
});

describe('words', () => {
  const text: Pencil = { ...PENCIL, tool: 'text' };
  it('are written where the picture was pressed', () => {
    const { names, last } = drive([pen('down', 0.4, 0.6, text), pen('up', 0.4, 0.6, text), { type: 'say', text: ' drop the iris ' }]);
    expect(names).toEqual(['writing', 'writing', 'idle']);
    const [{ what }] = last.changes;
    expect(what.kind === 'stroke' && [what.stroke.text, what.stroke.points[0][0]]).toEqual(['drop the iris', 0.4]);
  });
  it('leave nothing when nothing was said', () => {
    expect(drive([pen('down', 0.4, 0.6, text), { type: 'say', text: '  ' }]).last.changes[0].what.kind).toBe('clear');
  });
});

describe('the hand on the sheet', () => {
  const at = (type: RowEvent['type'], row: number, how: Partial<RowEvent> = {}): RowEvent => ({ type, row: ordinal(row), y: row * 20, grip: null, shift: false, playhead: ordinal(3), ...how });
  const run = (events: RowEvent[]): { names: string[]; whats: unknown[]; undo: string[] } => {
    let state: RowState = AT_REST;
    const [names, whats, undo]: [string[], unknown[], string[]] = [[], [], []];
    for (const event of events) {
      const next = hand(state, event);
      state = next.state;
      names.push(state.name);
      whats.push(...next.changes.map((c) => c.what));
      undo.push(...next.changes.map((c) => c.undo));
    }
    return { names, whats, undo };
  };
  const edge: Grip = { event: 'word', index: 2, part: 'end' };

  it('goes to a row that is pressed', () => {
    const { names, whats, undo } = run([at('down', 7), at('move', 7), at('up', 7)]);
    expect(names).toEqual(['choosing', 'choosing', 'idle']);
    expect(whats).toEqual([{ kind: 'go', to: 7 }]);
    expect(undo).toEqual(['never']);
  });
  it('chooses the rows it is drawn over, upward too, both ends in', () => {
    expect(run([at('down', 7), at('move', 9), at('move', 5), at('up', 5)]).whats).toEqual([{ kind: 'go', to: 7 }, { kind: 'choose', range: { first: 7, last: 9 } }, { kind: 'choose', range: { first: 5, last: 7 } }]);
  });
  it('chooses from the playhead with shift', () => {
    expect(run([at('down', 8, { shift: true })]).whats).toEqual([{ kind: 'choose', range: { first: 3, last: 8 } }]);
  });
  it('pulls an edge: one step of undo at the end', () => {
    const { names, whats, undo } = run([at('down', 7, { grip: edge }), at('move', 8), at('up', 8, { y: 163 })]);
    expect(names).toEqual(['pulling', 'pulling', 'idle']);
    expect(undo).toEqual(['later', 'now']);
    expect(whats[1]).toEqual({ kind: 'pulled', grip: edge, y: 163, snap: false });
  });
  it('changes nothing when an edge was pressed but not pulled, or the pull was cancelled', () => {
    expect(run([at('down', 7, { grip: edge }), at('up', 7)]).whats).toEqual([{ kind: 'go', to: 7 }]);
    expect(run([at('down', 7, { grip: edge }), at('move', 9), at('cancel', 9)]).whats[1]).toEqual({ kind: 'forget' });
  });
  it('chooses over a word when it is not taken by its edge', () => {
    expect(run([at('down', 7, { grip: { ...edge, part: 'body' } })]).names).toEqual(['choosing']);
  });
});
