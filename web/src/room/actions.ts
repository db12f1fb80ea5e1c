import { WHOLE } from '../geometry/view';
import { range } from '../geometry/brands';
import { nextSpeed } from '../sound/run';
import { addMarker } from './first-look';
import * as acts from './acts';
import { rows, type Action, type Row } from './action';
import { AGAINST, ASKED } from './asked-actions';
import { castActions } from './cast-actions';
import type { Desk, Layer } from './desk.svelte';
import { openFollower } from './follower.svelte';
import { GLASS } from './glass-actions';
import { jump, type Thing } from './jump';
import { leaveFor, REASONS } from './leaving';

const speed = (way: 1 | -1) => (d: Desk) => d.transport.set('speed', nextSpeed(d.transport.speed, way));

const RUN = rows('run', [
  ['run', 'run', 'r', 'Run the shot with its sound, or stop it.', (d) => d.transport.toggle(1)],
  ['run-back', 'run back', 'shift+r', 'Run backward, sound and all.', (d) => d.transport.toggle(-1)],
  ['next-frame', 'next frame', 'down', 'One frame on, with the sound of exactly that frame.', (d) => d.transport.step(1)],
  ['frame-before', 'frame before', 'up', 'One frame back, with the sound of exactly that frame.', (d) => d.transport.step(-1)],
  ['again', 'round', 'o', 'Go round and round the chosen frames, or the whole shot.', (d) => d.transport.set('loop', !d.transport.loop)],
  ['slower', 'slower', 's', 'Slow down, to a quarter at most.', speed(-1)],
  ['quicker', 'quicker', 'q', 'Speed up, to double at most.', speed(1)],
  ['pitch', 'pitch kept', 'k', 'Keep voices at their own pitch when slower or quicker.', (d) => d.transport.set('keepPitch', !d.transport.keepPitch)],
  ['closer', 'listen closer', 'h', 'Lift what is quiet (breaths, smacks, word ends) and leave the loud alone. Turn your volume down before you put headphones on.', (d) => d.transport.set('closer', !d.transport.closer)],
]);

const to = (thing: Thing, way: 1 | -1) => (d: Desk) => jump(d, thing, way);
const GO = rows('go', [
  ['second-on', 'a second on', 'page down', 'One second on.', (d) => d.transport.go(d.transport.target + perSecond(d))],
  ['second-back', 'a second back', 'page up', 'One second back.', (d) => d.transport.go(d.transport.target - perSecond(d))],
  ['first', 'first frame', 'home', 'To the first frame.', (d) => d.transport.go(0)],
  ['last', 'last frame', 'end', 'To the last frame.', (d) => d.transport.go(Infinity)],
  ['word', 'next word', 'w', 'To the next word.', to('word', 1)],
  ['word-back', 'word before', 'shift+w', 'To the word before.', to('word', -1)],
  ['breath', 'next breath', 'b', 'To the next breath or smack.', to('breath', 1)],
  ['breath-back', 'breath before', 'shift+b', 'To the breath before.', to('breath', -1)],
  ['cut', 'next cut', 'x', 'To the next cut.', to('cut', 1)],
  ['cut-back', 'cut before', 'shift+x', 'To the cut before.', to('cut', -1)],
  ['finding', 'next finding', 'f', 'To the next thing found.', to('finding', 1)],
  ['finding-back', 'finding before', 'shift+f', 'To the finding before.', to('finding', -1)],
  ['note', 'next note', 'n', 'To the next note in reading order.', to('note', 1)],
  ['note-back', 'note before', 'shift+n', 'To the note before.', to('note', -1)],
]);

const CHOOSE = rows('choose', [
  ['top', 'choose from here', 't', 'The chosen frames begin here.', chooseFrom],
  ['end', 'choose to here', 'e', 'The chosen frames end here.', chooseTo],
  ['longer', 'one row more', 'shift+down', 'Take one more frame into the chosen ones.', (d) => grow(d, 1)],
  ['shorter', 'one row less', 'shift+up', 'Take one frame less.', (d) => grow(d, -1)],
  ['count', 'judge only these', 'shift+g', 'Only the chosen frames are judged, the rest is shown; with none chosen, all are judged again.', (d) => void acts.countChosen(d)],
  ['none', 'choose nothing', 'escape', 'Let go: close what is open, then the chosen frames, then the tool.', letGo],
]);

const DRAW = rows('draw', [
  ['hand', 'hand', '0', 'Put the pencil down: drag to move a zoomed picture.', (d) => d.take('hand')],
  ['blue', 'blue pencil', '1', 'Draw in blue.', (d) => d.take('pencil', 'blue')],
  ['red', 'red pencil', '2', 'Draw in red.', (d) => d.take('pencil', 'red')],
  ['graphite', 'soft graphite', '3', 'Draw in soft graphite.', (d) => d.take('pencil', 'black')],
  ['arrow', 'arrow', '4', 'Pull an arrow.', (d) => d.take('arrow')],
  ['ellipse', 'ellipse', '5', 'Ring something.', (d) => d.take('ellipse')],
  ['sight', 'sight line', '6', 'From the eyes to what they look at.', (d) => d.take('sight')],
  ['text', 'words', '7', 'Write on the picture.', (d) => d.take('text')],
  ['rub', 'rub out', '8', 'Rub out what was drawn.', (d) => d.take('eraser')],
  ['dashed', 'as it should be', '9', 'Lines dashed: how it should be, instead of how it is.', (d) => (d.dashed = !d.dashed)],
]);

const layer = (name: Layer) => (d: Desk) => d.toggleLayer(name);
const SEE = rows('see', [
  ['drawings', 'drawings', 'd', 'Show drawings, or hide them.', layer('drawings')],
  ['neighbours', 'neighbours', 'g', 'The frames and drawings before and after shine through, up to the cut.', layer('neighbours')],
  ['marks', 'marks and paths', 'm', 'Followed marks, their paths, and a tick for every frame.', layer('marks')],
  ['rays', 'look rays', 'y', 'Where the eyes point.', layer('rays')],
  ['evidence', 'evidence', 'v', 'What a chosen finding measured, drawn on the picture.', layer('evidence')],
  ['layers', 'layers', 'shift+v', 'What lies over the picture: open or close the row.', (d) => (d.seeing = !d.seeing)],
  ['closer-look', 'picture closer', 'z', 'Zoom the picture in.', (d) => d.wishPicture(2)],
  ['further', 'picture further', 'shift+z', 'Zoom the picture out.', (d) => d.wishPicture(-2)],
  ['all', 'whole picture', 'a', 'The whole picture again.', (d) => (d.view = WHOLE)],
  ['rows-in', 'taller rows', '+', 'Fewer frames on the sheet, each taller.', (d) => d.wishSheet(1)],
  ['rows-out', 'lower rows', '-', 'More frames on the sheet.', (d) => d.wishSheet(-1)],
  ['rows-all', 'whole shot', 'shift+a', 'The whole shot on the sheet.', (d) => d.wishSheet(0)],
  ['rows-chosen', 'chosen frames large', 'l', 'The chosen frames as large as the sheet allows.', (d) => d.wishSheet(2)],
  ['columns', 'columns', 'c', 'Show, hide and order the columns of the sheet.', (d) => (d.panel = 'columns')],
  ['sheet', 'the sheet', 'shift+t', 'Fold the sheet to a slit, or out again.', (d) => d.arranged.foldSheet()],
  ['alone', 'picture alone', 'shift+o', 'The picture and nothing else; the same key or esc brings the desk back.', (d) => d.arranged.standAlone()],
  ['window', 'second window', 'shift+e', 'A window with nothing but the picture, for another screen: it shows what this one shows.', () => openFollower()],
  ['dim', 'dim the desk', 'shift+i', 'Paper and grey by little light, for judging a dark shot.', (d) => d.arranged.dimDesk()],
  ['actor', 'next character', 'u', "Draw the next character's acting strongest on the sheet.", nextActor],
]);

const JUDGE = rows('judge', [
  ['write', 'write a note', 'enter', 'A new note on the chosen frames, or on this one.', (d) => void acts.writeNote(d)],
  ['praise', 'what to keep', 'p', 'A new note that says what is good and must not get lost.', (d) => void acts.writeNote(d, 'keep')],
  ...REASONS.map(({ id, reason, key, help }): Row => [id, reason, key, help, (d) => leaveFor(d, reason)]),
  ['lines', 'lines', 'i', 'Type or paste what is said; it is aligned on the spot.', (d) => (d.panel = 'lines')],
  ['mend', 'mend here', '.', 'Mend, split, delete or add a word, phone, breath or cut on this frame or the chosen ones.', (d) => d.mendWish++],
  ['phrases', 'phrase book', 'j', 'Your own wordings.', (d) => (d.panel = 'phrases')],
  ['notes-pane', 'cards', 'shift+c', 'Put the cards (notes, and what was found) away, or lay them out again.', foldNotes],
  ['notes-place', 'cards beside', 'shift+j', 'Lay the cards beside the picture, or under it.', (d) => d.arranged.moveNotes()],
]);

const PAGE = rows(
  'page',
  [
    ['mode-first', 'first look', 'shift+l', 'Watch it cold, in the dark.', (d) => switchTo(d, 'first')],
    ['mode-study', 'desk', 'shift+s', 'The sheet, the picture and the cards: break it down, judge, draw, write.', (d) => switchTo(d, 'study')],
    ['mode-send', 'send', 'shift+d', 'Look over what goes out, and send it.', (d) => switchTo(d, 'send')],
    ['settings', 'settings', ',', 'What checks judge by, how far listen closer lifts, your reaction time, the first frame.', (d) => (d.panel = d.panel === 'settings' ? null : 'settings')],
    ['undo', 'undo', 'ctrl+z', 'Take back the last change, as far back as you like.', (d) => void acts.undo(d)],
    ['redo', 'redo', 'ctrl+shift+z', 'Bring it back.', (d) => void acts.redo(d)],
    ['help', 'all keys', '?', 'Every control with its key; keys can be changed there.', (d) => (d.panel = d.panel === 'help' ? null : 'help')],
  ],
  { mode: 'any' },
);

const FIRST = rows('page', [['marker', 'it bothered me', 'space', 'First look: put a cross there, drawn back by your reaction time.', (d) => void addMarker(d)]], { mode: 'first' });

/** Everything that can be done by key. The help page, tooltips and buttons read from here. */
export const ACTIONS: readonly Action[] = [...RUN, ...GO, ...CHOOSE, ...DRAW, ...SEE, ...GLASS, ...AGAINST, ...castActions(), ...JUDGE, ...ASKED, ...PAGE, ...FIRST];
export const actionById = (id: string): Action => ACTIONS.find((a) => a.id === id)!;
export const keyOf = (desk: Desk, id: string): string => desk.keep.settings?.keys?.[id] ?? actionById(id).key;

const perSecond = (d: Desk): number => Math.max(1, Math.round(d.transport.clock?.rate ?? 24));

export function switchTo(d: Desk, mode: Desk['mode']): void {
  if (!d.keep.take || d.mode === mode) return;
  d.transport.stop();
  d.panel = null;
  d.mode = mode;
}

function chooseFrom(d: Desk): void {
  const at = d.transport.target;
  d.transport.choose(range(at, Math.max(at, d.transport.chosen?.last ?? at)));
  d.transport.begun = at;
}

function chooseTo(d: Desk): void {
  const at = d.transport.target;
  d.transport.choose(range(Math.min(at, d.transport.chosen?.first ?? d.transport.begun ?? at), at));
}

function grow(d: Desk, by: number): void {
  const { first, last } = d.transport.here();
  d.transport.choose(range(first, Math.max(first, last + by)));
}

function letGo(d: Desk): void {
  if (d.panel) d.panel = null;
  else if (d.arranged.alone) d.arranged.standAlone(false);
  else if (d.glass.takes) d.glass.takes = null;
  else if (d.glass.beside) d.glass.beside = false;
  else if (d.glass.reference) d.glass.reference = false;
  else if (d.cast.tool) d.cast.take(null);
  else if (d.transport.chosen) d.transport.choose((d.transport.begun = null));
  else if (d.note || d.finding) d.note = d.finding = null;
  else d.take('hand');
}

function foldNotes(d: Desk): void {
  d.notesOpen = !d.notesOpen;
}

function nextActor(d: Desk): void {
  const people = d.keep.model?.players.map((a) => a.who) ?? [];
  const at = d.who === null ? 0 : people.indexOf(d.who) + 1;
  d.who = people[at] ?? null;
  d.keep.say(d.who ? `${d.who} is drawn strongest.` : 'All characters are drawn alike.');
}
