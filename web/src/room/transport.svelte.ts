import type { FrameTable } from '../api/types';
import { call } from '../api/client';
import { FrameClock, rateNumber } from '../clock/frames';
import { FramesAside } from '../frames/aside';
import { FrameLoader } from '../frames/loader';
import { Projector, type Screen } from '../frames/projector';
import { ordinal, type Ordinal, type Range } from '../geometry/brands';
import { listenCloser } from '../sound/closer';
import { loadSound } from '../sound/load';
import { Player } from '../sound/player';
import type { Run } from '../sound/run';
import type { Sound } from '../sound/source';

/** Of bitmaps: 54 frames of 1280x720; half of what the whole page may take is left for the rest. */
const MOST_BYTES = 200 * 2 ** 20;
const TELL_MS = 250;
/** After the picture itself was asked for. */
const SOON_MS = 30;

/** Does some work once the browser has drawn what it was given. */
const afterShown = (work: () => void): void => void requestAnimationFrame(() => setTimeout(work));
const NOWHERE: Screen = { has: () => false, draw: () => undefined, veil: () => undefined };

/** The playhead and everything that moves it. `playhead` is always the frame that the picture shows. */
export class Transport {
  playhead = $state<Ordinal>(ordinal(0));
  veiled = $state(false);
  playing = $state(false);
  direction = $state<1 | -1>(1);
  speed = $state(1);
  loop = $state(false);
  keepPitch = $state(true);
  closer = $state(false);
  chosen = $state.raw<Range | null>(null);
  /** The frame asked for last. */
  private heading = $state<Ordinal>(ordinal(0));
  /** Where a choice was begun by hand: it may be ended on a frame that is reached by its number. */
  begun: Ordinal | null = null;
  clock = $state.raw<FrameClock | null>(null);
  hasSound = $state(false);
  /** Called when a run without loop ends by itself. */
  onEnd: () => void = () => undefined;

  private readonly aside = new FramesAside();
  private loader: FrameLoader<ImageBitmap> | null = null;
  private readonly player = new Player();
  private sound: Sound | null = null;
  private lifted: Sound | null = null;
  private table: FrameTable | null = null;
  private told = 0;
  private pending = 0;
  private screen: Screen = NOWHERE;
  private readonly projector = new Projector(
    { has: (i) => this.picture(i) !== undefined, draw: (i) => this.screen.draw(i), veil: (i) => this.screen.veil(i) },
    (i, veiled) => {
      this.playhead = ordinal(i);
      this.veiled = veiled;
    },
  );

  /** Where pictures are drawn; draws the current one at once. What it answers takes this screen away again, and no other that came meanwhile. */
  attach(screen: Screen): () => void {
    this.screen = screen;
    if (this.clock) this.projector.seek(this.projector.wanted);
    return () => {
      if (this.screen === screen) this.screen = NOWHERE;
    };
  }

  async open(table: FrameTable): Promise<void> {
    this.close();
    this.table = table;
    this.clock = new FrameClock(table.edges_s, table.first_frame, rateNumber(table.rate));
    this.loader = new FrameLoader(this.aside.open(table.url), (i) => this.projector.arrived(i), MOST_BYTES, afterShown);
    this.projector.reset();
    this.go(this.heading);
    this.sound = this.lifted = null;
    const sound = table.sound ? await loadSound(this.player.audio(), table.sound.url.replace(/^\//, ''), table.sound.offset_s).catch(() => null) : null;
    if (this.table !== table) return; // another take was opened meanwhile
    this.sound = sound;
    this.hasSound = sound !== null;
  }

  close(): void {
    this.stop();
    this.loader?.close();
    this.loader = null;
    this.clock = null;
  }

  picture(index: number): ImageBitmap | undefined {
    return this.loader?.cache.peek(index);
  }

  framesBuilt(first: number, last: number): void {
    this.loader?.built(first, last);
  }

  /** Stop, and show this frame; while no movie is open, once one is. */
  go(to: number): void {
    if (!this.clock) {
      this.heading = ordinal(Math.max(0, to));
      return;
    }
    if (this.playing) this.stop();
    const i = (this.heading = this.clock.clampFrame(to));
    this.want(i, 0);
    this.projector.seek(i);
    this.tellServer(i);
  }

  /** Go, and let hear exactly that frame. */
  step(by: number): void {
    if (!this.clock) return;
    const i = this.clock.clampFrame(this.target + by);
    this.go(i);
    this.player.setSound(this.heard());
    this.player.playPiece(this.clock.start(i), this.clock.stop(i));
  }

  toggle(direction: 1 | -1 = 1): void {
    if (this.playing && this.direction === direction) this.stop();
    else this.start(direction);
  }

  /** What ran stays on the frame that is shown; what stood still goes on waiting for the frame asked for. */
  stop(): void {
    this.player.stop();
    cancelAnimationFrame(this.pending);
    const ran = this.playing;
    this.playing = false;
    if (!this.clock) return;
    if (ran) this.projector.seek((this.heading = this.playhead));
    this.want(this.projector.wanted, 0);
  }

  start(direction: 1 | -1 = 1, easeIn = false): void {
    if (!this.clock) return;
    this.direction = direction;
    this.playing = true;
    const run = this.makeRun(this.clock);
    this.player.setSound(this.heard());
    void this.player.start(run, easeIn);
    cancelAnimationFrame(this.pending);
    this.tick();
  }

  /** A changed speed, pitch, loop or sound takes hold at once, where the playhead is. */
  again(easeIn = false): void {
    if (this.playing) this.start(this.direction, easeIn);
  }

  set<K extends 'speed' | 'loop' | 'keepPitch' | 'closer'>(name: K, value: Transport[K]): void {
    Object.assign(this, { [name]: value });
    this.again(name === 'closer');
  }

  choose(chosen: Range | null): void {
    this.chosen = chosen && this.clock ? this.clock.clampRange(chosen) : null;
    if (this.playing && this.loop) this.again();
  }

  /** The frame asked for last: keys that follow each other faster than pictures come mean this one. */
  get target(): Ordinal {
    return this.playing ? this.playhead : this.heading;
  }

  /** The chosen range, or the frame asked for. */
  here(): Range {
    return this.chosen ?? { first: this.target, last: this.target };
  }

  private liftCeilingDb = -12;

  /** How loud the quiet may get when listening closer, dB below full scale; heard at once. */
  liftTo(ceilingDb: number): void {
    if (ceilingDb === this.liftCeilingDb) return;
    this.liftCeilingDb = ceilingDb;
    this.lifted = null;
    if (this.closer) this.again(true);
  }

  private heard(): Sound | null {
    if (!this.closer || !this.sound) return this.sound;
    this.lifted ??= listenCloser(this.sound, this.liftCeilingDb);
    return this.lifted;
  }

  private makeRun(clock: FrameClock): Run {
    const stretch = this.loop && this.chosen ? this.chosen : null;
    const start = stretch ? clock.start(stretch.first) : 0;
    const stop = stretch ? clock.stop(stretch.last) : clock.duration;
    const shown = ordinal(this.projector.wanted);
    let from: number = this.direction > 0 ? clock.start(shown) : clock.stop(shown) - 1e-6;
    const outside = from < start || from >= stop || (this.direction > 0 ? shown === clock.last && !this.loop : shown === 0 && !this.loop);
    if (outside) from = this.direction > 0 ? start : stop - 1e-6;
    return { from, speed: this.speed, direction: this.direction, start, stop, loop: this.loop, keepPitch: this.keepPitch };
  }

  private readonly tick = (): void => {
    if (!this.playing || !this.clock) return;
    const t = this.player.position();
    if (t !== null) {
      const due = this.clock.frameAt(t);
      this.want(due, this.direction);
      this.projector.offer(due);
    }
    if (this.player.ended()) {
      this.stop();
      this.go(this.direction > 0 ? this.clock.last : 0);
      this.onEnd();
      return;
    }
    this.pending = requestAnimationFrame(this.tick);
  };

  private want(at: number, direction: number): void {
    if (!this.clock) return;
    const loop = this.loop && direction !== 0 ? (this.chosen ?? { first: ordinal(0), last: this.clock.last }) : null;
    this.loader?.want({ at, direction, loop, frames: this.clock.frames });
  }

  /** Frames that are not built yet are built around here first. */
  private tellServer(index: number): void {
    const whole = this.table?.ready.length === 1 && this.table.ready[0].last - this.table.ready[0].first + 1 === this.table.frames;
    if (!this.table || whole || Date.now() - this.told < TELL_MS) return;
    this.told = Date.now();
    const path = { take_id: this.table.take };
    setTimeout(() => void call('post', '/api/takes/{take_id}/playhead', { path, body: { index } }).catch(() => undefined), SOON_MS);
  }
}
