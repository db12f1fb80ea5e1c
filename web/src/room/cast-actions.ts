import { lookOn } from '../tools/looks';
import { rows, type Action, type Row } from './action';
import { addLook, deleteContact, deleteLook, nudge, takeOff } from './cast-acts';
import type { Desk } from './desk.svelte';

/** px of the full-size picture that an arrow key moves a mark. */
const FINE = 0.25;
/** The same with shift. */
const COARSE = 2;


function nextWho(d: Desk): void {
  const { parts, who } = d.cast;
  const at = parts.findIndex((p) => p.name === who);
  if (parts.length) d.cast.choose(parts[(at + 1) % parts.length].name);
}

function atCamera(d: Desk): void {
  const { who } = d.cast;
  if (!who || d.cast.isProp) return d.keep.say('Choose a character first: whose look is it?');
  const { first, last } = d.cast.span();
  void addLook(d, { who, at: 'camera', first, last });
}

function noLook(d: Desk): void {
  const look = d.cast.who ? lookOn(d.cast.cast.looks ?? [], d.cast.who, d.cast.frame) : undefined;
  if (look) void deleteLook(d, look);
  else d.keep.say('No look was said for this frame.');
}

function noContact(d: Desk): void {
  const found = (d.cast.cast.contacts ?? []).find((c) => c.first <= d.cast.frame && c.last >= d.cast.frame);
  if (found) void deleteContact(d, found);
  else d.keep.say('No contact was said for this frame.');
}

const moves = (): Row[] =>
  ([['left', -1, 0], ['right', 1, 0], ['up', 0, -1], ['down', 0, 1]] as const).flatMap(([way, x, y]): Row[] => [
    [`nudge-${way}`, `a touch ${way}`, way, 'Move the mark placed last by a quarter of a pixel.', (d) => nudge(d, x * FINE, y * FINE)],
    [`push-${way}`, `further ${way}`, `shift+${way}`, 'Move the mark placed last by two pixels.', (d) => nudge(d, x * COARSE, y * COARSE)],
  ]);

/** Marking, looks and contacts: tools to take up, and the keys that hold while they are in hand. */
export const castActions = (): Action[] => [
  ...rows('cast', [
    ['mark', 'place marks', 'shift+m', 'Mark by mark on the picture; press, slide, let go.', (d) => d.takeCast('mark')],
    ['look', 'who looks where', 'shift+y', 'Draw from a character’s eyes to what they look at, over the chosen frames.', (d) => d.takeCast('look')],
    ['touch', 'what must not slide', 'shift+k', 'Draw from the mark that holds to the mark that is held, over the chosen frames.', (d) => d.takeCast('touch')],
    ['cast', 'cast', 'shift+u', 'Characters and props, their marks, looks and contacts.', (d) => (d.cast.open = !d.cast.open)],
  ]),
  ...rows(
    'cast',
    [
      ['mark-next', 'next mark', 'n', 'To the mark after this one.', (d) => d.cast.walk(1)],
      ['mark-before', 'mark before', 'p', 'To the mark before; where it is placed, the arrow keys move it.', (d) => d.cast.walk(-1)],
      ['mark-skip', 'leave out', 's', 'This mark is hidden here: go on without it.', (d) => d.cast.skip()],
      ['mark-off', 'delete mark', 'delete', 'Delete the mark in hand on this frame.', (d) => void takeOff(d)],
      ['mark-jump', 'frame worth marking', 'j', 'To the next frame that teaches this mouth the most.', (d) => d.cast.jump()],
      ['mark-who', 'whose', 'u', 'The next character or prop.', nextWho],
      ['mark-on', 'frame on', 'ctrl+down', 'One frame on, while the arrow keys move marks.', (d) => d.transport.step(1)],
      ['mark-back', 'frame back', 'ctrl+up', 'One frame back, while the arrow keys move marks.', (d) => d.transport.step(-1)],
      ...moves(),
    ],
    { hand: 'mark' },
  ),
  ...rows(
    'cast',
    [
      ['look-camera', 'at the camera', 'c', 'They look into the lens, over the chosen frames or this shot.', atCamera],
      ['look-off', 'no look here', 'delete', 'Delete what was said of this character’s look on this frame.', noLook],
      ['look-who', 'whose', 'u', 'The next character.', nextWho],
    ],
    { hand: 'look' },
  ),
  ...rows('cast', [['touch-off', 'no contact here', 'delete', 'Delete the contact on this frame.', noContact]], { hand: 'touch' }),
];
