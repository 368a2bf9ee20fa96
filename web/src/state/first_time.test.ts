import { expect, test } from "vitest";
import type { FirstTimeRight } from "../api/types";
import { firstTimeInWords } from "./first_time";

const right: FirstTimeRight = {
  target: 0.72,
  planned: 0.697,
  made: { mean: 0.696, half_width: 0.002 },
  verdict: "missed",
  differs: null,
  losses: [],
};

test("the headline says whether first time right keeps its target", () => {
  expect(firstTimeInWords(right)).toBe(
    " 69.6 ± 0.2\u00a0% of the cars are right at the first try, and the target of 72.0\u00a0% is not met.",
  );
  expect(firstTimeInWords({ ...right, target: 0.69, verdict: "met" })).toContain("the target of 69.0\u00a0% is met");
  expect(firstTimeInWords({ ...right, target: 0.696, verdict: "open" })).toContain("not shown to be met");
});

test("a book without a target has no word of it in the headline", () => {
  expect(firstTimeInWords({ ...right, target: null, verdict: null })).toBe("");
});
