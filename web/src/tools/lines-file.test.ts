import { describe, expect, it } from 'vitest';
import { linesKind, linesText } from './lines-file';

describe('lines from a file', () => {
  it.each([
    ['Oona: It burns.', 'plain'],
    ['OONA\nIt burns.', 'plain'],
    ['\nWEBVTT\n\n00:01.000 --> 00:02.000\nx', 'cues'],
    ['1\r\n00:00:01,000 --> 00:00:02,000\r\nIt burns.', 'cues'],
    ['Oona: one\nBram: two\nBram: a --> b', 'plain'],
    ['File type = "ooTextFile"', 'tiers'],
  ])('%j is read as %s', (text, kind) => expect(linesKind(text)).toBe(kind));

  it('refuses what is no text in one sentence', () => {
    expect(() => linesText(new Uint8Array([0, 1, 2]), 'kite.bin')).toThrow(/^kite\.bin is not text;/);
  });
});
