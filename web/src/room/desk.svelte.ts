import type { PencilColour, ToolName } from '../api/types';
import { WHOLE, type PictureView } from '../geometry/view';
import type { Pencil } from '../ink/ink';
import { AskedBefore } from './asked.svelte';
import { Casting, type CastTool } from './casting.svelte';
import { Glass } from './glass.svelte';
import { Keep } from './keep.svelte';
import { Rest } from './rest.svelte';
import { BesideTake } from './reference.svelte';
import { Transport } from './transport.svelte';
import { View } from './view.svelte';

export type Mode = 'first' | 'study' | 'send';
export type Layer = 'drawings' | 'neighbours' | 'marks' | 'rays' | 'evidence';
export type Panel = 'help' | 'lines' | 'columns' | 'phrases' | 'reaction' | 'settings' | null;
/** hand: move the picture about; the others draw. */
export type Tool = 'hand' | ToolName;

/** CSS px; as in the style sheets. */
const NARROW = 900;
const PENCIL_WIDTH = 0.006;
const ERASER_WIDTH = 0.02;
const LINE_WIDTH = 0.005;

/** The reviewer's desk: what is open, chosen and in hand. Nothing here is stored but by way of settings. */
export class Desk {
  readonly keep = new Keep();
  readonly transport = new Transport();
  readonly cast = new Casting(this.keep, this.transport);
  /** How the desk is arranged; `view` is how the picture lies. */
  readonly arranged = new View();
  readonly glass = new Glass();
  readonly rest = new Rest();
  readonly reference = new BesideTake(this.keep);
  readonly asked = new AskedBefore(this.keep);
  mode = $state<Mode>('study');
  panel = $state<Panel>(null);
  tool = $state<Tool>('hand');
  /** The pencils lie out. */
  drawing = $state(false);
  /** The row of layers lies open. */
  seeing = $state(false);
  colour = $state<PencilColour>('blue');
  dashed = $state(false);
  layers = $state<Record<Layer, boolean>>({ drawings: true, neighbours: false, marks: false, rays: false, evidence: true });
  view = $state.raw<PictureView>(WHOLE);
  note = $state<string | null>(null);
  finding = $state<string | null>(null);
  who = $state<string | null>(null);
  search = $state('');
  /** On a narrow window the notes lie over the picture, so they wait until they are asked for. */
  notesOpen = $state(typeof innerWidth === 'undefined' || innerWidth > NARROW);
  /** Asked of the sheet: zoom in (1), out (-1), whole shot (0), chosen range (2). Counted so that the same wish twice is two wishes. */
  sheetWish = $state.raw<{ what: 1 | -1 | 0 | 2; n: number }>({ what: 0, n: 0 });
  /** Asked of the picture, in steps; 0 = the whole picture. */
  pictureWish = $state.raw<{ what: number; n: number }>({ what: 0, n: 0 });
  /** Asked of the sheet: mend what is on this frame. Counted. */
  mendWish = $state(0);
  /** A note that shall get the keyboard. */
  focusNote = $state<string | null>(null);

  wishSheet(what: 1 | -1 | 0 | 2): void {
    this.sheetWish = { what, n: this.sheetWish.n + 1 };
  }

  wishPicture(what: number): void {
    this.pictureWish = { what, n: this.pictureWish.n + 1 };
  }

  pencil(): Pencil {
    const tool = this.tool === 'hand' ? 'pencil' : this.tool;
    const width = tool === 'eraser' ? ERASER_WIDTH : tool === 'pencil' ? PENCIL_WIDTH : LINE_WIDTH;
    return { tool, colour: this.colour, width, dashed: this.dashed && (tool === 'sight' || tool === 'arrow' || tool === 'ellipse') };
  }

  take(tool: Tool, colour?: PencilColour): void {
    this.tool = tool;
    this.cast.take(null);
    if (colour) this.colour = colour;
    this.drawing = tool !== 'hand';
    if (tool !== 'hand') this.layers = { ...this.layers, drawings: true };
  }

  /** Take up a tool for the cast; the pencil is put down. */
  takeCast(tool: CastTool): void {
    this.tool = 'hand';
    this.drawing = false;
    this.cast.take(this.cast.tool === tool ? null : tool);
    if (this.cast.tool === 'mark') this.cast.open = this.cast.open || typeof innerWidth === 'undefined' || innerWidth > NARROW;
  }

  toggleLayer(layer: Layer): void {
    this.layers = { ...this.layers, [layer]: !this.layers[layer] };
  }
}
