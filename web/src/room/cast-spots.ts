import type { CastLook, SheetFace } from '../api/types';
import type { ShownMark } from '../layers/marks';
import type { WantedLook } from '../layers/rays';
import { atText, beyond, lookOn, lookText, partnerOff, sideOff, spotAt, type Spot } from '../tools/looks';
import { asSaid, draftsOn, type Draft } from '../tools/found';
import { markName } from '../tools/points';
import type { Casting, Held } from './casting.svelte';
import type { Desk } from './desk.svelte';

/** Where things of the cast are on the frame that is shown: for drawing them, and for knowing what the hand points at. */

type XY = { x: number; y: number };
const FACE_REACH = 0.14;
/** Of the picture's height: how near to a face or mark a hand must be to mean it (guess). */
const MARK_REACH = 0.045;
const FACE = ['eye_left', 'eye_right', 'nose', 'chin', 'head_top'];

const mean = (spots: readonly (XY | null)[]): XY | null => {
  const known = spots.filter((p): p is XY => p !== null);
  return known.length ? { x: known.reduce((s, p) => s + p.x, 0) / known.length, y: known.reduce((s, p) => s + p.y, 0) / known.length } : null;
};

/** Between a character's eyes, as far as they are known on this frame; else somewhere on its face. */
export function eyesOf(desk: Desk, who: string, frame: number = desk.cast.frame): XY | null {
  const { cast, keep } = desk;
  const i = frame - cast.first;
  const gazes = (keep.model?.actors ?? []).filter((a) => a.who === who && a.gaze.length).sort((a, b) => a.level - b.level)[0]?.gaze ?? [];
  const eyes = gazes.map((g) => ({ x: g.origin[i * 2], y: g.origin[i * 2 + 1] })).filter((p) => Number.isFinite(p.x) && Number.isFinite(p.y));
  const marked = ['eye_left', 'eye_right'].map((m) => cast.at(who, m, frame));
  return mean(eyes) ?? mean(marked) ?? cast.at(who, 'nose', frame) ?? mean(FACE.map((m) => cast.at(who, m, frame)));
}

const faces = (desk: Desk, but: string | null): Spot[] =>
  (desk.cast.cast.characters ?? []).flatMap(({ name }) => {
    const at = name === but ? null : eyesOf(desk, name);
    return at ? [{ ...at, name, reach: FACE_REACH }] : [];
  });

/** What a character can be said to look at: other faces, and marks of props. */
export function lookSpots(desk: Desk, who: string): Spot[] {
  const props = new Set((desk.cast.cast.props ?? []).map((p) => p.name));
  return [...faces(desk, who), ...markSpots(desk).filter((s) => props.has(s.name.split('.')[0]))];
}

/** What a line from somebody's eyes means: the thing under its end, somebody off the picture whom it does not show, or a point. Null: off the picture, and nobody is there. */
export function lookedAt(desk: Desk, who: string, to: XY): Pick<CastLook, 'at' | 'off'> | null {
  const { cast } = desk;
  const name = spotAt(lookSpots(desk, who), to, cast.aspect)?.name;
  const off = sideOff(to, cast.aspect);
  if (name || !off) return { at: name ?? { x: to.x, y: to.y } };
  const unseen = (cast.cast.characters ?? []).map((c) => c.name).filter((c) => !eyesOf(desk, c));
  const partner = partnerOff(cast.cast.looks ?? [], who, unseen);
  return partner === null ? null : { at: partner, off };
}

/** Faces that were found, each as it is said now. */
export const foundFaces = (desk: Desk): SheetFace[] => asSaid(desk.keep.model?.sheet.faces ?? [], desk.cast.cast.faces, desk.cast.first);

/** Points that found faces propose on this frame, not placed yet. */
export const draftsHere = (desk: Desk): Draft[] => draftsOn(foundFaces(desk), desk.cast.frame - desk.cast.first, desk.cast.parts, desk.cast.first);

export const draftSpots = (desk: Desk): Spot[] => draftsHere(desk).map((d) => ({ x: d.x, y: d.y, name: `${d.who}.${d.mark}`, reach: MARK_REACH }));

export const faceSpots = (desk: Desk): Spot[] => faces(desk, null);

/** Every mark that is known on this frame. */
export function markSpots(desk: Desk): Spot[] {
  const { cast } = desk;
  return cast.allMarks().flatMap(({ who, mark }) => {
    const at = cast.parts.some((p) => p.name === who) ? cast.at(who, mark, cast.frame) : null;
    return at ? [{ ...at, name: `${who}.${mark}`, reach: MARK_REACH }] : [];
  });
}

/** Where the thing that is looked at lies, in the picture or beyond its edge; null: the lens. Out of sight: where this shot shows it nearest in time. */
function targetOf(desk: Desk, { at, off }: CastLook, from: XY): WantedLook['to'] {
  if (typeof at !== 'string') return at;
  if (at === 'camera') return null;
  const [who, mark] = at.split('.');
  const on = (frame: number): XY | null => (mark ? desk.cast.at(who, mark, frame) : eyesOf(desk, who, frame));
  for (const frame of nearestFirst(desk)) {
    const known = on(frame);
    if (known) return known;
  }
  return off ? beyond(from, off) : 'elsewhere';
}

/** Shown numbers of the frames of this shot, from the one that is shown outwards. */
function* nearestFirst({ cast, keep, transport }: Desk): Generator<number> {
  const cuts = (keep.model?.sheet.cuts ?? []).map((c) => c.frame);
  const here = cast.frame - cast.first;
  const start = Math.max(0, ...cuts.filter((c) => c <= here));
  const stop = Math.min(transport.clock?.frames ?? here + 1, ...cuts.filter((c) => c > here));
  for (let away = 0; away < stop - start; away++) {
    if (here - away >= start) yield cast.frame - away;
    if (away && here + away < stop) yield cast.frame + away;
  }
}

/** The looks that were said for this frame, as far as the eyes are in the picture. */
export function wantedLooks(desk: Desk): WantedLook[] {
  const { cast } = desk;
  return (cast.cast.characters ?? []).flatMap(({ name: who }) => {
    const look = lookOn(cast.cast.looks ?? [], who, cast.frame);
    const from = look && eyesOf(desk, who);
    return look && from ? [{ who, from, to: targetOf(desk, look, from), text: `${who} at ${lookText(look)}` }] : [];
  });
}

export function contactsHere(desk: Desk): { a: XY; b: XY; text: string }[] {
  const { cast } = desk;
  return (cast.cast.contacts ?? []).flatMap((c) => {
    const [a, b] = [c.a, c.b].map((name) => cast.at(name.slice(0, name.indexOf('.')), name.slice(name.indexOf('.') + 1), cast.frame));
    return a && b && c.first <= cast.frame && c.last >= cast.frame ? [{ a, b, text: `${atText(c.a)} on ${atText(c.b)}` }] : [];
  });
}

const isHeld = (held: Held | null, who: string, mark: string, frame: number): boolean => held?.who === who && held.mark === mark && held.frame === frame;

/** The marks to be drawn; while marks are placed, only those of the character in question are strong. */
export function shownMarks(desk: Desk): ShownMark[] {
  const { cast } = desk;
  const marking = cast.tool === 'mark';
  const many = cast.parts.length + (desk.keep.model?.players.length ?? 0) > 1;
  return cast.allMarks().map(({ who, mark }) => {
    const placed = new Set((cast.parts.find((p) => p.name === who)?.marks?.[mark] ?? []).map((p) => p.frame - cast.first));
    const held = marking && isHeld(cast.held, who, mark, cast.frame);
    const strong = held || (marking && who === cast.who && mark === cast.mark);
    const near = marking ? who === cast.who : !desk.who || desk.who === who;
    return {
      who,
      mark,
      name: marking || !many ? markName(mark) : `${who}, ${markName(mark)}`,
      at: pathOf(cast, who, mark),
      placed: placed.size > 0,
      isPlacedOn: (i: number) => placed.has(i) || cast.drafts.get(`${who}/${mark}`)?.frame === i + cast.first,
      weight: strong ? 'strong' : near ? 'plain' : 'faint',
      held,
    };
  });
}

function pathOf(cast: Casting, who: string, mark: string): (i: number) => XY | null {
  const track = cast.track(who, mark);
  const placed = new Map((cast.parts.find((p) => p.name === who)?.marks?.[mark] ?? []).map((p) => [p.frame - cast.first, p]));
  const draft = cast.drafts.get(`${who}/${mark}`);
  if (draft) placed.set(draft.frame - cast.first, draft);
  return (i) => placed.get(i) ?? (track && Number.isFinite(track.xy[i * 2]) ? { x: track.xy[i * 2], y: track.xy[i * 2 + 1] } : null);
}
