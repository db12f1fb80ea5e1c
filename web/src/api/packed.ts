import type { Packed } from './types';

/** An array as the server packs it: little-endian, C order, base64. NaN stands for 'not measured'. */
export function unpack(packed: Packed): Float32Array | Int8Array | Uint8Array {
  const text = atob(packed.data);
  const bytes = Uint8Array.from(text, (c) => c.charCodeAt(0));
  if (packed.dtype === 'int8') return new Int8Array(bytes.buffer);
  if (packed.dtype === 'uint8') return bytes;
  return new Float32Array(bytes.buffer);
}
