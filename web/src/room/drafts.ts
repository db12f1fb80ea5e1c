/** Words typed and not yet stored, kept in this tab: a reload, or a room that has gone and comes back, loses none of them. */

const name = (noteId: string): string => `shotcrit:typed:${noteId}`;

export function draftOf(noteId: string): Record<string, string> {
  try {
    const found: unknown = JSON.parse(sessionStorage.getItem(name(noteId)) ?? '{}');
    if (found === null || typeof found !== 'object') return {};
    return Object.fromEntries(Object.entries(found).filter((entry): entry is [string, string] => typeof entry[1] === 'string'));
  } catch {
    return {}; // storage is switched off, or holds something else: then there is no draft
  }
}

/** An empty draft is forgotten. */
export function keepDraft(noteId: string, typed: Readonly<Record<string, string | undefined>>): void {
  const left = Object.fromEntries(Object.entries(typed).filter(([, text]) => text !== undefined));
  try {
    if (Object.keys(left).length) sessionStorage.setItem(name(noteId), JSON.stringify(left));
    else sessionStorage.removeItem(name(noteId));
  } catch {
    // storage is switched off or full; the words are still in the form
  }
}
