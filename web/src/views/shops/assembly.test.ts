import { describe, expect, it } from "vitest";
import type { AssemblyPost } from "../../api/types";
import { Sheet } from "../../sheet/sheet";
import { budgetOf, moveTasks, secondsOf, segmentsOf } from "./assembly";

const at = (row: number) => ({ table: "tasks" as const, row });
const post: AssemblyPost = {
  side: "left",
  by: "assembler",
  tools: [],
  load_s: 70,
  by_product_s: [40, 100],
  heavy: null,
  work: [
    { task: "fit roof rail", at: at(2), start_s: 0, end_s: 30, seconds: 60, by_product_s: [0, 60] },
    { task: "fit seal", at: at(3), start_s: 35, end_s: 75, seconds: 40, by_product_s: [40, 40] },
  ],
};

describe("a post's work against time", () => {
  it("on a mean car it is drawn as it is timed, waiting included", () => {
    expect(segmentsOf(post, null).map(({ from, to }) => [from, to])).toEqual([
      [0, 30],
      [35, 75],
    ]);
    expect(secondsOf(post, null)).toBe(75);
  });

  it("on a product's car only the work it has is drawn, end to end", () => {
    expect(segmentsOf(post, 0).map(({ task, from, to }) => [task, from, to])).toEqual([["fit seal", 0, 40]]);
    expect(segmentsOf(post, 1).at(-1)?.to).toBe(100);
    expect(secondsOf(post, 1)).toBe(100);
  });
});

describe("moving tasks", () => {
  const sheet = (): Sheet => {
    const made = new Sheet();
    made.load([
      {
        name: "tasks",
        decimal_comma: false,
        columns: ["task", "station"],
        rows: [
          { id: "a", line: 2, cells: ["fit roof rail", "T1"] },
          { id: "b", line: 3, cells: ["fit seal", "T1"] },
        ],
      },
    ]);
    return made;
  };

  it("robots that come with the moves are part of the same step", () => {
    const book = sheet();
    book.load([
      {
        name: "tasks",
        decimal_comma: false,
        columns: ["task", "station"],
        rows: [{ id: "a", line: 2, cells: ["fit roof rail", "T1"] }],
      },
      { name: "stations", decimal_comma: false, columns: ["station"], rows: [{ id: "s", line: 3, cells: ["T2"] }] },
    ]);
    moveTasks(
      book,
      "1 move",
      [{ row: 2, to: "T2" }],
      [{ station: "T2", at: { table: "stations", row: 3 }, now: 0, then: 1 }],
    );
    expect([book.value("tasks", "a", "station"), book.value("stations", "s", "robots")]).toEqual(["T2", "1"]);
    book.undo();
    expect([book.value("tasks", "a", "station"), book.value("stations", "s", "robots")]).toEqual(["T1", ""]);
  });

  it("a budget is read as it is typed", () => {
    expect([budgetOf("24 000 000"), budgetOf("24,000,000"), budgetOf("no"), budgetOf("0"), budgetOf("-5")]).toEqual([
      24e6,
      24e6,
      null,
      null,
      null,
    ]);
  });

  it("all moves are one step, and one step takes them back", () => {
    const book = sheet();
    const done = moveTasks(book, "2 moves", [
      { row: 2, to: "T2" },
      { row: 3, to: "T3" },
    ]);
    expect(done.patches).toHaveLength(2);
    expect(book.value("tasks", "b", "station")).toBe("T3");
    book.undo();
    expect([book.value("tasks", "a", "station"), book.value("tasks", "b", "station")]).toEqual(["T1", "T1"]);
  });

  it("a row that is no longer there is left alone", () => {
    expect(moveTasks(sheet(), "a move", [{ row: 9, to: "T2" }]).patches).toHaveLength(0);
  });
});
