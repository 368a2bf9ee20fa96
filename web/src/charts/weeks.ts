/** Geometry of a figure drawn week by week: its scale, its line, the band of its intervals. */
import type { Scale } from "./scale";

/** A week of a figure. Without a value there may still be a limit: a week without a stop says that the time between is not less. */
export interface WeekPoint {
  at: string;
  value: number | null;
  low: number | null;
  high: number | null;
}

/** An interval that reaches further than so many times the largest value would press the line flat: it is cut at the edge. */
const FURTHEST = 2;

/**
 * Ends of the scale: all values and the book's, and their intervals as far as these leave the line readable.
 * What is shown alike is drawn alike: noise below the last digit is no trend.
 */
export function extent(points: readonly WeekPoint[], book: number | null, decimals: number): [number, number] | null {
  const values = [...points.map((point) => point.value), book].filter((value) => value !== null);
  const limits = points.flatMap((point) => (point.value === null && point.low !== null ? [point.low] : []));
  const firm = [...values, ...limits];
  if (firm.length === 0) return null;
  const [least, most] = [Math.min(...firm), Math.max(...firm)];
  const size = Math.max(Math.abs(most), Math.abs(least));
  const room = Math.max((most - least) * FURTHEST, size * (FURTHEST - 1));
  const low = Math.min(
    least,
    ...points.flatMap((point) => (point.low === null ? [] : [Math.max(point.low, least - room)])),
  );
  const high = Math.max(
    most,
    ...points.flatMap((point) => (point.high === null ? [] : [Math.min(point.high, most + room)])),
  );
  const pad = Math.max((high - low) * 0.08, 2 * 10 ** -decimals, size * 0.005);
  return [least >= 0 ? Math.max(low - pad, 0) : low - pad, high + pad];
}

/** Runs of weeks that all have a value. */
export function stretches(points: readonly WeekPoint[]): number[][] {
  const all: number[][] = [];
  points.forEach((point, i) => {
    if (point.value === null) return;
    const last = all.at(-1);
    if (last && last.at(-1) === i - 1) last.push(i);
    else all.push([i]);
  });
  return all;
}

const spot = (x: number, y: number): string => `${x.toFixed(1)} ${y.toFixed(1)}`;

/** The line through the values; broken where a week has none. */
export function line(points: readonly WeekPoint[], x: Scale, y: Scale): string {
  return stretches(points)
    .map((run) => `M${run.map((i) => spot(x(i), y(points[i]?.value ?? 0))).join("L")}`)
    .join("");
}

/** The band of the intervals between weeks that have one; an upper end without limit goes to the scale's own. */
export function band(points: readonly WeekPoint[], x: Scale, y: Scale, most: number): string {
  return stretches(points)
    .filter((run) => run.length > 1)
    .map((run) => {
      const upper = run.map((i) => spot(x(i), y(points[i]?.high ?? most)));
      const lower = run.toReversed().map((i) => spot(x(i), y(points[i]?.low ?? 0)));
      return `M${[...upper, ...lower].join("L")}Z`;
    })
    .join("");
}

/** Every how many weeks one is named, so that names of a width do not run into each other. */
export const every = (step: number, width: number): number => Math.max(Math.ceil(width / Math.max(step, 1e-9)), 1);

/** Where the newest week with an interval lies to the book's value. */
export function against(points: readonly WeekPoint[], book: number | null): "above" | "below" | "holds" | null {
  const last = points.findLast((point) => point.low !== null);
  if (book === null || last === undefined) return null;
  if (last.low !== null && book < last.low) return "above";
  return last.high !== null && book > last.high ? "below" : "holds";
}
