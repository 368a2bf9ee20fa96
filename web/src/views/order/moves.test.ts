import { describe, expect, it } from "vitest";
import { blockAt, fit, gapOfPlace, placeOfGap, printMoves, readChosen, readMoves } from "./moves";
import { boxes, brokenSpans, codes, lanesOf, rowsOf, shade, stepOf, within } from "./strip";

/** As the server does it. */
function moved(order: number[], from: number, cars: number, to: number): number[] {
  const rest = order.toSpliced(from - 1, cars);
  return rest.toSpliced(to - 1, 0, ...order.slice(from - 1, from - 1 + cars));
}

describe("moves in the address", () => {
  it("are read back as they were written", () => {
    const moves = [
      { from: 12, cars: 1, to: 45 },
      { from: 300, cars: 14, to: 20 },
    ];
    expect(printMoves(moves)).toBe("12.1.45_300.14.20");
    expect(readMoves(printMoves(moves))).toEqual(moves);
    expect(readMoves(null)).toEqual([]);
  });
  it("leave out what is no move", () => {
    expect(readMoves("12.1_x.1.2_3.0.4_5.1.6.7_8.1.9")).toEqual([{ from: 8, cars: 1, to: 9 }]);
  });
  it("choose only cars that are there", () => {
    expect(readChosen("5.3", 7)).toEqual({ from: 5, cars: 3 });
    expect(readChosen("5", 7)).toEqual({ from: 5, cars: 1 });
    expect(readChosen("6.3", 7)).toBeNull();
    expect(readChosen("0.1", 7)).toBeNull();
    expect(readChosen(null, 7)).toBeNull();
  });
});

describe("a gap between cars", () => {
  it("is the place that the cars come to stand at", () => {
    const order = [1, 2, 3, 4, 5, 6, 7, 8];
    for (const chosen of [
      { from: 3, cars: 2 },
      { from: 1, cars: 1 },
      { from: 6, cars: 3 },
    ]) {
      for (let gap = 0; gap <= order.length; gap += 1) {
        const to = placeOfGap(chosen, gap);
        const after = moved(order, chosen.from, chosen.cars, to);
        const before = after.indexOf(chosen.from);
        // those before the gap, the chosen ones apart, stand before the chosen ones
        const wanted = order
          .slice(0, gap)
          .filter((car) => car < chosen.from || car >= chosen.from + chosen.cars).length;
        expect(before).toBe(wanted);
        if (to !== chosen.from) expect(gapOfPlace(chosen, to)).toBe(gap);
      }
    }
  });
  it("lies behind the frozen cars and within the order", () => {
    expect(fit(2, { from: 9, cars: 3 }, 5, 20)).toBe(6);
    expect(fit(99, { from: 9, cars: 3 }, 5, 20)).toBe(18);
    expect(fit(12, { from: 9, cars: 3 }, 5, 20)).toBe(12);
  });
  it("belongs to a block", () => {
    const blocks = [
      { place: 1, cars: 5 },
      { place: 6, cars: 2 },
    ];
    expect(blockAt(blocks, 5)).toEqual({ from: 1, cars: 5 });
    expect(blockAt(blocks, 6)).toEqual({ from: 6, cars: 2 });
    expect(blockAt(blocks, 8)).toBeNull();
  });
});

describe("the drawing of an order", () => {
  it("gives every name a code of its own", () => {
    const given = codes(["slate blue", "sea blue", "Dunlin", "Dunnock", "Du", "red", ""]);
    expect(given.get("slate blue")).toBe("SB");
    expect(given.get("Dunlin")).toBe("Du");
    expect(new Set(given.values()).size).toBe(7);
  });
  it("takes a shade from the colour's name and a plain one where it has none", () => {
    expect(shade("slate blue")).not.toBe(shade("brick red"));
    expect(shade("fleet special")).toBe("#eef1f3");
  });
  it("has one lane for each option, whatever the number of its rules", () => {
    expect(lanesOf([{ option: "a" }, { option: "b" }, { option: "a" }])).toEqual([
      { option: "a", rules: [0, 2] },
      { option: "b", rules: [1] },
    ]);
  });
  it("joins runs that overlap or touch", () => {
    const spans = brokenSpans([
      { broken_at: [3, 4, 20], in_every: 3 },
      { broken_at: [7], in_every: 2 },
    ]);
    expect(spans).toEqual([
      { from: 3, to: 8 },
      { from: 20, to: 22 },
    ]);
    expect(within(spans, 5, 20)).toEqual([
      { from: 5, to: 8 },
      { from: 20, to: 20 },
    ]);
  });
  it("fills rows and leaves none empty", () => {
    expect(rowsOf(7, 3)).toEqual([
      { from: 1, to: 3 },
      { from: 4, to: 6 },
      { from: 7, to: 7 },
    ]);
    expect(rowsOf(0, 3)).toEqual([]);
    expect(boxes([0, 10], 10, 2, 5)).toBe("M1.5 2h7v5h-7zM11.5 2h7v5h-7z");
  });
  it("moves the cursor by keys and stops at the ends", () => {
    expect(stepOf("ArrowDown", false, 5, 10, 100)).toBe(15);
    expect(stepOf("ArrowLeft", false, 1, 10, 100)).toBe(1);
    expect(stepOf("End", false, 13, 10, 100)).toBe(20);
    expect(stepOf("End", true, 13, 10, 100)).toBe(100);
    expect(stepOf("a", false, 13, 10, 100)).toBeNull();
  });
});
