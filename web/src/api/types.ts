// Made from the Rust types by `cargo run -p linewright-desk --features schema
// --example contract`; changes belong there. No figure is computed here.

/** The number of a variant, a revision or a job. */
export type Id = number;

/** The answer. */
export interface Answer {
  /** Blocked and starved over every link of cars. */
  arrows: Arrow[];
  /** Banks and stocks. */
  banks: Bank[];
  /** From needed to made, on the first suspect. */
  bridge: Bridge | null;
  /** Coil-to-car time. */
  coil_to_car: CoilToCar;
  /** What holds the plant back, the worst first. */
  constraint: Suspect[];
  /** Cars out and content, day by day over the weeks measured. */
  days: Day[];
  /**
   * How the plant locks itself up, if it does. The figures then hold the
   * time in which it stood still.
   */
  deadlock: Deadlock | null;
  /** Cars, sub-assemblies and pieces in the plant. */
  jobs: Interval;
  /** Lots, stocks and start levels used. */
  lots: LotPlan[];
  /** Cars a week made. */
  made: Interval;
  /** Cars a week needed. */
  needed: number;
  /** What is worth knowing. */
  notes: Problem[];
  /**
   * Share of the critical path between stations: moves, carriers on their
   * way back, closed hours.
   */
  on_the_way: Interval;
  /** The same by product. */
  products: ProductRate[];
  /** How every figure here was simulated. */
  run: RunFacts;
  /**
   * The main figures replication by replication, for comparing with another
   * answer pair by pair.
   */
  samples: Sample[];
  /** The answer in a sentence. */
  sentence: string;
  /** What each shop sent on, from coil to car. */
  shops: ShopOutput[];
  /** The same by stage, from coil to car. */
  stages: StageContent[];
  /** The states of every station. */
  stations: StationStates[];
  /** Whether the needed rate is made. */
  verdict: Verdict;
}

/**
 * The arrow over a link (arrow rule on blocked and starved, S.-Y. Chiang,
 * C.-T. Kuo and S. M. Meerkov, Mathematical Problems in Engineering 6 (2000),
 * from memory). An explanation, not the proof.
 */
export interface Arrow {
  /** Share of its open time in which the station above is blocked. */
  blocked: number;
  /** The station above. */
  from: string;
  /** Share of its open time in which the station below is starved. */
  starved: number;
  /** The station below. */
  to: string;
  /** Where the arrow points. */
  toward: Toward;
}

/** The job of a run. */
export interface Asking {
  /** Its number. */
  job: number;
}

/** Where a row stands; with a column's name it is the provenance of a figure. */
export interface At {
  /** The row as a spreadsheet shows it; the header is 1. */
  row: number;
  /** The table. */
  table: Table;
}

/** A bank: a link with room for several, or a stock. */
export interface Bank {
  /** Its row in `links` or `parts`. */
  at: At;
  /** Jobs or pieces in it, on average. */
  content: Interval;
  /** Share of the time in which it is empty. */
  empty: Interval;
  /** The station above. */
  from: string;
  /** Share of the time in which it is full. */
  full: Interval;
  /** Places; none means without limit. */
  holds: number | null;
  /** The station below. */
  to: string;
  /** What it is. */
  way: Way;
}

/** A revision's book as a grid shows it. */
export interface BookReply {
  /** The book's name. */
  name: string;
  /** All that is wrong with it; rows are named by line. */
  problems: Problem[];
  /** The revision. */
  revision: Revision;
  /** Its tables in order. */
  tables: BookTable[];
}

/** A row of it. */
export interface BookRow {
  /** Its cells, as many as there are headers. */
  cells: string[];
  /** The row's id: patches name it so. */
  id: string;
  /** Its number as a spreadsheet shows it: problems and origins name it so. */
  line: number;
}

/** A table of it. */
export interface BookTable {
  /** Its headers. */
  columns: string[];
  /** Whether a comma in its numbers is a decimal comma. */
  decimal_comma: boolean;
  /** Its name. */
  name: string;
  /** Its rows. */
  rows: BookRow[];
}

/** From needed to made in cars a week. */
export interface Bridge {
  /** Its clean seconds a car. */
  clean_s_per_car: number;
  /** Its seconds a car with rework and scrap. */
  gross_s_per_car: number;
  /** Cars a week made. */
  made: Interval;
  /** Needed cars a week. */
  needed: number;
  /** The parts, in order; needed plus all parts is made. */
  parts: BridgePart[];
  /** The station on which the bridge stands. */
  station: string;
}

/** One part of the bridge. */
export interface BridgePart {
  /** Cars a week that it adds (or, below zero, takes). */
  cars: Interval;
  /** The cause. */
  cause: Cause;
}

/** A fleet's part of the plan. */
export interface CarrierPlan {
  /** Good cars a week that it would allow alone. */
  alone: Planned | null;
  /** Its row. */
  at: At;
  /** The fleet. */
  carrier: string;
  /** How many there are. */
  count: number;
  /** Needed over count; above 1 the fleet is short. */
  load: number;
  /** How many the plan needs, whole. */
  needed: Planned;
}

/** A cause in the bridge, in the order in which it is told. */
export type Cause = "open_hours" | "stops" | "crew_waits" | "changeovers" | "starved" | "carrier_waits" | "blocked" | "rework_and_scrap" | "remainder";

/** A cell that differs. A text that is absent means that the column is. */
export interface ChangedCell {
  /** The text in the first revision. */
  a: string | null;
  /** The text in the second. */
  b: string | null;
  /** The column's header. */
  column: string;
  /** The row's key, for people. */
  key: string;
  /** The row's id. */
  row: string;
  /** The table's name. */
  table: string;
}

/**
 * Coil-to-car time in days of 24 hours: from the oldest piece of a car (the
 * coil opened first, or the car's own release) until the car leaves.
 */
export interface CoilToCar {
  /** One car in ten takes less. */
  p10: Interval;
  /** Half take less. */
  p50: Interval;
  /** Nine in ten take less. */
  p90: Interval;
  /** The whole distribution. */
  spread: Spread;
  /** The target. */
  target_days: number;
  /** Whether nine cars in ten keep the target. */
  verdict: Verdict;
}

/** One column of a table. */
export interface Column {
  /** What the column means, in a sentence or two. */
  doc: string;
  /** The kind of cell. */
  kind: Kind;
  /** The legal range, of numbers only. */
  legal: Legal | null;
  /** The header. */
  name: string;
  /** The unit's symbol, empty if none. */
  unit: string;
  /** What an empty cell means. */
  usual: Usual;
}

/** Two revisions compared. */
export interface Compare {
  /** Cells of rows that both have. */
  cells: ChangedCell[];
  /** How the second was simulated, and the first but for its warm-up. */
  how: RunFacts | null;
  /** Figures of the plans that differ; none where a book cannot be planned. */
  plan: PlanDifference[] | null;
  /** Rows of the second only. */
  rows_added: OneSidedRow[];
  /** Rows of the first only. */
  rows_removed: OneSidedRow[];
  /** Figures of the answers; none where they were not run alike. */
  run: Difference[] | null;
}

/**
 * A cell that two people changed to different texts. A text that is absent
 * means that the row is.
 */
export interface Conflict {
  /** What stood there when the edit began. */
  base: string | null;
  /** The column's header. */
  column: string;
  /** The row's key, for people. */
  key: string;
  /** The row's id. */
  row: string;
  /** The table's name. */
  table: string;
  /** What stands there now. */
  theirs: string | null;
  /** What this edit would write. */
  yours: string | null;
}

/** A day of the measured weeks, over all replications. */
export interface Day {
  /** Cars finished in it. */
  cars: Interval;
  /**
   * When it begins, in hours from the start of the run, which is Monday
   * 00:00; the warm-up lies before the first day.
   */
  from_h: number;
  /** Cars, sub-assemblies and pieces in the plant: the day's mean. */
  jobs: Interval;
  /** When it ends. */
  to_h: number;
}

/** Stations that wait for each other for ever. */
export interface Deadlock {
  /** The links that leave them. */
  links: DeadlockLink[];
  /** Replications in which it came to that. */
  replications: number;
  /** What happens, in a sentence. */
  sentence: string;
  /** Hours after the start when the first of them stood still. */
  since_h: number;
  /** The stations. */
  stations: string[];
  /**
   * Position in `links` of the one that a place more would free; none when
   * the stations wait for something else than places.
   */
  widen: number | null;
}

/** A link on which a station that waits is, or would be, blocked. */
export interface DeadlockLink {
  /** Its row. */
  at: At;
  /** Whether it brings something for some products only, to be joined. */
  for_some: boolean;
  /** The station above. */
  from: string;
  /** Places; none means without limit. */
  holds: number | null;
  /** Whether it is the way to rework. */
  rework: boolean;
  /** The station below. */
  to: string;
}

/** A figure of two answers. */
export interface Difference {
  /** Its value in the first answer. */
  a: Interval;
  /** Its value in the second. */
  b: Interval;
  /** Second less first, over the pairs. */
  difference: Interval;
  /** What it is. */
  figure: string;
  /** Whether the interval leaves zero out; if not, the difference may be luck. */
  shown: boolean;
  /** Its unit; empty for plain numbers. */
  unit: string;
}

/** Patches against a revision. */
export interface Edit {
  /** The name given. */
  author: string;
  /** The revision the author saw. */
  base: number;
  /** The note. */
  note?: string;
  /** The steps, taken in order. */
  patches: Patch[];
}

/** What became of an edit. */
export interface EditReply {
  /** Whether others' edits were merged in. */
  merged: boolean;
  /** What the change means, where that was asked for. */
  outcome?: Outcome | null;
  /** The new head; the old one when nothing changed. */
  revision: Revision;
}

/** The body of every error. */
export interface ErrorBody {
  /** The cells that others have changed, where it is an edit. */
  conflicts?: Conflict[];
  /** What went wrong. */
  error: ErrorFacts;
  /** The head with their changes. */
  head?: Revision | null;
  /** The book's problems, where it is the book that cannot be computed. */
  problems?: Problem[];
}

/** An error in words. */
export interface ErrorFacts {
  /** Stays the same across versions. */
  code: string;
  /** What to do. */
  mend: string;
  /** What went wrong. */
  message: string;
}

/** A figure with everything needed to check it by hand. */
export interface Figure {
  /** Its id, unique in the plan, as [`Origin::Figure`] names it. */
  id: string;
  /** What it is, in words. */
  title: string;
  /** Its unit; empty for plain numbers and shares. */
  unit: string;
  /** Its value. */
  value: number;
  /** How it came about. */
  working: Working;
}

/** A declared formula. */
export interface Formula {
  /** What it tells, in a paragraph. */
  about: string;
  /** What to mind where people can get hurt, or where money is lost often. */
  caution: string | null;
  /** The formula in symbols. */
  expression: string;
  /** Its name in kebab-case. */
  name: string;
  /** What must hold between the inputs. */
  needs: string[];
  /** The results. */
  results: Symbol[];
  /** The part of the plant or the trade it belongs to. */
  shop: string;
  /** The published source. */
  source: string;
  /** The inputs. */
  symbols: Symbol[];
  /** Its title. */
  title: string;
}

/** That the program is there. */
export interface Health {
  /** The engine's: answers of another engine are not shown. */
  engine: string;
  /** The store's schema. */
  schema: number;
  /** The program's version. */
  version: string;
}

/** The run of heavy cars that carries a station's work furthest out of it. */
export interface HeavyRun {
  /**
   * Whether an option's spacing rule limits the run; else chance does, at
   * [`HeavyRun::QUANTILE`] of the weeks.
   */
  by_rule: boolean;
  /** The products or the option that make the cars heavy. */
  cars: string;
  /** Cycle of a heavy car. */
  cycle_s: number;
  /** Seconds of work behind after the run. */
  overrun_s: Planned;
  /** Other cars that make it good, at least; none when they cannot. */
  recovery: Planned | null;
  /** Heavy cars in a row that one unit gets. */
  run: Planned;
  /** Share of the station's jobs. */
  share: number;
}

/** What became of an import. */
export interface Imported {
  /** What the reader and the checks say. */
  problems: Problem[];
  /** The new head; the old one when nothing changed. */
  revision: Revision;
}

/** A mean with the half-width of its confidence interval. */
export interface Interval {
  /**
   * Half-width at the level asked for; infinite with fewer than two
   * replications (written as null in JSON), because one run says nothing
   * about its own spread.
   */
  half_width: number | null;
  /** Mean over the replications; not a number of none (null in JSON). */
  mean: number;
}

/** A job as the page sees it. */
export interface Job {
  /** Replications done. */
  done: number;
  /** Its number. */
  id: number;
  /** What is run. */
  kind: RunKind;
  /** What is going on, or what went wrong. */
  message: string;
  /** Replications in all, as far as is known. */
  of: number;
  /** The revision it was first asked for. */
  revision: number;
  /** Where it is. */
  state: JobState;
}

/** Where a job is. */
export type JobState = "queued" | "running" | "done" | "cancelled" | "failed";

/** The kind of text a cell holds. */
export type Kind = "text" | {
  ref: Table;
} | {
  refs: Table;
} | "list" | "number" | "count" | "share" | "yes_no" | {
  word: string[];
} | "clock" | "weekdays" | "breaks" | "places";

/** The planned time from coil to finished car on the longest way. */
export interface LeadTime {
  /** What the figure is, for a reader. */
  meaning: string;
  /** The stages of the longest way, from coil to car. */
  stages: StageAge[];
  /** Days the plant allows itself. */
  target_days: number;
  /** Days from coil to finished car, with every place filled. */
  total_days: Planned;
}

/** The legal range of a number. */
export interface Legal {
  /** Whether the lowest number itself is illegal. */
  above: boolean;
  /** The lowest number. */
  from: number;
  /** The highest number. */
  to: number | null;
}

/** The time that a trial shortens. */
export type Lever = "cycle" | "repair" | "changeover";

/** That somebody is logged in. */
export interface LoggedIn {
  /** For how many seconds. */
  seconds: number;
}

/** The token typed in. */
export interface Login {
  /** The token. */
  token: string;
}

/** A figure of a lot: from the book, or computed as the module says. */
export interface LotFigure {
  /** Whether the book gives it. */
  given: boolean;
  /** Pieces. */
  pieces: number;
}

/** How a part is made in lots on one line. */
export interface LotPlan {
  /** Its row. */
  at: At;
  /** Name of the line in the network. */
  line: string;
  /** Pieces in a lot. */
  lot: LotFigure;
  /** The part. */
  part: string;
  /** Seconds a piece. */
  piece_s: number;
  /** A lot may start when so many pieces are left. */
  start_below: LotFigure;
  /** Places for pieces. */
  stock: LotFigure;
  /** Good pieces used in a week of the planned cars. */
  used_per_week: number;
}

/** One part on a line. */
export interface LotRun {
  /** Blanks are cut, else panels are pressed. */
  blanks: boolean;
  /** Pieces in a lot. */
  lot: Planned;
  /** Lots a week. */
  lots: Planned;
  /** The part. */
  part: string;
  /** Pieces a week, scrap included. */
  pieces: Planned;
  /** Hours of running a week. */
  run_h: Planned;
  /** Days a piece lies at most in the stock the line fills. */
  worst_age_days: Planned;
}

/** A run to be made. */
export interface NewRun {
  /** What is run. */
  kind: RunKind;
  /** What differs from the kind's own settings. */
  settings?: OwnSettings | null;
}

/** A variant to be made. */
export interface NewVariant {
  /** Who makes it. */
  author: string;
  /** The revision it begins with; none for an empty book. */
  from_revision?: number | null;
  /** Its name, not used before. */
  name: string;
  /** Why. */
  note?: string;
}

/** A row that only one of the revisions has. */
export interface OneSidedRow {
  /** Its cells by header, empty ones left out. */
  cells: Record<string, string>;
  /** The row's key, for people. */
  key: string;
  /** The row's id. */
  row: string;
  /** The table's name. */
  table: string;
}

/** Where a value came from. */
export type Origin = "given" | {
  cell: {
    /** The column's header. */
    column: string;
    /** The row, counted as the table's reader counts. */
    row: number;
    /** The table's name. */
    table: string;
  };
} | {
  figure: string;
} | {
  usual: {
    /** The column's header. */
    column: string;
    /** The table's name. */
    table: string;
  };
} | {
  several: Origin[];
};

/**
 * What a revision's book says of itself and of its plan: all that a page needs
 * after a key, in one answer.
 */
export interface Outcome {
  /** The plan without its workings; none where the book cannot be planned. */
  plan: RatePlan | null;
  /** Why there is no plan. */
  plan_problems: Problem[];
  /** All that is wrong with the book; rows are named by line. */
  problems: Problem[];
}

/** Settings of one's own; what is absent is the kind's. */
export interface OwnSettings {
  /** Independent replications, 2 to 1,000. */
  replications?: number | null;
  /** The seed of all streams. */
  seed?: number | null;
  /** Suspects put to trial, at most 10. */
  trials?: number | null;
  /** Hours cut off before; absent has them found. */
  warm_up_h?: number | null;
  /** Weeks measured in each, 1 to 52. */
  weeks?: number | null;
}

/** One step of an edit; steps are taken in order. */
export type Patch = {
  set: {
    /** The column's header. */
    column: string;
    /** The row's id. */
    row: string;
    /** The table's name. */
    table: string;
    /** The text, as typed. */
    value: string;
  };
} | {
  add_row: {
    /** The row above; none for the top of the table. */
    after: string | null;
    /** Text by header; cells not named are empty. */
    cells: Record<string, string>;
    /** The new row's id, made by the client; never used in this table. */
    row: string;
    /** The table's name. */
    table: string;
  };
} | {
  remove_row: {
    /** The row's id. */
    row: string;
    /** The table's name. */
    table: string;
  };
} | {
  add_table: {
    /** Its headers. */
    columns: string[];
    /** The table's name. */
    table: string;
  };
} | {
  add_column: {
    /** The column that it stands before; none for the right end. */
    before: string | null;
    /** The header. */
    column: string;
    /** The table's name. */
    table: string;
  };
} | {
  drop_column: {
    /** The header. */
    column: string;
    /** The table's name. */
    table: string;
  };
};

/** Shares of the critical path spent at a station. */
export interface PathShare {
  /** In its changeovers. */
  changeover: number;
  /** In its cycle. */
  cycle: number;
  /** In its stops. */
  repair: number;
}

/** A figure of two plans. */
export interface PlanDifference {
  /** Its value in the first plan, if that has it. */
  a: number | null;
  /** Its value in the second. */
  b: number | null;
  /** The figure's id. */
  figure: string;
  /** What it is. */
  title: string;
  /** Its unit. */
  unit: string;
}

/**
 * A value of the plan and where it came from: mostly a figure of
 * [`RatePlan::figures`], or a cell of the book.
 */
export interface Planned {
  /** Its figure or cell. */
  from: Origin;
  /** The value. */
  value: number;
}

/** A blanking, laser or press line's part of the plan. */
export interface PressLinePlan {
  /** Good cars a week that it would allow alone. */
  alone: Planned | null;
  /** Its row. */
  at: At;
  /** Share of the running time wanted in which it runs. */
  availability: Planned;
  /** Hours a week of changeovers. */
  changing_h: Planned;
  /** Work over what it can do; above 1 it cannot. */
  load: Planned;
  /** Hours a week that are missing, 0 if none. */
  overtime_h: Planned;
  /** The line. */
  press_line: string;
  /** What it makes. */
  runs: LotRun[];
  /** Its shop. */
  shop: string;
  /** Whole lines for this work. */
  units_needed: Planned;
}

/** One thing wrong, with its place and the way out. */
export interface Problem {
  /** `table/what`, stable across versions, e.g. `stations/unknown-name`. */
  code: string;
  /** The column's header; none if the whole row is meant. */
  column: string | null;
  /** What should stand there. */
  expected: string;
  /** What stands there. */
  found: string;
  /** The smallest change that puts it right. */
  mend: string;
  /** The nearest right name, where a name is misspelt. */
  nearest: string | null;
  /** The row as a spreadsheet shows it; none if the whole table is meant. */
  row: number | null;
  /** Error or note. */
  severity: Severity;
  /** The table's name. */
  table: string;
}

/** A product's part of the plan. */
export interface ProductPlan {
  /** Its row. */
  at: At;
  /** Good cars a week. */
  cars: number;
  /** The product. */
  product: string;
  /** Its part of all cars. */
  share: number;
}

/** Cars of one product. */
export interface ProductRate {
  /** Cars a week made. */
  made: Interval;
  /** Cars a week needed. */
  needed: number;
  /** The product. */
  product: string;
  /** Whether that is enough. */
  verdict: Verdict;
}

/** The whole rate plan; serialises as it is. */
export interface RatePlan {
  /** Good cars a week that the weakest of all would allow, the mix kept. */
  capable: Planned | null;
  /** The fleets, in the book's order. */
  carriers: CarrierPlan[];
  /** Good cars a week in the plan. */
  cars: number;
  /** Every figure with its working, by id. */
  figures: Record<string, Figure>;
  /** Nothing is short: every load is at most 1. */
  holds: boolean;
  /** The planned time from coil to finished car. */
  lead_time: LeadTime | null;
  /** What is odd but can be computed. */
  notes: Problem[];
  /** The plant's name. */
  plant: string;
  /** The blanking, laser and press lines, in the book's order. */
  press_lines: PressLinePlan[];
  /** The products, in the book's order. */
  products: ProductPlan[];
  /** The shops, from coil to car. */
  shops: ShopPlan[];
  /** All that cannot do what the plan asks, the worst first. */
  shortfalls: Shortfall[];
  /** The stations, in the book's order. */
  stations: StationPlan[];
}

/** A revision to come back to. */
export interface Restore {
  /** Who restores it. */
  author: string;
  /** Why. */
  note?: string;
  /** Its number. */
  revision: number;
}

/** A state of the book, never changed. */
export interface Revision {
  /** Who made it. */
  author: string;
  /** Its number. */
  id: number;
  /** Why, in the author's words. */
  note: string;
  /** The revision it came from. */
  parent: number | null;
  /** When, as RFC 3339 in UTC. */
  time: string;
  /** The variant it belongs to. */
  variant: number;
}

/** How a figure was simulated: the passport of every figure of an answer. */
export interface RunFacts {
  /** Level of the intervals. */
  level: number;
  /** Station completions simulated, warm-up included, trials not. */
  moves: number;
  /** Independent replications. */
  replications: number;
  /** The seed of all streams. */
  seed: number;
  /**
   * Whether the search for the warm-up ended before its limit; none where
   * the warm-up was given. If not, the first weeks may still show.
   */
  warm_up_found: boolean | null;
  /** Hours cut off before, found by MSER-5 in whole days, or given. */
  warm_up_h: number;
  /** Weeks measured in each. */
  weeks: number;
}

/** How much a run is to tell. */
export type RunKind = "preview" | "precise";

/** A simulated figure, replication by replication. */
export interface Sample {
  /** Its value in every replication. */
  each: number[];
  /** What it is. */
  figure: string;
  /** Its unit; empty for plain numbers. */
  unit: string;
}

/** The tables of the book. */
export interface Schema {
  /** In the order in which metal flows. */
  tables: TableSchema[];
}

/** How much a problem weighs. */
export type Severity = "error" | "note";

/** What a shop sent on. */
export interface ShopOutput {
  /** The stations that were counted: those from which work leaves the shop. */
  last: string[];
  /**
   * Cars a week: good completions of its last stations, over what the
   * requirement asks of them for one car of the planned mix. A shop that
   * fills or empties its stock differs from the plant by that.
   */
  made: Interval;
  /** The shop. */
  shop: string;
}

/** A shop's part of the plan. */
export interface ShopPlan {
  /** Good cars a week that the shop would allow alone. */
  alone: Planned | null;
  /** The station or line with the highest load, and the load. */
  busiest: [string, Planned] | null;
  /** Good cars a week that pass it. */
  cars: number;
  /** Working hours a week; a shop without shifts always works. */
  net_time_h: Planned;
  /** People on the payroll. */
  payroll: Planned | null;
  /** People on a shift. */
  positions: Planned | null;
  /** Robots. */
  robots: number;
  /** The shop. */
  shop: string;
  /** Seconds from one good car to the next. */
  takt_s: Planned | null;
}

/** What falls short. */
export type Short = "station" | "press_line" | "carrier";

/**
 * Something that cannot do what the plan asks, and the smallest changes that
 * would each free it.
 */
export interface Shortfall {
  /** Its row. */
  at: At;
  /** Good cars a week that it costs if nothing else is short. */
  cars_short: number;
  /** Mean cycle to reach instead. */
  cycle_to_reach_s: number | null;
  /** The figure of the load. */
  figure: string;
  /** Station, line or fleet. */
  kind: Short;
  /** Work over what it can do. */
  load: number;
  /** The changes in a sentence. */
  mend: string;
  /** Its name. */
  name: string;
  /**
   * Hours a week to work longer instead; none for a fleet, and none when the
   * week has no such hours left.
   */
  overtime_h: number | null;
  /** Its shop. */
  shop: string;
  /** Whole units to add. */
  units_to_add: number;
}

/** The time from coil to car of all cars of all replications together. */
export interface Spread {
  /** Cars measured. */
  cars: number;
  /**
   * Days that 0 %, 2 %, 4 % and so on up to 100 % of them do not exceed:
   * the cumulative curve, read across; empty where no car was finished.
   */
  days: number[];
  /** Their mean in days; none where no car was finished. */
  mean_days: number | null;
  /** Share of them within the target. */
  within_target: number | null;
}

/** A stage of the longest way. */
export interface StageAge {
  /** Days a car or part is in it at most. */
  days: Planned;
  /** The stage. */
  stage: string;
}

/** A stage of the plant in the answer. */
export interface StageContent {
  /**
   * Jobs in it: at its stations, and on the links and in the stocks behind
   * them.
   */
  jobs: Interval;
  /** Its shop. */
  shop: string;
  /** The stage. */
  stage: string;
}

/** A station's part of the plan. */
export interface StationPlan {
  /** Good cars a week that it would allow alone; none without jobs. */
  alone: Planned | null;
  /** Its row. */
  at: At;
  /** Share of the time in which a unit can work. */
  availability: Planned;
  /** Mean cycle over products and options, stops not counted. */
  cycle_s: Planned;
  /** Longest mean cycle that holds the plan; none without jobs. */
  cycle_to_reach_s: Planned | null;
  /** Mean time from job to job, units and stops counted. */
  effective_cycle_s: Planned;
  /** The worst run of heavy cars, where some cars take longer than it has. */
  heavy: HeavyRun | null;
  /** Jobs a week, repeats counted. */
  jobs: Planned;
  /** Its line, where the book names one. */
  line: string | null;
  /** Work over what it can do; above 1 it cannot. */
  load: Planned;
  /** Hours a week that are missing, 0 if none. */
  overtime_h: Planned;
  /** Its shop. */
  shop: string;
  /** The station. */
  station: string;
  /** Like units side by side. */
  units: number;
  /** Whole units for this work. */
  units_needed: Planned;
}

/**
 * The states of a station as shares of the time in which it is there to
 * work (for several units, of their time together). Working, starved,
 * blocked, stopped and changeover add to 1.
 */
export interface StationStates {
  /** Its row. */
  at: At;
  /** No place for finished work. */
  blocked: Interval;
  /** Of starved: no carrier. */
  carrier_wait: Interval;
  /** Changing over. */
  changeover: Interval;
  /** Of stopped: waiting for a crew. */
  crew_wait: Interval;
  /** Hours a week in which it is there to work, each unit. */
  open_h: number;
  /** Share of the critical path. */
  path: PathShare;
  /** Its shop. */
  shop: string;
  /** Its stage. */
  stage: string;
  /** Nothing to work on, or no carrier. */
  starved: Interval;
  /** The station. */
  station: string;
  /** Down, under repair or waiting for a crew. */
  stopped: Interval;
  /** Units side by side. */
  units: number;
  /** Working. */
  working: Interval;
}

/** A station that holds the plant back. */
export interface Suspect {
  /** How the stations around it wait, in words. */
  explanation: string;
  /** Its name. */
  name: string;
  /** Share of the critical path spent there. */
  path: PathShare;
  /** Position of the station in the answer's stations. */
  station: number;
  /** Trials, for the first few. */
  trials: Trial[];
}

/** A symbol of a formula, input or result. */
export interface Symbol {
  /** Whether it is a list of values. */
  list: boolean;
  /** What it means. */
  meaning: string;
  /** The symbol, as the expression and the text door write it. */
  name: string;
  /** Its legal values, each member's for a list. */
  range: string;
  /** Its unit; empty for plain numbers and shares. */
  unit: string;
}

/** A table of the book. */
export type Table = "plant" | "shifts" | "products" | "options" | "colours" | "materials" | "coils" | "outlines" | "parts" | "press_lines" | "joins" | "stations" | "stops" | "crews" | "cycles" | "links" | "carriers" | "tasks" | "robots" | "coats" | "ideas" | "forecast";

/** A table's description. */
export interface TableSchema {
  /** The columns in their usual order. */
  columns: Column[];
  /** What a row is. */
  doc: string;
  /** The columns that tell its rows apart. */
  key: string[];
  /** The table's name. */
  name: string;
  /** The same for people. */
  title: string;
}

/** A revision to be taken back. */
export interface TakeBack {
  /** Who takes it back. */
  author: string;
  /** Why. */
  note?: string;
  /** Its number. */
  revision: number;
}

/** One symbol of a working with its value. */
export interface Term {
  /**
   * Where an input came from; a result comes from this very working and
   * has none.
   */
  from?: Origin | null;
  /** What it means. */
  meaning: string;
  /** The symbol, as the expression writes it. */
  symbol: string;
  /** The value's unit; empty for plain numbers and shares. */
  unit: string;
  /** Its value. */
  value: Value;
}

/** Where the constraint lies as seen from a link. */
export type Toward = "below" | "above";

/** A trial: the plant again with one time shorter and the same luck. */
export interface Trial {
  /** By what share. */
  cut: number;
  /** What was found, in words. */
  finding: string;
  /** Cars a week that the trial gained. */
  gain: Interval;
  /** The time that was shortened. */
  lever: Lever;
  /**
   * Cars a week that the critical path promises at most: what a small change
   * gives for each per cent, before another station becomes the constraint.
   */
  predicted: number;
  /** Whether the interval leaves zero out; if not, no difference is shown. */
  shown: boolean;
}

/** What an empty cell means. */
export type Usual = "needed" | "none" | {
  value: string;
};

/** A symbol's value as a working stores it, in the symbol's unit. */
export type Value = number | number[] | null;

/** A branch of the book. */
export interface Variant {
  /** Its newest revision. */
  head: Revision;
  /** Its name. */
  name: string;
  /** Its number. */
  variant: number;
}

/** Whether a figure holds against its target. */
export type Verdict = "met" | "open" | "missed";

/** What a link is in the plant. */
export type Way = {
  kind: "onward";
} | {
  kind: "rework";
} | {
  kind: "blanks";
  part: string;
} | {
  kind: "panels";
  part: string;
};

/** How a figure came about: everything needed to check it by hand. */
export interface Working {
  /** What to mind where people can get hurt. */
  caution?: string | null;
  /** The formula in symbols. */
  expression: string;
  /** The formula's name. */
  formula: string;
  /** The inputs, in the formula's order. */
  inputs: Term[];
  /** The results, in the formula's order. */
  results: Term[];
  /** The published source of the formula. */
  source: string;
  /** The formula's title. */
  title: string;
}
