import { call } from '../api/client';
import type { Cast, CastPart, Placed } from '../api/types';
import { range, within, type PicturePoint, type Range } from '../geometry/brands';
import { trackOf, type Track } from '../sheet/model';
import { nextPoint, pointsOf, SHAPES, step, stillWorth, worthByEar, type Shape, type Worth } from '../tools/guide';
import { POINTS, setOf, type PointSet } from '../tools/points';
import type { Undone } from '../tools/undone';
import type { Keep } from './keep.svelte';
import type { Transport } from './transport.svelte';

/** mark: place marks; look: say who looks where; touch: say what must not slide. */
export type CastTool = 'mark' | 'look' | 'touch';
/** A mark on one frame, as a cast says it. */
export interface Held {
  readonly who: string;
  readonly mark: string;
  readonly frame: number;
}

const EMPTY: Cast = { characters: [], props: [], contacts: [], looks: [], cameras: [], faces: [], metres_per_unit: 1 };

/** What the hand is about in the cast: which tool, whose point comes next, what was placed last. Nothing here is stored. */
export class Casting {
  tool = $state<CastTool | null>(null);
  open = $state(false);
  who = $state<string | null>(null);
  set = $state<PointSet>('face');
  mark = $state<string | null>(null);
  held = $state.raw<Held | null>(null);
  /** Points left out on a frame: 'who/mark/frame'. */
  skipped = $state.raw<ReadonlySet<string>>(new Set());
  aim = $state.raw<PicturePoint | null>(null);
  /** Placed here, and on its way to the crit: shown at once. */
  drafts = $state.raw<ReadonlyMap<string, Placed>>(new Map());
  growing = $state.raw<ReadonlyMap<string, Track>>(new Map());
  private asking = false;
  private asked = -Infinity;

  constructor(
    private readonly keep: Keep,
    private readonly transport: Transport,
  ) {}

  cast = $derived.by<Cast>(() => this.keep.take?.cast ?? EMPTY);
  first = $derived.by<number>(() => this.keep.take?.first_frame ?? 1);
  /** The frame that the picture shows, as the cast counts. */
  frame = $derived.by<number>(() => this.transport.playhead + this.first);
  aspect = $derived.by<number>(() => (this.keep.take?.width ?? 16) / (this.keep.take?.height ?? 9));
  parts = $derived.by<CastPart[]>(() => [...(this.cast.characters ?? []), ...(this.cast.props ?? [])]);
  part = $derived.by<CastPart | null>(() => this.parts.find((p) => p.name === this.who) ?? null);
  isProp = $derived.by<boolean>(() => (this.cast.props ?? []).some((p) => p.name === this.who));
  points = $derived.by<readonly string[]>(() => (this.part ? pointsOf(this.part, this.set) : []));
  skippedHere = $derived.by<ReadonlySet<string>>(() => {
    const tail = `/${this.frame}`;
    return new Set([...this.skipped].filter((s) => s.startsWith(`${this.who}/`) && s.endsWith(tail)).map((s) => s.split('/')[1]));
  });
  worth = $derived.by<Worth[]>(() => (this.part && !this.isProp ? stillWorth(this.part, this.suggestions(), this.aspect) : []));

  /** As seen where the face was followed already, else as heard. */
  private suggestions(): Worth[] {
    const { model } = this.keep;
    const seen = model?.actors.find((a) => a.who === this.who && a.level === 2)?.worth ?? {};
    const words = model?.sheet.words ?? [];
    const phones = (model?.sheet.phones ?? []).filter((p) => p.word !== null && p.word !== undefined && [this.who, null].includes(words[p.word]?.who ?? null));
    const heard = worthByEar(phones, this.first);
    return SHAPES.flatMap((shape: Shape) => {
      if (seen[shape] !== undefined) return [{ shape, frame: seen[shape] + this.first, by: 'sight' as const }];
      return heard.filter((w) => w.shape === shape);
    });
  }

  placed(who: string, mark: string, frame: number): Placed | undefined {
    const draft = this.drafts.get(`${who}/${mark}`);
    if (draft?.frame === frame) return draft;
    return (this.parts.find((p) => p.name === who)?.marks?.[mark] ?? []).find((p) => p.frame === frame);
  }

  /** The mark as followed, whether still growing or measured; level 2 before a scene's. */
  track(who: string, mark: string): Track | undefined {
    const actors = (this.keep.model?.actors ?? []).filter((a) => a.who === who && a.marks.has(mark)).sort((a, b) => a.level - b.level);
    return this.growing.get(`${who}/${mark}`) ?? actors[0]?.marks.get(mark);
  }

  /** Where a mark is on a frame (shown number): as placed, else as followed. */
  at(who: string, mark: string, frame: number): { x: number; y: number } | null {
    const placed = this.placed(who, mark, frame);
    if (placed) return placed;
    const track = this.track(who, mark);
    const i = (frame - this.first) * 2;
    return track && Number.isFinite(track.xy[i]) ? { x: track.xy[i], y: track.xy[i + 1] } : null;
  }

  /** Every mark that there is: placed, followed, or of a scene. */
  allMarks(): { who: string; mark: string }[] {
    const found = new Map<string, { who: string; mark: string }>();
    const add = (who: string, mark: string): unknown => found.set(`${who}/${mark}`, { who, mark });
    for (const part of this.parts) for (const mark of Object.keys(part.marks ?? {})) add(part.name, mark);
    for (const actor of this.keep.model?.actors ?? []) for (const mark of actor.marks.keys()) add(actor.who, mark);
    for (const draft of this.drafts.keys()) add(draft.split('/')[0], draft.split('/')[1]);
    return [...found.values()];
  }

  /** On another frame nothing is in question any more, unless a point was just chosen; after a jump the mouth's points are. */
  onFrame(): void {
    if (this.tool !== 'mark' || this.held?.frame === this.frame || this.asked === this.frame) return;
    this.held = null;
    if (this.mark && this.part && Object.keys(this.part.marks ?? {}).length) this.mark = null;
  }

  take(tool: CastTool | null): void {
    this.tool = tool;
    this.aim = null;
    if (!tool) return;
    this.transport.stop();
    const who = this.whoIsMeant();
    if (who !== this.who) this.choose(who);
    else if (tool === 'mark') this.offer(null);
  }

  /** Whom a tool that is taken up is about: the one in question, unless they are marked in other shots alone and somebody else is seen or heard in this one. */
  private whoIsMeant(): string | null {
    const here = this.shotAround(this.transport.target);
    const marked = (p: CastPart): number[] => Object.values(p.marks ?? {}).flatMap((places) => places.map((q) => q.frame - this.first));
    const inShot = (p: CastPart): boolean => marked(p).some((i) => within(here, i));
    const beginning = this.part !== null && !marked(this.part).length; // chosen, and about to be marked for the first time
    if (this.part && (beginning || this.isSeen(this.part.name) || inShot(this.part))) return this.part.name;
    const heard = this.speakers(here);
    const found = this.parts.find((p) => this.isSeen(p.name)) ?? this.parts.find(inShot) ?? heard.flatMap((who) => this.parts.find((p) => p.name === who) ?? [])[0];
    return (found ?? this.part ?? this.parts[0])?.name ?? null;
  }

  /** Whether a mark of theirs, placed or followed, lies on the frame that is shown. */
  private isSeen(who: string): boolean {
    return this.allMarks().some((m) => m.who === who && this.at(who, m.mark, this.transport.target + this.first) !== null);
  }

  /** Who speaks in a stretch, the one with the most words first. */
  private speakers(r: Range): string[] {
    const said = new Map<string, number>();
    for (const w of this.keep.model?.sheet.words ?? []) if (w.who && w.first <= r.last && w.last >= r.first) said.set(w.who, (said.get(w.who) ?? 0) + 1);
    return [...said].sort((a, b) => b[1] - a[1]).map(([who]) => who);
  }

  /** After an undo or redo the hand is at the point that it was about: the one taken off is asked for again. */
  returnTo({ who, mark, frame, placed }: Undone): void {
    if (this.tool !== 'mark') return;
    if (who !== this.who) this.choose(who);
    this.asked = frame;
    if (frame !== this.frame) this.transport.go(frame - this.first);
    this.set = this.isProp ? 'prop' : pointsOf(this.part!, this.set).includes(mark) ? this.set : setOf(mark);
    this.held = placed ? { who, mark, frame } : null;
    this.mark = placed ? nextPoint(this.part!, this.set, frame, this.skippedHere, mark) : mark;
  }

  /** Turn to a character or prop, and to what it lacks on this frame. */
  choose(who: string | null): void {
    this.who = who;
    this.held = null;
    this.set = this.isProp ? 'prop' : 'face';
    this.mark = null;
    this.offer(null);
  }

  chooseSet(set: PointSet): void {
    this.set = set;
    this.mark = null;
    this.offer(null);
  }

  /** Turn to one point; where it is placed on this frame, the arrow keys have it. */
  turnTo(mark: string): void {
    if (!this.isProp && !pointsOf(this.part!, this.set).includes(mark)) this.set = setOf(mark);
    this.mark = mark;
    this.held = this.who && this.placed(this.who, mark, this.frame) ? { who: this.who, mark, frame: this.frame } : null;
  }

  /** Offer the point that comes after `from` and is not there yet. */
  offer(from: string | null): void {
    if (!this.part) return;
    const drafted = [...this.drafts].filter(([key, p]) => key.startsWith(`${this.who}/`) && p.frame === this.frame).map(([key]) => key.split('/')[1]);
    const out = new Set([...this.skippedHere, ...drafted]);
    const next = nextPoint(this.part, this.set, this.frame, out, from);
    this.mark = next;
  }

  walk(way: 1 | -1): void {
    const mark = this.part && step(this.part, this.set, this.mark ?? this.held?.mark ?? null, way);
    if (mark) this.turnTo(mark);
  }

  skip(): void {
    if (!this.mark || !this.who) return;
    this.skipped = new Set([...this.skipped, `${this.who}/${this.mark}/${this.frame}`]);
    this.offer(this.mark);
  }

  /** To the next frame worth marking, and to its mouth. */
  jump(): void {
    const next = this.worth.find((w) => w.frame !== this.frame) ?? this.worth[0];
    if (!next) return this.keep.say('No frame is waiting: this mouth is taught.');
    this.ask(next.frame);
  }

  /** To a frame, to mark the mouth there. */
  ask(frame: number): void {
    this.asked = frame;
    this.transport.go(frame - this.first);
    this.set = 'mouth';
    this.mark = POINTS.mouth[0].mark;
    this.held = null;
  }

  /** The chosen frames, else the shot (from cut to cut) around the frame; shown frames. */
  span(): { first: number; last: number; chosen: boolean } {
    const chosen = this.transport.chosen;
    const r = chosen ?? this.shotAround(this.transport.target);
    return { first: r.first + this.first, last: r.last + this.first, chosen: chosen !== null };
  }

  /** The shot that a frame is in. */
  shotAround(i: number): Range {
    const cuts = (this.keep.model?.sheet.cuts ?? []).map((c) => c.frame).sort((a, b) => a - b);
    const last = (this.keep.take?.frames ?? 1) - 1;
    return range(cuts.filter((c) => c <= i).pop() ?? 0, (cuts.find((c) => c > i) ?? last + 1) - 1);
  }

  /** Tracks grow while they are followed. */
  async fetchGrowing(takeId: string): Promise<void> {
    if (this.asking) return;
    this.asking = true;
    try {
      const { tracks } = await call('get', '/api/takes/{take_id}/following', { path: { take_id: takeId } });
      if (takeId === this.keep.takeId) this.growing = new Map(tracks.map((t) => [`${t.who}/${t.mark}`, trackOf(t)]));
    } catch {
      /* the next event asks again */
    } finally {
      this.asking = false;
    }
  }
}
