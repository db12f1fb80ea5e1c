import { loadSound } from '../sound/load';
import { Player } from '../sound/player';
import type { Sound } from '../sound/source';
import type { Desk } from './desk.svelte';
import type { AgainstTake } from './glass.svelte';

/** Holding this take against the one before it, on frames that belong together. */

function lined(d: Desk): boolean {
  if (d.asked.against) return true;
  d.keep.say(d.asked.older.length ? d.asked.now?.says || 'The takes are not lined up yet.' : 'This is the first take: there is none to hold it against.');
  return false;
}

export function holdAgainst(d: Desk, how: AgainstTake): void {
  if (!lined(d)) return;
  d.glass.takes = d.glass.takes === how ? null : how;
  d.glass.beside = false;
  if (d.transport.playing) d.transport.stop();
}

let player: Player | null = null;
const sounds = new Map<string, Promise<Sound | null>>();

/** Let hear the older take's sound of what belongs to the chosen frames, or to this one. */
export async function hearOlder(d: Desk): Promise<void> {
  const { against, tables } = d.asked;
  if (!lined(d) || !against) return;
  const table = tables[against.take];
  const { first, last } = d.transport.here();
  const there = against.old_of.slice(first, last + 1).filter((i) => i !== null);
  if (!table?.sound) return d.keep.say(`Take ${against.number} has no sound.`);
  if (!there.length) return d.keep.say(`Take ${against.number} has nothing here: these frames are new.`);
  player ??= new Player();
  const { url, offset_s } = table.sound;
  if (!sounds.has(url)) sounds.set(url, loadSound(player.audio(), url.replace(/^\//, ''), offset_s).catch(() => null));
  player.setSound((await sounds.get(url)) ?? null);
  d.transport.stop();
  player.playPiece(table.edges_s[Math.min(...there)], table.edges_s[Math.max(...there) + 1]);
  d.keep.say(`Take ${against.number} is heard from ${Math.min(...there) + table.first_frame} to ${Math.max(...there) + table.first_frame}.`);
}
