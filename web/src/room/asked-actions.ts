import { settleAsked, turnToAsked, walkAsked } from './asked-acts';
import { rows } from './action';

/** The walk along what was asked on older takes: one key an answer. */
export const ASKED = rows('judge', [
  ['asked', 'asked before', '@', 'What was asked on the takes before, to be answered on this one: open the list, or put it away.', turnToAsked],
  ['asked-next', 'next asked', 'right', 'To the next note that was asked before.', (d) => walkAsked(d, 1)],
  ['asked-back', 'asked before it', 'left', 'To the note before that.', (d) => walkAsked(d, -1)],
  ['asked-done', 'done', ')', 'What was asked is done, or what was praised is still there: the note is closed, and the next one comes.', (d) => void settleAsked(d, 'done')],
  ['asked-again', 'not yet', '(', 'Ask it again on this take: a new note with its drawings and its history; and on to the next one.', (d) => void settleAsked(d, 'again')],
  ['asked-dropped', 'changed my mind', '>', 'It is not wanted any more: the note is closed, and the next one comes.', (d) => void settleAsked(d, 'dropped')],
]);
