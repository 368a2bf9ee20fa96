import { describe, expect, it } from "vitest";
import { between, pagesOf, type ShopHas } from "./pages";

const names = (has: ShopHas): string[] => pagesOf(has).map((at) => at.page);

describe("pages of a shop", () => {
  it("a shop that cuts blanks has strips, coils and a timetable", () => {
    expect(names({ kinds: ["laser"] })).toEqual([
      "load",
      "strips",
      "coils",
      "orders",
      "force",
      "timetable",
      "racks",
      "changeovers",
    ]);
  });

  it("a press shop has no strips", () => {
    expect(names({ kinds: ["press", "press"] })).toEqual(["load", "force", "timetable", "racks", "changeovers"]);
  });

  it("a shop with tasks has its balance", () => {
    expect(names({ tasks: 86 })).toEqual(["load", "stations", "order", "moves", "who", "robots"]);
  });

  it("a shop whose cars take carriers has its carts", () => {
    expect(names({ fleets: 2 })).toEqual(["load", "carts"]);
  });

  it("a shop that joins has its methods and robots", () => {
    expect(names({ joins: 262 })).toEqual(["load", "methods", "joining", "consumables", "takt"]);
  });

  it("a shop with coats has its paint line", () => {
    expect(names({ coats: 27 })).toEqual(["load", "line", "films", "colours", "repairs"]);
  });

  it("any other shop has its load alone", () => {
    expect(names({})).toEqual(["load"]);
  });
});

describe("the fleets of a shop", () => {
  const order = ["press", "body", "paint", "assembly"];
  it("are those taken, given back or passing between the two in it", () => {
    expect(between(order, "body", "paint")).toEqual(["body", "paint"]);
    expect(between(order, "assembly", "assembly")).toEqual(["assembly"]);
    expect(between(order, "body", "assembly")).toContain("paint");
  });
  it("never stand in a shop before or after", () => {
    expect(between(order, "body", "paint")).not.toContain("press");
    expect(between(order, "", "")).toEqual([]);
  });
});
