import { describe, expect, it } from "vitest";
import type { Idea, Unrun } from "../../api/types";
import { Sheet } from "../../sheet/sheet";
import { carryOut, clash, gain, stillFits, ticked, turned, whyNot } from "./ideas";

const idea = (id: number, row: number, column: string, from: string, to: string): Idea => ({
  id,
  name: `idea ${id}`,
  kind: "yours",
  place: "weld",
  investment: null,
  cost_per_year: null,
  life_years: 8,
  weeks: null,
  changes: [{ at: { table: "stations", row }, row: "weld", column, from, to }],
});

function sheet(): Sheet {
  const book = new Sheet();
  book.load([
    {
      name: "stations",
      decimal_comma: false,
      columns: ["station", "cycle_s"],
      rows: [
        { id: "a", line: 2, cells: ["weld", "75"] },
        { id: "b", line: 3, cells: ["trim", "60"] },
      ],
    },
  ]);
  return book;
}

describe("ticked ideas in the address", () => {
  it("are numbers, each once, in order", () => {
    expect(ticked("7,3,3,x,-1,0")).toEqual([3, 7]);
    expect(ticked(null)).toEqual([]);
  });
  it("come and go one by one", () => {
    expect(turned([3, 7], 5)).toBe("3,5,7");
    expect(turned([3, 7], 3)).toBe("7");
  });
});

describe("ideas and cells", () => {
  it("clash where they change the same cell", () => {
    const [one, two, other] = [
      idea(1, 2, "cycle_s", "75", "70"),
      idea(2, 2, "cycle_s", "75", "66"),
      idea(3, 2, "units", "", "2"),
    ];
    expect(clash(one, [one, two, other])?.id).toBe(2);
    expect(clash(other, [one, two, other])).toBeUndefined();
  });
  it("become an edit of the row they were made from", () => {
    const book = sheet();
    const quicker = idea(1, 2, "cycle_s", "75", "66");
    expect(stillFits(book, quicker)).toBe(true);
    carryOut(book, [quicker]);
    expect(book.value("stations", "a", "cycle_s")).toBe("66");
    expect(book.value("stations", "b", "cycle_s")).toBe("60");
    expect(stillFits(book, quicker)).toBe(false);
  });
  it("bring a column that the table lacks", () => {
    const book = sheet();
    carryOut(book, [idea(1, 3, "units", "", "2")]);
    expect(book.value("stations", "b", "units")).toBe("2");
  });
});

describe("words", () => {
  it("sign a difference and keep its interval", () => {
    expect(gain({ mean: 4.25, half_width: 1 })).toMatch(/^\+4[.,][23] ± 1[.,]0$/);
    expect(gain({ mean: 0, half_width: null })).toMatch(/^0/);
  });
  it("say why an idea was not run", () => {
    const told = (why: Unrun): string => whyNot(why);
    expect(told({ why: "stands" })).toContain("changes nothing");
    expect(told({ why: "same", other: "second torch" })).toContain("second torch");
  });
});
