import type { PencilColour, TrayFinding } from '../api/types';
import INK from '../../../src/shotcrit/sheet/ink.json';

/** What a stroke of the pen looks like, here and on paper. What the numbers mean stands in sheet/ink_look.py. */
export type InkLook = Omit<typeof INK, 'about' | 'pencils' | 'evidence'>;

export const LOOK: InkLook = INK;

export interface Pencil {
  readonly css: string;
  readonly name: string;
  /** Of the thin line round it. */
  readonly rim: string;
}

const looks = (p: { colour: string; name: string; rim: string }): Pencil => ({ css: p.colour, name: p.name, rim: p.rim === 'dark' ? INK.rim.dark : INK.rim.pale });

/** How each pencil looks on the picture: brighter than on paper, because it must be seen on any frame. */
export const PENCILS: Record<PencilColour, Pencil> = {
  red: looks(INK.pencils.red),
  blue: looks(INK.pencils.blue),
  green: looks(INK.pencils.green),
  ochre: looks(INK.pencils.ochre),
  white: looks(INK.pencils.white),
  black: looks(INK.pencils.black),
};

export interface EvidenceLook {
  readonly pencil: PencilColour;
  readonly says: string;
  readonly arrow?: boolean;
  readonly dash?: readonly number[];
}

/** How what a check draws over a picture looks, here, on the page and on paper: as it is, as it should be, a slip, a path, a patch. */
export const EVIDENCE = INK.evidence as Record<TrayFinding['strokes'][0]['kind'], EvidenceLook>;
