import { expect, test } from "vitest";
import { percent, shareInterval } from "./format";

test("a share is written as the server writes it, with its sign once behind the interval", () => {
  expect(percent(1.029, 1)).toBe("102.9\u00a0%");
  expect(percent(0)).toBe("0\u00a0%");
  expect(percent(null)).toBe("–");
  expect(shareInterval({ mean: 0.7, half_width: 0.005 })).toBe("70.0 ± 0.5\u00a0%");
  expect(shareInterval({ mean: 0.7, half_width: null })).toBe("70.0\u00a0%");
});
