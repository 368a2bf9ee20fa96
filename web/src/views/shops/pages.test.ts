import { describe, expect, it } from "vitest";
import { pagesOf } from "./pages";

const names = (kinds: string[], tasks = 0): string[] => pagesOf(kinds, tasks).map((at) => at.page);

describe("pages of a shop", () => {
  it("a shop that cuts blanks has strips, coils and a timetable", () => {
    expect(names(["laser"])).toEqual(["load", "strips", "coils", "orders", "force", "timetable", "racks", "changeovers"]);
  });

  it("a press shop has no strips", () => {
    expect(names(["press", "press"])).toEqual(["load", "force", "timetable", "racks", "changeovers"]);
  });

  it("a shop with tasks has its balance", () => {
    expect(names([], 86)).toEqual(["load", "stations", "order", "moves", "who", "robots"]);
  });

  it("a shop whose cars take carriers has its carts", () => {
    expect(pagesOf([], 0, 2).map((at) => at.page)).toEqual(["load", "carts"]);
  });

  it("a shop with coats has its paint line", () => {
    expect(pagesOf([], 0, 0, 27).map((at) => at.page)).toEqual(["load", "line", "films", "colours", "repairs"]);
  });

  it("any other shop has its load alone", () => {
    expect(names([])).toEqual(["load"]);
  });
});
