import { settleAsked, turnToAsked, walkAsked } from './asked-acts';
import { rows } from './action';
import { hearOlder, holdAgainst } from './takes-acts';

/** The walk along what was asked on older takes: one key an answer. */
export const ASKED = rows('judge', [
  ['asked', 'asked before', '@', 'What was asked on the takes before, to be answered on this one: open the list, or put it away.', turnToAsked],
  ['asked-next', 'next asked', 'right', 'To the next note that was asked before.', (d) => walkAsked(d, 1)],
  ['asked-back', 'asked before it', 'left', 'To the note before that.', (d) => walkAsked(d, -1)],
  ['asked-done', 'done', ')', 'What was asked is done, or what was praised is still there: the note is closed, and the next one comes.', (d) => void settleAsked(d, 'done')],
  ['asked-again', 'not yet', '(', 'Ask it again on this take: a new note with its drawings and its history; and on to the next one.', (d) => void settleAsked(d, 'again')],
  ['asked-dropped', 'changed my mind', '>', 'It is not wanted any more: the note is closed, and the next one comes.', (d) => void settleAsked(d, 'dropped')],
]);

/** This take against the one before, on frames that belong together. */
export const AGAINST = rows('see', [
  ['takes-then', 'as it was', '[', 'The take before in this one’s place, on the frame that belongs to this one; the same key flips back.', (d) => holdAgainst(d, 'then')],
  ['takes-beside', 'both takes', ']', 'The take before and this one side by side, on frames that belong together.', (d) => holdAgainst(d, 'beside')],
  ['takes-over', 'laid over', '{', 'The take before laid over this one, half of each.', (d) => holdAgainst(d, 'over')],
  ['takes-differ', 'what differs', '}', 'Black where both takes are alike, the lighter the more they differ (three times as bright as it is).', (d) => holdAgainst(d, 'differ')],
  ['takes-hear', 'hear it as it was', '|', 'The sound of the take before, of what belongs to the chosen frames or to this one.', (d) => void hearOlder(d)],
]);
