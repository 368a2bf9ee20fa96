/** A step of the paint line in words. */
import type { PaintStep } from "../api/types";
import { num } from "../state/format";

/** Length and time of a step, of an oven also the time at metal temperature and its bounds. */
export function stepTimes(step: PaintStep, brief = false): string {
  const plain = brief
    ? `${num(step.length_m)} m, ${num(step.dwell_min, 1)} min`
    : `${num(step.length_m, 1)} m, ${num(step.dwell_min, 1)} min`;
  const window = step.window;
  if (!window) return plain;
  const { least_min: least, most_min: most } = window;
  const bounds =
    least !== null && most !== null
      ? `${num(least)}–${num(most)}`
      : least !== null
        ? `≥ ${num(least)}`
        : most !== null
          ? `≤ ${num(most)}`
          : "";
  return `${plain}; metal ${num(window.at_metal_min.value, 1)}${bounds === "" ? "" : ` of ${bounds}`}`;
}
