/** Ranges side by side where they overlap. lane[k]: place of range k from the left; count: how many lanes there are. */
export function lanes(ranges: readonly { first: number; last: number }[]): { lane: number[]; count: number } {
  const ends: number[] = [];
  const lane = new Array<number>(ranges.length).fill(0);
  const order = ranges.map((_, k) => k).sort((a, b) => ranges[a].first - ranges[b].first || ranges[b].last - ranges[a].last);
  for (const k of order) {
    const free = ends.findIndex((end) => end < ranges[k].first);
    lane[k] = free === -1 ? ends.length : free;
    ends[lane[k]] = ranges[k].last;
  }
  return { lane, count: Math.max(1, ends.length) };
}
