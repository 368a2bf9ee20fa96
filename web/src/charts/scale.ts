/** Scales of the drawings. */

export type Scale = (value: number) => number;

export function linear(from: [number, number], to: [number, number]): Scale {
  const span = from[1] - from[0] || 1;
  return (value) => to[0] + ((value - from[0]) / span) * (to[1] - to[0]);
}

/** Round marks from 0 or below to at least `most`. */
export function marks(least: number, most: number, count = 6): number[] {
  const span = Math.max(most - least, 1e-9);
  const rough = span / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].map((factor) => factor * power).find((size) => size >= rough) ?? rough;
  const all: number[] = [];
  for (let i = Math.floor(least / step); i * step < most + step; i += 1) all.push(i * step);
  return all;
}

/**
 * Where a word that would lie from `low` to `high` begins so that a line at
 * `line` does not run through it: past the line, away from what it names.
 */
export function clearOf(line: number, low: number, high: number, away: 1 | -1, gap = 5): number {
  if (line < low - gap || line > high + gap) return low;
  return away > 0 ? line + gap : line - gap - (high - low);
}

/** Where labels along an axis find room: the first, and each far enough from the last one named. */
export function roomFor(places: number[], apart: number): Set<number> {
  let end = -Infinity;
  return new Set(
    places.flatMap((place, i) => {
      if (place - end < apart) return [];
      end = place;
      return [i];
    }),
  );
}
