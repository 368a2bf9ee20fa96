/** Days of a run, which begins on a Monday at 00:00. */

/** 0 is Monday. */
export function dayOfWeek(from_h: number): number {
  return Math.floor(from_h / 24) % 7;
}

/** The share of a rising list of quantiles, in even steps from 0 to 1, that keeps a value. */
export function shareAt(quantiles: readonly number[], value: number): number {
  const steps = quantiles.length - 1;
  const beyond = quantiles.findIndex((at) => at > value);
  if (beyond < 0) return 1;
  if (beyond === 0) return 0;
  const [below = 0, above = 0] = [quantiles[beyond - 1], quantiles[beyond]];
  return (beyond - 1 + (value - below) / (above - below)) / steps;
}

/** How many of a hundred fall between marks of a list of quantiles, for a drawing of heaps. */
export function heaps(
  quantiles: readonly number[],
  edges: readonly number[],
): { from: number; to: number; share: number }[] {
  return edges.slice(1).map((to, i) => {
    const from = edges[i] ?? 0;
    return { from, to, share: shareAt(quantiles, to) - shareAt(quantiles, from) };
  });
}
