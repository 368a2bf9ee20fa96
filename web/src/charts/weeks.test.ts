import { describe, expect, it } from "vitest";
import { linear } from "./scale";
import { against, band, every, extent, line, stretches, type WeekPoint } from "./weeks";

const week = (value: number | null, low: number | null = value, high: number | null = value): WeekPoint => ({
  at: "2026-03-02",
  value,
  low,
  high,
});
const x = linear([0, 3], [0, 30]);
const y = linear([0, 100], [100, 0]);

describe("a figure week by week", () => {
  const gap = [week(40, 30, 50), week(60, 50, null), week(null, 20, null), week(50, 40, 60)];

  it("breaks its line where a week has no value", () => {
    expect(stretches(gap)).toEqual([[0, 1], [3]]);
    expect(line(gap, x, y)).toBe("M0.0 60.0L10.0 40.0M30.0 50.0");
    expect(line([week(null)], x, y)).toBe("");
  });

  it("draws the band around the line, up to the edge where there is no upper limit", () => {
    expect(band(gap, x, y, 100)).toBe("M0.0 50.0L10.0 0.0L10.0 50.0L0.0 70.0Z");
    expect(band([week(40)], x, y, 100), "one week is no band").toBe("");
  });

  it("keeps values, the book and honest intervals on the scale", () => {
    const [least, most] = extent([week(95, 90, 105), week(100, 92, 108)], 110, 0)!;
    expect(least).toBeLessThan(90);
    expect(most).toBeGreaterThan(110);
    expect(extent([], null, 0)).toBeNull();
    expect(extent([week(null)], null, 0)).toBeNull();
    expect(extent([week(null, 20, null)], null, 0)![1], "a limit alone is on it too").toBeGreaterThan(20);
  });

  it("is not pressed flat by an interval that hardly ends, and does not go below nothing", () => {
    const [least, most] = extent([week(400, 100, 15_000), week(500, 300, 800)], null, 0)!;
    expect(most).toBeLessThan(1_200);
    expect(least).toBeGreaterThanOrEqual(0);
    expect(extent([week(5, 0, 20)], null, 0)![0]).toBe(0);
  });

  it("draws alike what is shown alike", () => {
    const [least, most] = extent([week(1.0001), week(1.0002)], 1, 3)!;
    expect(most - least).toBeGreaterThan(0.003);
  });

  it("names as many weeks as have room", () => {
    expect([60, 44, 20, 4].map((step) => every(step, 44))).toEqual([1, 1, 3, 11]);
  });

  it("says where the newest week lies to the book", () => {
    expect(against([week(9, 8, 10), week(14, 12, 16)], 10)).toBe("above");
    expect(against([week(14, 12, 16), week(9, 8, 9.5)], 10)).toBe("below");
    expect(against([week(9, 8, 11), week(null, null, null)], 10)).toBe("holds");
    expect(against([week(null, 12, null)], 10), "no stop, and that for longer than the book has").toBe("above");
    expect(against([week(9)], null)).toBeNull();
  });
});
