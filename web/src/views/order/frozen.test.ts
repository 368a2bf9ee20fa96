import { describe, expect, it } from "vitest";
import type { PlacedCar } from "../../api/types";
import { Sheet } from "../../sheet/sheet";
import { frozenRows } from "./frozen";

const COLUMNS = ["order", "product", "options", "colour", "frozen_place", "on_hold", "back_day"];
const car = (place: number, order: string | null, options: string[] = []): PlacedCar => ({
  place,
  order,
  product: "Dunlin",
  options,
  colour: "slate blue",
  frozen: false,
});

function sheet(rows: string[][]): Sheet {
  const made = new Sheet();
  made.load([
    {
      name: "orders",
      title: "",
      decimal_comma: false,
      columns: COLUMNS,
      rows: rows.map((cells, i) => ({ id: `r${i}`, line: i + 2, cells })),
    } as never,
  ]);
  return made;
}

describe("places kept in the book", () => {
  it("freeze the orders that stand there and make rows of cars that have none", () => {
    const book = sheet([
      ["A", "Dunlin", "", "", "", "", ""],
      ["B", "Dunlin", "", "", "1", "", ""],
    ]);
    const done = book.fill(
      "frozen",
      "orders",
      COLUMNS,
      frozenRows([car(1, "A"), car(2, null, ["tow bar", "heat pump"])], 1, book),
    );
    expect(book.table("orders")?.rows.map((row) => row.cells)).toEqual([
      ["A", "Dunlin", "", "", "1", "", ""],
      ["B", "Dunlin", "", "", "", "", ""],
      ["week 1 place 2", "Dunlin", "tow bar;heat pump", "slate blue", "2", "", ""],
    ]);
    expect(done.skipped).toBe(0);
    book.undo();
    expect(book.table("orders")?.rows.map((row) => row.cells[4])).toEqual(["", "1"]);
  });
  it("take a car back from hold and name no row twice", () => {
    const book = sheet([
      ["week 1 place 2", "Dunlin", "", "", "", "", ""],
      ["H", "Dunlin", "", "", "", "yes", "2"],
    ]);
    const rows = frozenRows([car(1, "H"), car(2, null)], 1, book);
    expect(rows[0]?.cells).toEqual({ frozen_place: "1", on_hold: "", back_day: "" });
    expect(rows[1]?.cells["order"]).toBe("week 1 place 2 (2)");
  });
  it("leave what another week has frozen", () => {
    const columns = [...COLUMNS, "week"];
    const book = new Sheet();
    book.load([
      {
        name: "orders",
        title: "",
        decimal_comma: false,
        columns,
        rows: [{ id: "r0", line: 2, cells: ["A", "Dunlin", "", "", "1", "", "", ""] }],
      } as never,
    ]);
    const rows = frozenRows([car(1, null)], 2, book);
    expect(rows).toHaveLength(1);
    expect(rows[0]?.cells).toMatchObject({ order: "week 2 place 1", week: "2" });
  });
  it("begin the table where the book has none, in one step", () => {
    const book = new Sheet();
    book.fill("frozen", "orders", COLUMNS, frozenRows([car(1, null)], 1, book));
    expect(book.table("orders")?.rows).toHaveLength(1);
    expect(book.undoable).toBe("frozen");
  });
  it("free all of them where none is to stay", () => {
    const book = sheet([["A", "Dunlin", "", "", "1", "", ""]]);
    book.fill("free", "orders", COLUMNS, frozenRows([], 1, book));
    expect(book.value("orders", "r0", "frozen_place")).toBe("");
  });
});
