/** Logs on the page: how columns are mapped, which cells are taken over, what losses are called. */
import type {
  DayLoss,
  DefectKind,
  FileRole,
  Id,
  LearnedCell,
  LogEntry,
  LogNote,
  LogState,
  QualityResult,
  LogWords,
  LossKind,
  Reading,
  RoleColumns,
} from "../../api/types";
import { num } from "../../state/format";
import type { Done, Sheet } from "../../sheet/sheet";

export const PAGES = [
  ["day", "The day"],
  ["stops", "Stops"],
  ["figures", "Figures"],
  ["truth", "Book against truth"],
  ["fits", "Fits"],
  ["trend", "Trend"],
  ["log", "The log"],
] as const;
export type PageName = (typeof PAGES)[number][0];

/** What a page of a log is given. */
export interface LogProps {
  revision: Id;
  log: LogEntry;
  read: Reading;
  how: { merge: string | null; short: string | null };
  /** What an address within the view keeps. */
  kept: Record<string, string>;
}

export const STATES: readonly (readonly [LogState, string])[] = [
  ["working", "works on a job"],
  ["setup", "sets up"],
  ["stopped", "stopped, being repaired"],
  ["waiting", "stopped, nobody there yet"],
  ["starved", "free, no job comes"],
  ["blocked", "done, the job cannot leave"],
  ["off", "break, planned upkeep, no shift"],
];

export const RESULTS: readonly (readonly [QualityResult, string])[] = [
  ["ok", "right"],
  ["rework", "put right, then goes on"],
  ["scrap", "lost"],
];

export const ROLES: readonly (readonly [FileRole, string])[] = [
  ["states", "states of stations"],
  ["counts", "counts"],
  ["quality", "quality events"],
  ["genealogy", "genealogy of items"],
  ["events", "event log"],
];

/** What each of our columns holds, in a few words. */
export const COLUMN_WORDS: Record<string, string> = {
  station: "which station or line",
  unit: "which of like units",
  from: "begin of the state",
  to: "end of the state",
  state: "what the station was at",
  cause: "why",
  product: "product, options behind +",
  item: "the job in work",
  time: "when",
  made: "jobs done since the last count",
  rework: "of these, sent to rework",
  scrap: "of these, lost",
  result: "ok, rework or scrap",
  began: "when it began",
  made_of: "items it is made of, with ; between",
};

interface Columns {
  name: string;
  columns: string[];
}

/** Which of a file's columns is read as ours: the one mapped to it, else the one of that name. */
export function theirs(file: Columns, words: LogWords, ours: string): string {
  const mapped = file.columns.find((column) => words.columns[column] === ours);
  return mapped ?? (file.columns.includes(ours) && words.columns[ours] === undefined ? ours : "");
}

/** The words with a column of a file read as ours; an empty name reads none. */
export function mapped(file: Columns, words: LogWords, ours: string, theirName: string): LogWords {
  const columns = Object.fromEntries(
    Object.entries(words.columns).filter(
      ([name, to]) => name !== theirName && !(to === ours && file.columns.includes(name)),
    ),
  );
  if (theirName !== "" && theirName !== ours) columns[theirName] = ours;
  return { ...words, columns };
}

/** The columns that a file of a kind lacks. */
export function missing(
  file: Columns,
  role: FileRole | null,
  words: LogWords,
  roles: readonly RoleColumns[],
): string[] {
  const needed = roles.find((one) => one.role === role)?.needed ?? [];
  return needed.filter((ours) => theirs(file, words, ours) === "");
}

/** Whether a text is an offset such as `+01:00`, perhaps with the rule of summer time; the server decides. */
export const isClock = (text: string): boolean =>
  /^(z|[+-]\d\d(:?\d\d)?)(\s+(eu|us))?$/i.test(text.trim()) || text.trim() === "";

/** A small question about a log as the end of an address; what is empty is left out. */
export function query(of: Record<string, string | null | undefined>): string {
  const text = new URLSearchParams(
    Object.entries(of).flatMap(([name, value]) => (value ? [[name, value]] : [])),
  ).toString();
  return text === "" ? "" : `?${text}`;
}

const KINDS: Record<LossKind, string> = {
  stop: "stop",
  slow: "slow cycles",
  starved: "starved time",
  blocked: "blocked time",
  reject: "work not right",
  others: "all smaller losses",
};

export const lossName = (loss: { kind: LossKind; cause: string }): string =>
  loss.cause === "" || loss.cause === "stop" ? KINDS[loss.kind] : `${KINDS[loss.kind]}, ${loss.cause}`;

export const lossKey = (loss: { station: string; kind: LossKind; cause: string }): string =>
  [loss.station, loss.kind, loss.cause].join("\n");

export const noteOf = (notes: readonly LogNote[], loss: DayLoss): LogNote | undefined =>
  notes.find((note) => lossKey(note) === lossKey(loss));

const DEFECTS: Record<DefectKind, string> = {
  bad_row: "rows that are none",
  bad_stamp: "stamps that cannot be read",
  bad_number: "numbers that cannot be read",
  unknown_station: "unknown stations",
  unknown_unit: "unknown units",
  unknown_state: "unknown states",
  unknown_result: "unknown results",
  unknown_product: "unknown products",
  clock_back: "clock put back: a row ends before it begins",
  clock_forward: "clock put forward, or the log stood: a leap of over a week",
  missing_hour: "times in the hour left out in spring",
  doubled_hour: "times in the hour that comes twice in autumn",
  duplicate: "the same row again",
  contradiction: "two rows of one state with two causes, products or items",
  out_of_order: "out of order",
  overlap: "two states at once",
  gap: "no state in planned time",
  long_row: "clock put forward: a row is longer than a week",
  unpaired_event: "events without their begin or end",
  many_items: "events of several objects, none of them a product",
  unknown_item: "parts without a row of their own",
};

export const defectName = (kind: DefectKind): string => DEFECTS[kind];

/** A way out as the page offers it: words are mapped on the page, not in a file. */
export const onPage = (mend: string): string =>
  mend.replace(/(name it so, or )?map (it|the \w+|its names) in log_map\.csv: \w+,theirs,\w+/, "map $2 below");

/** A log that was read but says little: why. */
export function warnings(reading: Reading): string[] {
  const said: string[] = [];
  if (reading.refused.length === 0 && reading.stations_seen === 1 && reading.stations > 1)
    said.push(
      `Rows of one station only, of ${reading.stations}: what follows speaks of it alone, and the cars that its losses cost are those of a plant whose other stations ran as they would.`,
    );
  else if (reading.refused.length === 0 && reading.stations_seen < reading.stations)
    said.push(`Rows of ${reading.stations_seen} of ${reading.stations} stations: what follows speaks of these only.`);
  if (reading.days.length > 0 && !reading.days.some((day) => day.whole))
    said.push("No day of the log is whole: the day shown lacks some of its hours.");
  return said;
}

/** Columns of the book in words. */
export const CELLS: Record<string, string> = {
  cycle_s: "cycle, s",
  mtbf_min: "time between stops, min",
  mttr_min: "time to repair, min",
  first_time_ok: "right at the first try",
  scrap: "scrap",
  change_min: "change, min",
  spread: "spread of cycles",
  repair_spread: "spread of repairs",
};

export const cellName = (cell: LearnedCell): string => `${cell.station}${cell.cause ? ` (${cell.cause})` : ""}`;

/** A trend less likely by chance than this is one. */
const UNLIKELY = 0.01;

/** The surer of a cell's two tests for a trend, where one alarms: its name, how often chance does so, whether stops come more often. */
export function alarm(cell: LearnedCell): { test: string; p: number; more: boolean } | null {
  const trend = cell.trend;
  if (!trend || Math.min(trend.laplace_p, trend.handbook_p) >= UNLIKELY) return null;
  if (trend.laplace_p <= trend.handbook_p) return { test: "Laplace", p: trend.laplace_p, more: trend.laplace > 0 };
  // The handbook's score is two a stop where they come evenly, and less where they come late.
  return { test: "MIL-HDBK-189", p: trend.handbook_p, more: trend.handbook < 2 * cell.evidence };
}

/** How often chance does so, in words. */
export const chanceOf = (p: number): string => (p < 0.0001 ? "p < 0.0001" : `p = ${num(p, 4)}`);

/** The edits that take values over into the book: one step for each table, saved, merged and undone as any other. */
export function takeOver(sheet: Sheet, cells: readonly LearnedCell[]): Done[] {
  const done: Done[] = [];
  for (const table of new Set(cells.map((cell) => cell.table))) {
    const own = cells.filter((cell) => cell.table === table);
    for (const column of new Set(own.map((cell) => cell.column))) {
      if (sheet.table(table)?.columns.includes(column) === false) done.push(sheet.addColumn(table, column));
    }
    const ids = new Map(sheet.table(table)?.rows.map((row) => [row.line, row.id]));
    const comma = sheet.table(table)?.decimalComma ?? false;
    const values = own.flatMap((cell) => {
      const id = ids.get(cell.row);
      return id === undefined || cell.text === null
        ? []
        : [{ row: id, column: cell.column, value: comma ? cell.text.replace(".", ",") : cell.text }];
    });
    done.push(
      sheet.set(
        own.length === 1 ? `what the log says of ${cellName(own[0]!)}` : `what the log says of ${own.length} cells`,
        table,
        values,
      ),
    );
  }
  return done;
}

/** Digits as many as tell something. */
export const decimals = (value: number | null): number => {
  const size = Math.abs(value ?? 0);
  return size >= 1000 ? 0 : size >= 100 ? 1 : size >= 1 ? 2 : 4;
};
