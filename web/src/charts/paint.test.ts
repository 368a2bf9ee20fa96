import { describe, expect, it } from "vitest";
import type { PaintStep } from "../api/types";
import { stepTimes } from "./paint";

const step = (window: object | null): PaintStep => ({ length_m: 45.46, dwell_min: 30, window }) as unknown as PaintStep;

describe("a step of the paint line in words", () => {
  it("a step without an oven has length and time", () => {
    expect(stepTimes(step(null))).toBe("45.5 m, 30.0 min");
    expect(stepTimes(step(null), true)).toBe("45 m, 30.0 min");
  });

  it("an oven tells the time at metal temperature with its bounds", () => {
    const at_metal_min = { value: 20, figure: "" };
    expect(stepTimes(step({ at_metal_min, least_min: 18, most_min: 30 }))).toBe(
      "45.5 m, 30.0 min; metal 20.0 of 18–30",
    );
    expect(stepTimes(step({ at_metal_min, least_min: 18, most_min: null }))).toContain("of ≥ 18");
    expect(stepTimes(step({ at_metal_min, least_min: null, most_min: null }))).toBe("45.5 m, 30.0 min; metal 20.0");
  });
});
