import type { Fetcher } from './loader';

/** Fetches the JPEG of a frame. Null while it is still being made (503); other refusals are the same to a viewer. */
export function frameFetcher(url: string, width?: number): Fetcher<ImageBitmap> {
  const base = url.replace(/^\//, '');
  return async (index, signal) => {
    const address = base.replace('{index}', String(index)) + (width ? `?width=${width}` : '');
    const answer = await fetch(address, { signal });
    if (!answer.ok) return null;
    return createImageBitmap(await answer.blob());
  };
}
