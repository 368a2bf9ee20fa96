import { describe, expect, it } from "vitest";
import type { LearnedCell, LogWords, Reading, RoleColumns } from "../../api/types";
import { Sheet } from "../../sheet/sheet";
import {
  alarm,
  chanceOf,
  decimals,
  isClock,
  lossName,
  mapped,
  missing,
  onPage,
  query,
  takeOver,
  theirs,
  warnings,
} from "./happened";

const NOTHING: LogWords = { columns: {}, states: {}, stations: {}, products: {}, causes: {}, results: {}, zone: "" };
const ROLES: RoleColumns[] = [{ role: "states", needed: ["station", "from", "state"], may: ["to"] }];
const FILE = { name: "shift.csv", columns: ["Maschine", "from", "Status"] };

describe("columns of another log", () => {
  it("are read by their own names until they are mapped", () => {
    expect(theirs(FILE, NOTHING, "from")).toBe("from");
    expect(missing(FILE, "states", NOTHING, ROLES)).toEqual(["station", "state"]);
    const once = mapped(FILE, mapped(FILE, NOTHING, "station", "Maschine"), "state", "Status");
    expect(missing(FILE, "states", once, ROLES)).toEqual([]);
    expect(once.columns).toEqual({ Maschine: "station", Status: "state" });
  });
  it("mean one thing each: a column that is mapped anew loses its old meaning", () => {
    const first = mapped(FILE, NOTHING, "station", "Maschine");
    const then = mapped(FILE, first, "station", "Status");
    expect(then.columns).toEqual({ Status: "station" });
    expect(theirs(FILE, mapped(FILE, then, "station", ""), "station")).toBe("");
  });
  it("of files left aside lack nothing", () => expect(missing(FILE, null, NOTHING, ROLES)).toEqual([]));
});

describe("what is said of a log", () => {
  const reading = {
    refused: [],
    stations_seen: 1,
    stations: 6,
    days: [{ date: "2026-03-02", plan: 1, made: null, whole: false }],
  } as unknown as Reading;
  it("warns of one station only and of days that are not whole", () => {
    expect(warnings(reading).map((said) => said.slice(0, 20))).toEqual([
      "Rows of one station ",
      "No day of the log is",
    ]);
    expect(warnings({ ...reading, stations_seen: 6, days: [{ date: "", plan: 1, made: 1, whole: true }] })).toEqual([]);
  });
  it("points to the page where the command line points to a file", () => {
    expect(onPage("such rows were left out; map the word in log_map.csv: state,theirs,ours")).toBe(
      "such rows were left out; map the word below",
    );
    expect(onPage("give the log of this plant, or map its names in log_map.csv: station,theirs,ours")).toBe(
      "give the log of this plant, or map its names below",
    );
    expect(onPage("name it so, or map it in log_map.csv: column,theirs,station")).toBe("map it below");
  });
  it("names losses as the trade does", () => {
    expect(lossName({ kind: "stop", cause: "tip change" })).toBe("stop, tip change");
    expect(lossName({ kind: "stop", cause: "stop" })).toBe("stop");
  });
  it("knows clocks, and leaves empty questions out", () => {
    expect(["Z", "+01:00", "+0530", "-05:00 us", ""].every(isClock)).toBe(true);
    expect(isClock("Berlin")).toBe(false);
    expect(query({ merge: null, day: "2026-03-02" })).toBe("?day=2026-03-02");
  });
  it("shows as many digits as tell something", () =>
    expect([0.9712, 12.3, 123, 1234].map(decimals)).toEqual([4, 2, 1, 0]));
});

describe("values taken over", () => {
  const cell = (n: number, row: number, text: string | null, table = "stations", column = "mtbf_min"): LearnedCell =>
    ({ n, table, row, column, text, station: `station ${row}`, cause: null }) as unknown as LearnedCell;
  const sheet = (decimal_comma: boolean): Sheet => {
    const made = new Sheet();
    made.load([
      {
        name: "stations",
        columns: ["station", "mtbf_min"],
        decimal_comma,
        rows: [
          { id: "a", line: 2, cells: ["weld", "100"] },
          { id: "b", line: 3, cells: ["trim", ""] },
        ],
      },
    ]);
    return made;
  };
  it("go into the cells of their rows, in the table's own way of writing", () => {
    const book = sheet(true);
    const done = takeOver(book, [cell(1, 2, "123.4"), cell(2, 3, null), cell(3, 9, "1")]);
    expect(done).toHaveLength(1);
    expect(book.value("stations", "a", "mtbf_min")).toBe("123,4");
    expect(book.value("stations", "b", "mtbf_min")).toBe("");
  });
  it("add a column where the book has none", () => {
    const book = sheet(false);
    takeOver(book, [cell(1, 2, "0.97", "stations", "first_time_ok")]);
    expect(book.value("stations", "a", "first_time_ok")).toBe("0.97");
  });
});

describe("a trend of stops", () => {
  const cell = (laplace: number, laplace_p: number, handbook: number, handbook_p: number): LearnedCell =>
    ({ evidence: 20, trend: { laplace, laplace_p, handbook, handbook_p } }) as unknown as LearnedCell;

  it("is told by the test that alarms, with its own chance and its own direction", () => {
    expect(alarm(cell(2.9, 0.004, 30, 0.2))).toEqual({ test: "Laplace", p: 0.004, more: true });
    expect(alarm(cell(0.8, 0.41, 80, 0.0003))).toEqual({ test: "MIL-HDBK-189", p: 0.0003, more: false });
    expect(alarm(cell(-0.8, 0.41, 15, 0.0003))?.more).toBe(true);
    expect(alarm(cell(1, 0.3, 38, 0.7))).toBeNull();
    expect(alarm({ trend: null } as unknown as LearnedCell)).toBeNull();
  });

  it("is not told with more noughts than one reads", () => {
    expect([chanceOf(3.6e-8), chanceOf(0.0087)]).toEqual(["p < 0.0001", "p = 0.0087"]);
  });
});
