import { describe, expect, it } from "vitest";
import { isUploaded } from "./logs";

const FILE = { name: "cycles.csv", digest: "9f", columns: ["station", "start"], bytes: 10, known: false, role: null };

describe("the answer to a log that was sent", () => {
  it("tells its files, its problems and how its words are read", () => {
    expect(isUploaded({ files: [FILE], problems: [], words: {} })).toBe(true);
  });
  it("is not taken for one where a part is missing or of another kind", () => {
    expect(isUploaded(null)).toBe(false);
    expect(isUploaded("done")).toBe(false);
    expect(isUploaded({ files: [FILE], problems: [] })).toBe(false);
    expect(isUploaded({ files: [{ name: "cycles.csv" }], problems: [], words: {} })).toBe(false);
  });
});
