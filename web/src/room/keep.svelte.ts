import { call, Refused } from '../api/client';
import { listen } from '../api/events';
import { Turns } from '../api/turns';
import type { CritState, FrameTable, Job, RoomEvent, Take, Tray } from '../api/types';
import { buildModel, type SheetModel } from '../sheet/model';
import type { Undo } from '../tools/change';

/** Events within this time are answered by one fetch. */
const GATHER_MS = 40;

/** What the server holds, as far as this page knows it. Read-only for components; changes go through `edit`. */
export class Keep {
  crit = $state.raw<CritState | null>(null);
  takeId = $state<string | null>(null);
  table = $state.raw<FrameTable | null>(null);
  model = $state.raw<SheetModel | null>(null);
  tray = $state.raw<Tray | null>(null);
  jobs = $state.raw<Job[]>([]);
  /** One sentence for the person: what went wrong, or what was just done. */
  says = $state('');
  trouble = $state(false);
  saving = $state(0);
  /** The room's server does not answer any more. */
  gone = $state(false);
  onFrames: (first: number, last: number) => void = () => undefined;
  onFollowed: (take: string) => void = () => undefined;
  private again: ReturnType<typeof setTimeout> | undefined;
  /** Among the events that are being gathered is one that the sheet may change with. */
  private sheetToo = false;
  private readonly crits = new Turns();
  private readonly sheets = new Turns();
  private readonly trays = new Turns();
  private line: Promise<unknown> = Promise.resolve();
  private stopListening: (() => void) | null = null;

  take = $derived<Take | null>(this.crit?.takes.find((t) => t.id === this.takeId) ?? null);
  media = $derived(this.crit?.media.find((m) => m.take === this.takeId) ?? null);
  shot = $derived(this.crit?.shots.find((s) => s.id === this.take?.shot) ?? null);
  settings = $derived(this.crit?.settings ?? null);
  notes = $derived(
    (this.crit?.notes ?? []).filter((n) => n.take === this.takeId).sort((a, b) => (a.place ?? 0) - (b.place ?? 0) || a.id.localeCompare(b.id)),
  );
  drawings = $derived((this.crit?.drawings ?? []).filter((d) => d.take === this.takeId));
  markers = $derived((this.crit?.markers ?? []).filter((m) => m.take === this.takeId));
  people = $derived([...new Set([...(this.take?.cast?.characters ?? []).map((c) => c.name), ...(this.model?.sheet.words ?? []).flatMap((w) => w.who ?? [])])]);
  measuring = $derived(this.jobs.find((j) => j.take === this.takeId && j.kind === 'measure' && (j.state === 'running' || j.state === 'waiting')) ?? null);

  async open(): Promise<void> {
    await this.guarded(async () => {
      this.crit = await call('get', '/api/crit');
      const takes = this.crit.takes;
      await this.show(takes[takes.length - 1]?.id ?? null);
    });
    this.stopListening = listen({
      event: (event) => this.hear(event),
      missed: (how) => void this.guarded(() => this.catchUp(how)),
      there: (yes) => this.presence(yes),
    });
  }

  close(): void {
    this.stopListening?.();
  }

  /** Turn to a take. */
  async show(takeId: string | null): Promise<void> {
    this.takeId = takeId;
    this.table = this.model = this.tray = null;
    if (!takeId) return;
    // The first picture hangs on the table, so nothing is asked for before it.
    if (this.media?.state === 'here') await this.fetchTable(takeId);
    await this.fetchJobs();
    await this.fetchMeasured();
    if (this.table && this.unmeasured()) await this.measure();
  }

  private unmeasured(): boolean {
    return this.model !== null && !this.model.sheet.measured;
  }

  /** Measure the take in the background, or go on where it was stopped. */
  async measure(): Promise<void> {
    await this.guarded(async () => {
      const job = await call('post', '/api/takes/{take_id}/measure', { path: { take_id: this.takeId ?? '' }, body: { fresh: false } });
      this.begun(job);
    });
  }

  /** A job that an answer tells of; what was heard of it meanwhile is newer, and it may have ended before the answer was read. */
  begun(job: Job): void {
    if (!this.jobs.some((j) => j.id === job.id)) this.jobs = [job, ...this.jobs];
  }

  /** Asking for the table makes the pictures that are missing. */
  async makePictures(): Promise<void> {
    await this.guarded(async () => {
      await this.fetchTable(this.takeId ?? '');
      await this.fetchJobs();
    });
  }

  private async fetchTable(takeId: string): Promise<void> {
    const table = await call('get', '/api/takes/{take_id}/frames', { path: { take_id: takeId } });
    if (takeId === this.takeId) this.table = table;
  }

  /** What is heard of a job while the answer is on its way is newer than the answer. */
  private async fetchJobs(): Promise<void> {
    const before = new Set(this.jobs);
    const told = await call('get', '/api/jobs');
    const heard = this.jobs.filter((j) => !before.has(j));
    this.jobs = [...heard, ...told.filter((j) => !heard.some((h) => h.id === j.id))];
  }

  /** What happened while no news came: before the line was open for the first time little is asked, since most of it was fetched a moment ago. */
  private async catchUp(how: 'opened' | 'broken'): Promise<void> {
    await this.fetchJobs();
    const known = this.crit?.seq ?? 0;
    if (how === 'opened' && (await call('get', '/api/crit')).seq <= known && !(this.unmeasured() && !this.measuring)) return;
    await this.refresh(true);
  }

  /** Do something that the server stores, then show how things are now. `undo` says whether it is a step of undo; measured: the sheet may change with it. */
  edit<T>(undo: Undo, work: () => Promise<T>, measured = false): Promise<T | undefined> {
    if (undo === 'later') return Promise.resolve(undefined); // still going on: only its end is stored
    this.saving++;
    const turn = this.line.then(() => this.carryOut(work, measured));
    this.line = turn;
    return turn;
  }

  /** One edit after the other, each on what the one before left: quick strokes join one drawing, quick words never clash with themselves. */
  private async carryOut<T>(work: () => Promise<T>, measured: boolean): Promise<T | undefined> {
    try {
      const outcome = await work();
      await this.refresh(measured);
      this.trouble = false;
      this.says = '';
      return outcome;
    } catch (problem) {
      this.tell(problem);
      if (problem instanceof Refused && problem.status === 409) await this.refresh(true);
      return undefined;
    } finally {
      this.saving--;
    }
  }

  async refresh(measured = false): Promise<void> {
    const news = this.crits.ask();
    const crit = await call('get', '/api/crit');
    if (news()) this.crit = crit;
    if (this.table && this.take && this.take.first_frame !== this.table.first_frame) await this.recount(this.take.id);
    else if (measured) await this.fetchMeasured();
    else await this.fetchTray();
  }

  /** Frames got other numbers: everything that says a number is fetched again. */
  private async recount(takeId: string): Promise<void> {
    await this.fetchTable(takeId);
    await this.fetchMeasured();
  }

  private presence(there: boolean): void {
    if (there && this.gone) this.say(''); // what was said of it has passed
    this.gone = !there;
  }

  say(text: string): void {
    this.trouble = false;
    this.says = text;
  }

  tell(problem: unknown): void {
    this.trouble = true;
    this.says = problem instanceof Error ? problem.message : String(problem);
  }

  private async fetchMeasured(): Promise<void> {
    const id = this.takeId;
    if (!id) return;
    const path = { take_id: id };
    const [newSheet, newTray] = [this.sheets.ask(), this.trays.ask()];
    const [sheet, tray] = await Promise.all([
      call('get', '/api/takes/{take_id}/sheet', { path }),
      call('get', '/api/takes/{take_id}/findings', { path }),
    ]);
    if (id !== this.takeId) return;
    if (newSheet()) this.model = buildModel(sheet);
    if (newTray()) this.tray = once(tray);
  }

  private async fetchTray(): Promise<void> {
    const id = this.takeId;
    if (!id) return;
    const news = this.trays.ask();
    const tray = await call('get', '/api/takes/{take_id}/findings', { path: { take_id: id } });
    if (id === this.takeId && news()) this.tray = once(tray);
  }

  private hear(event: RoomEvent): void {
    if (event.type === 'frames' && event.take === this.takeId) this.onFrames(event.first, event.last);
    if (event.type === 'job') this.jobs = [event.job, ...this.jobs.filter((j) => j.id !== event.job.id)];
    if (event.type === 'followed' && event.take === this.takeId) this.onFollowed(event.take);
    if (event.type === 'measured' && event.take === this.takeId) this.gather(true);
    if (event.type === 'moved') {
      void this.line.then(() => this.say(event.says)); // after the edit that may be under way, whose end clears what was said
      this.gather(false);
    }
    if (event.type === 'edit' && event.seq > (this.crit?.seq ?? 0)) this.gather(touchesSheet(event.changed));
  }

  private gather(measured: boolean): void {
    clearTimeout(this.again);
    this.sheetToo ||= measured;
    this.again = setTimeout(() => {
      const all = this.sheetToo;
      this.sheetToo = false;
      void this.guarded(() => this.refresh(all));
    }, GATHER_MS);
  }

  private async guarded(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (problem) {
      this.tell(problem);
    }
  }
}

/** Each finding once: a list in the page breaks down on two with one name. */
const once = (tray: Tray): Tray => ({ ...tray, findings: [...new Map(tray.findings.map((f) => [f.key, f])).values()] });

const touchesSheet = (changed: readonly { kind: string }[]): boolean => changed.some((c) => c.kind === 'correction' || c.kind === 'take' || c.kind === 'decision');
