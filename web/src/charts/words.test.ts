import { describe, expect, it } from "vitest";
import { fitted } from "./words";

const letters = (text: string, size: number): number => text.length * size * 0.5;

describe("the name of a station in a narrow drawing", () => {
  it("stays whole where it fits", () => {
    expect(fitted("CF-04 cross member", 200, 12, letters)).toBe("CF-04 cross member");
  });
  it("keeps its beginning, and its ellipsis has room too", () => {
    const short = fitted("CF-04 cross member", 60, 12, letters);
    expect(short.startsWith("CF-04")).toBe(true);
    expect(short.endsWith("…")).toBe(true);
    expect(letters(short, 12)).toBeLessThanOrEqual(60);
  });
  it("is left out where two letters would not fit", () => {
    expect(fitted("CF-04 cross member", 10, 12, letters)).toBe("");
  });
});
