import { describe, expect, it } from "vitest";
import { dayOfWeek, heaps, shareAt } from "./days";

// a hundred cars spread evenly from 2 to 4 days, told by quarters
const even = [2, 2.5, 3, 3.5, 4];

describe("the course of a run", () => {
  it("begins on a Monday", () => {
    expect([0, 24, 144, 168, 288].map(dayOfWeek)).toEqual([0, 1, 6, 0, 5]);
  });

  it("reads a share off the quantiles", () => {
    expect(shareAt(even, 1)).toBe(0);
    expect(shareAt(even, 2.25)).toBeCloseTo(0.125);
    expect(shareAt(even, 3)).toBeCloseTo(0.5);
    expect(shareAt(even, 9)).toBe(1);
  });

  it("loses no car between the heaps", () => {
    const all = heaps(even, [0, 1, 2, 3, 4, 5]);
    expect(all.map((heap) => heap.share)).toEqual([0, 0, 0.5, 0.5, 0]);
    expect(heaps([3, 3, 3], [0, 3, 6]).reduce((sum, heap) => sum + heap.share, 0)).toBe(1);
  });
});
