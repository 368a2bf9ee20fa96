import { describe, expect, it } from "vitest";
import { clearOf, roomFor } from "./scale";

describe("figures beside the line of what is needed", () => {
  it("stand where they are while the line is elsewhere", () => {
    expect(clearOf(100, 40, 50, -1)).toBe(40);
    expect(clearOf(10, 40, 50, -1)).toBe(40);
  });
  it("move past the line where it would run through them", () => {
    const low = clearOf(45, 40, 50, -1);
    expect(low + 10).toBeLessThan(45);
    expect(clearOf(45, 40, 50, 1)).toBeGreaterThan(45);
  });
});

describe("labels along an axis", () => {
  it("are left out where they would overlap", () => {
    expect([...roomFor([0, 10, 25, 30, 60], 20)]).toEqual([0, 2, 4]);
  });
});
