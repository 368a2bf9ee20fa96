import { describe, expect, it } from "vitest";
import { pagesOf } from "./pages";

const names = (kinds: string[]): string[] => pagesOf(kinds).map((at) => at.page);

describe("pages of a shop", () => {
  it("a shop that cuts blanks has strips, coils and a timetable", () => {
    expect(names(["laser"])).toEqual(["load", "strips", "coils", "orders", "force", "timetable", "racks", "changeovers"]);
  });

  it("a press shop has no strips", () => {
    expect(names(["press", "press"])).toEqual(["load", "force", "timetable", "racks", "changeovers"]);
  });

  it("any other shop has its load alone", () => {
    expect(names([])).toEqual(["load"]);
  });
});
