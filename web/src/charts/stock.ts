/** Stock of a part over a cycle that repeats: up while its line runs it, down all the time. */

export interface Lot {
  start_day: number;
  changeover_days: number;
  run_days: number;
  lot: number;
  cover_days: number;
  peak: number;
}
export type Spot = readonly [day: number, pieces: number];

const SAME = 1e-9;

/** Corners of the curve from day 0 to the cycle's end, on top of the safety stock. */
export function sawtooth(lots: readonly Lot[], cycle: number, safety = 0): Spot[] {
  if (cycle <= 0 || lots.length === 0) return [];
  const corners: Spot[] = [];
  for (const lot of lots) {
    const run = lot.start_day + lot.changeover_days;
    // The lot's own rise and fall, where it wraps over the end once more from the start.
    for (const shift of [0, -cycle]) {
      corners.push([run + shift, 0], [run + lot.run_days + shift, lot.peak], [run + lot.cover_days + shift, 0]);
    }
  }
  corners.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const inside = corners.filter(([day]) => day > SAME && day < cycle - SAME);
  const ends: Spot = [0, between(corners, 0)];
  const once = inside.filter(([day], i) => i === 0 || day - (inside[i - 1]?.[0] ?? -1) > SAME);
  return [ends, ...once, [cycle, between(corners, cycle)] as const].map(
    ([day, pieces]) => [day, pieces + safety] as const,
  );
}

function between(corners: readonly Spot[], day: number): number {
  const after = corners.findIndex(([at]) => at >= day - SAME);
  const above = corners[after];
  if (!above) return 0;
  const below = corners[after - 1];
  if (!below || above[0] - below[0] < SAME) return above[1];
  return below[1] + ((day - below[0]) / (above[0] - below[0])) * (above[1] - below[1]);
}

/** The mean of the curve: half the peak where lots are alike. */
export function mean(curve: readonly Spot[]): number {
  let area = 0;
  for (let i = 1; i < curve.length; i += 1) {
    const [a, b] = [curve[i - 1] as Spot, curve[i] as Spot];
    area += ((b[0] - a[0]) * (a[1] + b[1])) / 2;
  }
  const span = (curve.at(-1)?.[0] ?? 0) - (curve[0]?.[0] ?? 0);
  return span > 0 ? area / span : 0;
}
