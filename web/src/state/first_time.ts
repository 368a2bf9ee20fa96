import type { FirstTimeRight } from "../api/types";
import { percent, shareInterval } from "./format";

/** First time right as the headline says it; nothing without a target. */
export function firstTimeInWords(right: FirstTimeRight): string {
  if (right.verdict === null || right.target === null) return "";
  const seen = `${shareInterval(right.made)} of the cars are right at the first try`;
  const target = `the target of ${percent(right.target, 1)}`;
  const says = {
    met: `and ${target} is met`,
    open: `and ${target} is not shown to be met`,
    missed: `and ${target} is not met`,
  }[right.verdict];
  return ` ${seen}, ${says}.`;
}
