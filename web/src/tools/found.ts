import type { Cast, CastPart, Placed, SheetFace } from '../api/types';

/** Faces that were found in the picture: whose they are taken for, and the points that they propose, which count only once a person confirms them. */

/** A proposed point on the frame that is shown. */
export interface Draft {
  readonly face: number;
  readonly who: string | null;
  readonly mark: string;
  readonly x: number;
  readonly y: number;
}

/** The faces with what a person said of them since they were measured. */
export function asSaid(faces: readonly SheetFace[], said: Cast['faces'] | undefined, first: number): SheetFace[] {
  return faces.map((face) => {
    const word = (said ?? []).find((f) => f.frame === face.at + first && f.x === face.point[0] && f.y === face.point[1]);
    return word ? { ...face, who: word.who ?? null, said: true } : face;
  });
}

const placedOn = (parts: readonly CastPart[], who: string | null, mark: string, frame: number): boolean =>
  (parts.find((p) => p.name === who)?.marks?.[mark] ?? []).some((p) => p.frame === frame);

/** What a face proposes, by mark, as a cast counts frames; all of it, or only what nobody placed yet. */
export function proposedBy(face: SheetFace, first: number): Record<string, Placed[]> {
  const found: Record<string, Placed[]> = {};
  for (const { frame, marks } of face.proposed) for (const [mark, [x, y]] of Object.entries(marks)) (found[mark] ??= []).push({ frame: frame + first, x, y });
  return found;
}

/** Whether everything that a face proposes is placed, as it stood or corrected. */
export function isConfirmed(face: SheetFace, parts: readonly CastPart[], first: number): boolean {
  const all = Object.entries(proposedBy(face, first)).flatMap(([mark, places]) => places.map((p) => ({ mark, frame: p.frame })));
  return all.length > 0 && all.every(({ mark, frame }) => placedOn(parts, face.who, mark, frame));
}

/** Proposed points on a frame (index from 0) that nobody placed yet. */
export function draftsOn(faces: readonly SheetFace[], index: number, parts: readonly CastPart[], first: number): Draft[] {
  return faces.flatMap((face) =>
    face.proposed
      .filter((p) => p.frame === index)
      .flatMap((p) => Object.entries(p.marks).map(([mark, [x, y]]) => ({ face: face.id, who: face.who, mark, x, y })))
      .filter((d) => !placedOn(parts, d.who, d.mark, index + first)),
  );
}

/** The two people whose faces are in a shot, and nobody else's: they can be swapped. */
export function pairIn(faces: readonly SheetFace[], shot: { first: number; last: number }): readonly [string, string] | null {
  const names = [...new Set(inShot(faces, shot).flatMap((f) => f.who ?? []))].sort();
  return names.length === 2 ? [names[0], names[1]] : null;
}

export const inShot = (faces: readonly SheetFace[], shot: { first: number; last: number }): SheetFace[] => faces.filter((f) => f.first <= shot.last && f.last >= shot.first);
