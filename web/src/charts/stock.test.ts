import { describe, expect, it } from "vitest";
import { mean, sawtooth, type Lot } from "./stock";

// 100 pieces used a day, 500 made a day: a lot of 200 runs 0.4 days and peaks at 160
const lot = (start_day: number, pieces: number): Lot => ({
  start_day,
  changeover_days: 0.1,
  run_days: pieces / 500,
  lot: pieces,
  cover_days: pieces / 100,
  peak: pieces * (1 - 100 / 500),
});

describe("stock of a part", () => {
  it("is empty as a run begins and highest as it ends", () => {
    const curve = sawtooth([lot(0, 200)], 2);
    expect(curve.map(([day]) => Number(day.toFixed(6)))).toEqual([0, 0.1, 0.5, 2]);
    expect(curve.map(([, pieces]) => Number(pieces.toFixed(6)))).toEqual([10, 0, 160, 10]);
  });

  it("ends the cycle as it began, and is half the peak on average", () => {
    const curve = sawtooth([lot(1.5, 200)], 2);
    expect(curve[0]?.[1]).toBeCloseTo(curve.at(-1)?.[1] ?? -1);
    expect(mean(curve)).toBeCloseTo(80);
  });

  it("holds lots of different sizes one after the other", () => {
    const curve = sawtooth([lot(0, 200), lot(2, 100)], 3);
    expect(Math.max(...curve.map(([, pieces]) => pieces))).toBeCloseTo(160);
    expect(curve.filter(([, pieces]) => pieces < 1e-6)).toHaveLength(2);
    expect(mean(curve)).toBeCloseTo((2 * 80 + 1 * 40) / 3);
  });

  it("stands on its safety stock", () => {
    expect(Math.min(...sawtooth([lot(0, 200)], 2, 30).map(([, pieces]) => pieces))).toBeCloseTo(30);
  });

  it("is nothing without a timetable", () => {
    expect(sawtooth([], 2)).toEqual([]);
    expect(sawtooth([lot(0, 200)], 0)).toEqual([]);
  });
});
