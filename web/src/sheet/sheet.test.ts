import { describe, expect, it } from "vitest";
import type { Column } from "../api/types";
import { checkCell } from "./check";
import { readBlock, withHeads, writeBlock } from "./clipboard";
import { markOfBlock, toBook, toReader } from "./numbers";
import { Sheet } from "./sheet";
import { rowsShown } from "./view";

function stations(): Sheet {
  const sheet = new Sheet();
  const rows = [
    ["A", "60"],
    ["B", "61"],
    ["C", "62"],
  ].map((cells, i) => ({ id: `r${i}`, line: i + 2, cells }));
  sheet.load([{ decimal_comma: false, name: "stations", columns: ["station", "cycle_s"], rows }]);
  return sheet;
}
const columns = ["station", "cycle_s", "units"];
const view = ["r0", "r1", "r2"];
const cells = (sheet: Sheet): string[][] => sheet.table("stations")?.rows.map((row) => row.cells) ?? [];

describe("a sheet", () => {
  it("pastes a block as one step to undo", () => {
    const sheet = stations();
    const done = sheet.paste("stations", view, columns, 1, 0, [
      ["X", "70"],
      ["Y", "71"],
    ]);
    expect(done.patches).toHaveLength(4);
    expect(cells(sheet)).toEqual([
      ["A", "60"],
      ["X", "70"],
      ["Y", "71"],
    ]);
    expect(sheet.undo()?.patches).toHaveLength(4);
    expect(cells(sheet)).toEqual([
      ["A", "60"],
      ["B", "61"],
      ["C", "62"],
    ]);
    expect(sheet.undo()).toBeNull();
    sheet.redo();
    expect(cells(sheet)[2]).toEqual(["Y", "71"]);
  });

  it("adds the rows that a block is longer than the table, in the block's order", () => {
    const sheet = stations();
    sheet.paste("stations", view, columns, 2, 0, [
      ["C", "62"],
      ["D", "63"],
      ["E", "64"],
    ]);
    expect(cells(sheet).map((row) => row[0])).toEqual(["A", "B", "C", "D", "E"]);
    sheet.undo();
    expect(cells(sheet)).toHaveLength(3);
  });

  it("makes a column of the schema that the book left out", () => {
    const sheet = stations();
    const done = sheet.set("type", "stations", [{ row: "r0", column: "units", value: "2" }]);
    expect(done.patches[0]).toEqual({ add_column: { table: "stations", column: "units", before: null } });
    expect(sheet.value("stations", "r0", "units")).toBe("2");
    sheet.undo();
    expect(sheet.table("stations")?.columns).toEqual(["station", "cycle_s"]);
  });

  it("adds a column of the user's own and takes one out, each one step to undo with all it held", () => {
    const sheet = stations();
    sheet.addColumn("stations", "note");
    sheet.set("type", "stations", [{ row: "r1", column: "note", value: "ask the fitters" }]);
    const done = sheet.dropColumn("stations", "note");
    expect(done.patches).toEqual([{ drop_column: { table: "stations", column: "note" } }]);
    expect(cells(sheet)[1]).toEqual(["B", "61"]);
    expect(sheet.undo()?.patches).toEqual([
      { add_column: { table: "stations", column: "note", before: null } },
      { set: { table: "stations", row: "r1", column: "note", value: "ask the fitters" } },
    ]);
    expect(cells(sheet)[1]).toEqual(["B", "61", "ask the fitters"]);
    sheet.dropColumn("stations", "station");
    sheet.undo();
    expect(sheet.table("stations")?.columns).toEqual(["station", "cycle_s", "note"]);
    expect(cells(sheet)[2]).toEqual(["C", "62", ""]);
  });

  it("never takes out the only column", () => {
    const sheet = new Sheet();
    sheet.load([{ decimal_comma: false, name: "t", columns: ["a"], rows: [] }]);
    expect(sheet.dropColumn("t", "a").patches).toEqual([]);
  });

  it("holds an import as one step, taken back by the server", () => {
    const sheet = stations();
    sheet.imported("import of book.xlsx", 7);
    sheet.set("type", "stations", [{ row: "r0", column: "cycle_s", value: "9" }]);
    expect(sheet.importNext("undo")).toBeNull();
    sheet.undo();
    expect(sheet.importNext("undo")).toEqual({ label: "import of book.xlsx", revision: 7 });
    sheet.importTurned("undo", 9);
    expect(sheet.importNext("undo")).toBeNull();
    expect(sheet.importNext("redo")).toEqual({ label: "import of book.xlsx", revision: 9 });
    sheet.importTurned("redo", 10);
    expect(sheet.undoable).toBe("import of book.xlsx");
  });

  it("fills down, deletes and brings rows back where they stood", () => {
    const sheet = stations();
    sheet.fillDown("stations", view, ["cycle_s"]);
    expect(cells(sheet).map((row) => row[1])).toEqual(["60", "60", "60"]);
    sheet.removeRows("stations", ["r0", "r1"]);
    expect(cells(sheet)).toEqual([["C", "60"]]);
    sheet.undo();
    expect(cells(sheet).map((row) => row[0])).toEqual(["A", "B", "C"]);
  });

  it("does nothing, and keeps nothing to undo, where nothing differs", () => {
    const sheet = stations();
    expect(sheet.set("type", "stations", [{ row: "r0", column: "cycle_s", value: "60" }]).patches).toEqual([]);
    expect(sheet.undoable).toBeNull();
  });

  it("skips what another reader has deleted when it undoes", () => {
    const sheet = stations();
    sheet.set("type", "stations", [{ row: "r2", column: "cycle_s", value: "9" }]);
    sheet.load([
      {
        decimal_comma: false,
        name: "stations",
        columns: ["station", "cycle_s"],
        rows: [{ id: "r0", line: 2, cells: ["A", "60"] }],
      },
    ]);
    expect(sheet.undo()).toMatchObject({ patches: [], skipped: 1 });
  });

  it("replays an outbox that was stored", () => {
    const sheet = stations();
    const { patches } = sheet.paste("stations", view, columns, 2, 0, [
      ["C2", "62"],
      ["D", "63"],
    ]);
    const later = stations();
    later.replay(patches);
    expect(cells(later)).toEqual(cells(sheet));
  });

  it("pastes 10,000 cells in a moment", () => {
    const sheet = new Sheet();
    const rows = Array.from({ length: 2000 }, (_, i) => ({ id: `r${i}`, line: i + 2, cells: ["", "", "", "", ""] }));
    const wide = ["a", "b", "c", "d", "e"];
    sheet.load([{ decimal_comma: false, name: "t", columns: wide, rows }]);
    const block = rows.map((_, i) => wide.map((c) => `${c}${i}`));
    const start = performance.now();
    sheet.paste(
      "t",
      rows.map((row) => row.id),
      wide,
      0,
      0,
      block,
    );
    expect(performance.now() - start).toBeLessThan(1000);
    expect(sheet.table("t")?.rows[1999]?.cells[4]).toBe("e1999");
  });
});

describe("numbers", () => {
  it.each([
    ["162,5", ",", "162.5"],
    ["1.234,5", ",", "1234.5"],
    ["1,234.5", ",", "1234.5"],
    ["1 234,5", ",", "1234.5"],
    ["12,5 min", ".", "12.5 min"],
    ["85 %", ".", "85 %"],
    ["−3,5", ",", "-3.5"],
    ["1,234", ",", "1.234"],
    ["1,234", ".", "1234"],
    ["1.234", ",", "1234"],
    ["0,125", ".", "0.125"],
    ["0.125", ",", "0.125"],
    ["1.234.567", ".", "1234567"],
    ["FR-02", ",", "FR-02"],
    ["two", ",", "two"],
    ["", ",", ""],
  ] as const)("reads %s with %s as %s", (text, mark, book) => expect(toBook(text, mark)).toBe(book));

  it("lets the sure cells of a block decide on the doubtful ones", () => {
    expect(markOfBlock(["1,234", "7,5"], ".")).toBe(",");
    expect(markOfBlock(["1,234", "7.5"], ",")).toBe(".");
    expect(markOfBlock(["1,234"], ",")).toBe(",");
    expect(markOfBlock(["7,5", "7.5"], ",")).toBeNull();
    expect(toBook("1,234", null)).toBe("1,234");
  });

  it("keeps the comma of a table that was read with commas", () => {
    expect(toBook("162.5", ".", ",")).toBe("162,5");
    expect(toReader("162,5", ".", ",")).toBe("162.5");
    expect(toReader("162,5", ",", ",")).toBe("162,5");
  });

  it("shows a reader their own decimal mark and takes it back", () => {
    expect(toReader("162.5", ",")).toBe("162,5");
    expect(toReader("06:00", ",")).toBe("06:00");
    expect(toBook(toReader("0.06", ","), ",")).toBe("0.06");
  });
});

describe("a table copied with its heads", () => {
  const known = ["station", "shop", "cycle_s", "mtbf_min"];

  it("finds its columns by name, however they are written and in whatever order", () => {
    const block = [
      ["Shop", "Station", "cycle s"],
      ["trim", "T1", "320"],
    ];
    expect(withHeads(block, known)).toEqual({ columns: ["shop", "station", "cycle_s"], rows: [["trim", "T1", "320"]] });
  });

  it("brings columns of the reader's own along", () => {
    const block = [
      ["station", "cycle_s", "owner"],
      ["T1", "320", "day shift"],
    ];
    expect(withHeads(block, known)?.columns).toEqual(["station", "cycle_s", "owner"]);
  });

  it("is cells alone where the first row names nothing known, a name is missing or stands twice", () => {
    const row = ["T1", "trim", "320"];
    expect(withHeads([row, row], known)).toBeNull();
    expect(withHeads([["station", "", "shop"], row], known)).toBeNull();
    expect(withHeads([["station", "station"], row], known)).toBeNull();
    expect(withHeads([["station", "shop"]], known)).toBeNull();
  });

  it("does not take one cell that is called as a column for heads", () => {
    expect(
      withHeads(
        [
          ["shop", "Dunlin", "4"],
          ["trim", "Curlew", "2"],
        ],
        known,
      ),
    ).toBeNull();
  });
});

describe("the clipboard", () => {
  it("reads what spreadsheets write", () => {
    expect(readBlock("a\tb\r\nc\td\r\n")).toEqual([
      ["a", "b"],
      ["c", "d"],
    ]);
    expect(readBlock('"two\nlines"\t"say ""so"""\n\t')).toEqual([
      ["two\nlines", 'say "so"'],
      ["", ""],
    ]);
  });

  it("reads back what it writes", () => {
    const block = [
      ["a\tb", 'c"d', ""],
      ["e\nf", "", "g"],
    ];
    expect(readBlock(writeBlock(block))).toEqual(block);
  });
});

describe("rows on screen", () => {
  it("sorts numbers as numbers and leaves the book alone", () => {
    const sheet = stations();
    sheet.set("type", "stations", [{ row: "r0", column: "cycle_s", value: "100" }]);
    const table = sheet.table("stations");
    if (!table) throw new Error("no table");
    expect(rowsShown(table, {}, { column: "cycle_s", down: false })).toEqual([1, 2, 0]);
    expect(rowsShown(table, { cycle_s: ">61" }, null)).toEqual([0, 2]);
    expect(rowsShown(table, { station: "=b" }, null)).toEqual([1]);
    expect(table.rows.map((row) => row.id)).toEqual(view);
  });
});

describe("a first look at a cell", () => {
  const column = (more: Partial<Column>): Column => ({
    name: "x",
    kind: "number",
    unit: "s",
    usual: "none",
    legal: null,
    doc: "what it is",
    ...more,
  });
  const none = (): null => null;
  it("names the range", () => {
    const above = column({ legal: { from: 0, above: true, to: 1000 } });
    expect(checkCell("0", above, none)?.expected).toBe("a number in s above 0 to 1000");
    expect(checkCell("12", above, none)).toBeNull();
    expect(checkCell("12 min", above, none)).toBeNull();
    expect(checkCell("fast", above, none)?.mend).toContain("number");
  });
  it("offers the nearest name", () => {
    const ref = column({ kind: { ref: "stations" } });
    const found = checkCell("FR-02 framing gat", ref, () => new Set(["FR-02 framing gate", "FR-03 tack out"]));
    expect(found?.nearest).toBe("FR-02 framing gate");
  });
  it("asks for what is needed", () => {
    expect(checkCell("", column({ usual: "needed" }), none)?.found).toBe("an empty cell");
    expect(checkCell("", column({}), none)).toBeNull();
  });
});
