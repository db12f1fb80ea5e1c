import { call } from '../api/client';
import type { Desk } from './desk.svelte';

/** It bothered me here: the server draws it back by the measured reaction time. */
export async function addMarker(desk: Desk): Promise<void> {
  if (!desk.transport.playing) return;
  const body = { pressed: desk.transport.playhead, text: '' };
  await desk.keep.edit('now', () => call('post', '/api/takes/{take_id}/markers', { path: { take_id: desk.keep.takeId ?? '' }, body }));
}
