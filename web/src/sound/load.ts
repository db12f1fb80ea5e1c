import type { Sound } from './source';

/** Fetches and decodes a take's sound at the context's rate. Null when there is none that can be decoded. */
export async function loadSound(context: AudioContext | null, url: string, offset: number): Promise<Sound | null> {
  if (!context) return null;
  const answer = await fetch(url);
  if (!answer.ok) return null;
  const buffer = await context.decodeAudioData(await answer.arrayBuffer());
  const channels = Array.from({ length: buffer.numberOfChannels }, (_, c) => buffer.getChannelData(c));
  return { channels, rate: buffer.sampleRate, offset };
}
