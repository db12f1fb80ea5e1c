/** What is said, as a file: plain text, WebVTT, SubRip or a TextGrid, in UTF-8 or in UTF-16 with its mark. */

/** A crit keeps up to 200,000 characters of lines. */
const MOST_BYTES = 400_000;

export type LinesKind = 'plain' | 'cues' | 'tiers';

/** The text of a file. Throws one sentence for what is no text. */
export function linesText(bytes: Uint8Array, name: string): string {
  if (bytes.length > MOST_BYTES) throw new Error(`${name} is over ${MOST_BYTES / 1000} kB, which no shot's lines need; give only what is said in this shot.`);
  const wide = bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : null;
  try {
    const text = new TextDecoder(wide ?? 'utf-8', { fatal: true }).decode(bytes);
    if (!text.includes('\0')) return text;
  } catch {
    /* said below */
  }
  throw new Error(`${name} is not text; give plain text, WebVTT, SubRip or a TextGrid, saved as UTF-8.`);
}

/** How the server will read a text. */
export function linesKind(text: string): LinesKind {
  const head = text.trimStart();
  if (/^(File type\s*=\s*)?"?ooTextFile/.test(head)) return 'tiers';
  const subrip = head.split('\n').filter((row) => row.trim()).slice(0, 2).some((row) => row.includes('-->'));
  return head.startsWith('WEBVTT') || subrip ? 'cues' : 'plain';
}
