import { feedFor, type Feed } from './feed';
import { lastsFor, positionAt, type Run } from './run';
import { cutOut, type Sound } from './source';

/** From the first chunk to its first sample: time to hand it over. */
const LEAD_S = 0.05;
const CHUNK_S = 0.1;
/** The first chunk is longer: while it is heard, a busy machine makes those that follow. */
const FIRST_S = 0.4;
/** Scheduled ahead: outlasts a background page's timer of one second. */
const AHEAD_S = 1.2;
const TICK_MS = 60;
const FADE_S = 0.004;
/** Sound made louder comes up over this, so that it never startles. */
const EASE_IN_S = 0.15;
/** A browser that gives no sound before the first click: after this the picture runs by the page's clock. */
const WAKE_MS = 300;

/** Plays runs and single frames. The picture follows `position()`, which follows the sound card. */
export class Player {
  private context: AudioContext | null = null;
  private bus: GainNode | null = null;
  private sound: Sound | null = null;
  private run: Run | null = null;
  private feed: Feed | null = null;
  private anchor = 0;
  private scheduled = 0;
  private timer: ReturnType<typeof setInterval> | undefined;
  private snippet: GainNode | null = null;
  private byPageClock = false;
  private turn = 0;

  /** The context, opened at 48 kHz so that nothing is resampled twice; null where there is no sound at all. */
  audio(): AudioContext | null {
    if (!this.context && typeof AudioContext !== 'undefined') this.context = new AudioContext({ sampleRate: 48000 });
    return this.context;
  }

  setSound(sound: Sound | null): void {
    this.sound = sound;
  }

  get playing(): boolean {
    return this.run !== null;
  }

  /** Seconds from the first picture that ear and eye should have now; null when nothing runs. */
  position(): number | null {
    return this.run && positionAt(this.run, this.elapsed());
  }

  /** Whether a run without loop has come to its end. */
  ended(): boolean {
    return this.run !== null && this.elapsed() >= lastsFor(this.run);
  }

  async start(run: Run, easeIn = false): Promise<void> {
    this.stop();
    const turn = ++this.turn;
    this.run = run;
    this.byPageClock = true;
    const context = this.audio();
    this.anchor = performance.now() / 1000 + (context ? WAKE_MS / 1000 : LEAD_S);
    if (!context) return;
    await Promise.race([context.resume(), new Promise((done) => setTimeout(done, WAKE_MS))]).catch(() => undefined);
    if (turn !== this.turn || context.state !== 'running') return;
    this.begin(context, run, easeIn);
    this.timer = setInterval(() => this.fill(), TICK_MS);
  }

  stop(): void {
    this.turn++;
    clearInterval(this.timer);
    fadeOut(this.context, this.bus);
    fadeOut(this.context, this.snippet);
    this.bus = null;
    this.snippet = null;
    this.run = null;
    this.feed = null;
  }

  /** The sound from start to stop alone: what belongs to one frame. */
  playPiece(start: number, stop: number): void {
    const context = this.audio();
    if (!context || !this.sound) return;
    void context.resume();
    fadeOut(context, this.snippet);
    const gain = context.createGain();
    gain.connect(context.destination);
    this.snippet = gain;
    this.node(context, cutOut(this.sound, start, stop), gain).start();
  }

  /** The run's clock starts when its first chunk is made and not before: a chunk that comes late is thrown away. */
  private begin(context: AudioContext, run: Run, easeIn: boolean): void {
    const bus = (this.bus = context.createGain());
    const { sound } = this;
    this.feed = sound && feedFor(sound, run);
    const data = sound && (this.feed?.next(samples(FIRST_S, sound)) ?? null);
    const node = data && this.node(context, data, bus);
    this.byPageClock = false;
    this.anchor = context.currentTime + LEAD_S;
    node?.start(this.anchor);
    this.scheduled = data ? data[0].length : 0;
    this.open(context, bus, easeIn);
    this.fill();
  }

  private elapsed(): number {
    if (this.byPageClock || !this.context) return performance.now() / 1000 - this.anchor;
    return this.context.currentTime - (this.context.outputLatency || this.context.baseLatency || 0) - this.anchor;
  }

  private open(context: AudioContext, bus: GainNode, easeIn: boolean): void {
    bus.connect(context.destination);
    bus.gain.setValueAtTime(0, context.currentTime);
    bus.gain.setValueAtTime(0, this.anchor);
    bus.gain.linearRampToValueAtTime(1, this.anchor + (easeIn ? EASE_IN_S : FADE_S));
  }

  private fill(): void {
    const { context, feed, bus, sound } = this;
    if (!context || !feed || !bus || !sound) return;
    const count = samples(CHUNK_S, sound);
    while (this.anchor + this.scheduled / sound.rate < context.currentTime + AHEAD_S) {
      const data = feed.next(count);
      if (!data) return clearInterval(this.timer);
      const when = this.anchor + this.scheduled / sound.rate;
      this.scheduled += count;
      if (when >= context.currentTime) this.node(context, data, bus).start(when);
    }
  }

  private node(context: AudioContext, data: Float32Array[], to: AudioNode): AudioBufferSourceNode {
    const buffer = context.createBuffer(data.length, data[0].length, this.sound?.rate ?? context.sampleRate);
    data.forEach((samples, c) => buffer.copyToChannel(samples as Float32Array<ArrayBuffer>, c));
    const node = context.createBufferSource();
    node.buffer = buffer;
    node.connect(to);
    return node;
  }
}

const samples = (seconds: number, sound: Sound): number => Math.round(seconds * sound.rate);

function fadeOut(context: AudioContext | null, gain: GainNode | null): void {
  if (!context || !gain) return;
  gain.gain.cancelScheduledValues(context.currentTime);
  gain.gain.setValueAtTime(gain.gain.value, context.currentTime);
  gain.gain.linearRampToValueAtTime(0, context.currentTime + FADE_S);
  setTimeout(() => gain.disconnect(), 50);
}
