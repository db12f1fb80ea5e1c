/** The points that can be marked: what each is called, where exactly it lies, and where it sits on the pencil figure beside which it is chosen. */
export interface MarkPoint {
  readonly mark: string;
  /** As it is said; left and right are the character's own. */
  readonly name: string;
  /** Where exactly, in a few words. */
  readonly where: string;
  /** On the figure, its units. */
  readonly at: readonly [number, number];
}

export type PointSet = 'face' | 'mouth' | 'lids' | 'body' | 'prop';

/** Size of both figures. The character faces us: its right side is on our left. */
export const FIGURE = { width: 100, height: 120 } as const;

const point = (mark: string, name: string, where: string, x: number, y: number): MarkPoint => ({ mark, name, where, at: [x, y] });
const MOUTH: readonly MarkPoint[] = [
  point('mouth_right', 'right corner of the mouth', 'where the lips end', 37, 88),
  point('mouth_left', 'left corner of the mouth', 'where the lips end', 63, 88),
  point('lip_upper', 'upper lip', 'the middle of its inner edge', 50, 85),
  point('lip_lower', 'lower lip', 'the middle of its inner edge; on shut lips where they meet', 50, 92),
];

/** In the order in which they are offered: from screen left to right, from the eyes down. */
export const POINTS: Readonly<Record<Exclude<PointSet, 'prop'>, readonly MarkPoint[]>> = {
  face: [
    point('eye_right', 'right eyeball', 'the middle of the whole ball, not of the iris', 33, 53),
    point('eye_right_edge', 'rim of the right eyeball', 'any point of the ball’s outline', 22.5, 53),
    point('iris_right', 'right iris', 'its middle, on a frame that looks straight ahead', 33, 47),
    point('eye_left', 'left eyeball', 'the middle of the whole ball, not of the iris', 67, 53),
    point('eye_left_edge', 'rim of the left eyeball', 'any point of the ball’s outline', 77.5, 53),
    point('iris_left', 'left iris', 'its middle, on a frame that looks straight ahead', 67, 47),
    point('nose', 'nose', 'its tip', 50, 70),
    ...MOUTH,
    point('chin', 'chin', 'its lowest point', 50, 108),
    point('head_top', 'top of the head', 'the skull’s, not the hat’s', 50, 8),
  ],
  mouth: MOUTH,
  lids: [
    point('lid_upper_right', 'right upper lid', 'the middle of its edge', 33, 42),
    point('lid_lower_right', 'right lower lid', 'the middle of its edge', 33, 62),
    point('lid_upper_left', 'left upper lid', 'the middle of its edge', 67, 42),
    point('lid_lower_left', 'left lower lid', 'the middle of its edge', 67, 62),
    point('brow_right', 'right brow', 'its middle', 32, 33),
    point('brow_left', 'left brow', 'its middle', 68, 33),
  ],
  body: [
    point('chest', 'chest', 'on the breastbone; cloth with some texture', 50, 37),
    point('shoulder_right', 'right shoulder', 'the top of the joint', 35, 31),
    point('shoulder_left', 'left shoulder', 'the top of the joint', 65, 31),
    point('hips', 'hips', 'the middle of the belt', 50, 63),
    point('hand_right', 'right hand', 'a knuckle that stays in sight', 20, 66),
    point('hand_left', 'left hand', 'a knuckle that stays in sight', 80, 66),
    point('knee_right', 'right knee', 'the middle of the cap', 41, 87),
    point('knee_left', 'left knee', 'the middle of the cap', 59, 87),
    point('foot_right', 'right foot', 'the tip of the shoe', 38, 113),
    point('foot_left', 'left foot', 'the tip of the shoe', 62, 113),
  ],
};

export const SET_NAMES: Readonly<Record<PointSet, string>> = { face: 'face', mouth: 'mouth', lids: 'lids and brows', body: 'body', prop: 'marks' };
export const MOUTH_MARKS = MOUTH.map((p) => p.mark);
const ALL = new Map([...POINTS.face, ...POINTS.lids, ...POINTS.body].map((p) => [p.mark, p]));

/** What a mark is called; a prop's own name for it else. */
export const markName = (mark: string): string => ALL.get(mark)?.name ?? mark.replaceAll('_', ' ');
export const markWhere = (mark: string): string => ALL.get(mark)?.where ?? 'a spot with some texture that stays in sight';

/** The set that a mark of a character belongs to. */
export function setOf(mark: string): Exclude<PointSet, 'prop' | 'mouth'> {
  if (POINTS.lids.some((p) => p.mark === mark)) return 'lids';
  return POINTS.body.some((p) => p.mark === mark) ? 'body' : 'face';
}
