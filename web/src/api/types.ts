/** The server's JSON, as the Rust types serialise. No figure is computed here. */

export interface Interval { mean: number; half_width: number | null }
export interface At { table: string; row: number }
export type Severity = "error" | "note";
export interface Problem {
  code: string; severity: Severity; table: string; row: number | null; column: string | null;
  found: string; expected: string; mend: string; nearest: string | null;
}

export type Origin =
  | "given"
  | { cell: { table: string; row: number; column: string } }
  | { figure: string }
  | { usual: { table: string; column: string } }
  | { several: Origin[] };
export type Value = number | number[] | null;
export interface Term { symbol: string; meaning: string; value: Value; unit: string; from?: Origin }
export interface Working {
  formula: string; title: string; expression: string; inputs: Term[]; results: Term[];
  source: string; caution?: string;
}

export interface Planned { value: number; from: Origin }
export interface Figure { id: string; title: string; value: number; unit: string; working: Working }
export interface ProductPlan { product: string; cars: number; share: number; at: At }
export interface ShopPlan {
  shop: string; net_time_h: Planned; cars: number; takt_s: Planned | null;
  busiest: [string, Planned] | null; alone: Planned | null; positions: Planned | null;
  payroll: Planned | null; robots: number;
}
export interface HeavyRun {
  cars: string; by_rule: boolean; share: number; cycle_s: number; run: Planned;
  overrun_s: Planned; recovery: Planned | null;
}
export interface StationPlan {
  station: string; shop: string; line: string | null; at: At; units: number; jobs: Planned;
  cycle_s: Planned; availability: Planned; effective_cycle_s: Planned; load: Planned;
  units_needed: Planned; overtime_h: Planned; cycle_to_reach_s: Planned | null;
  alone: Planned | null; heavy: HeavyRun | null;
}
export interface LotRun {
  part: string; blanks: boolean; pieces: Planned; lot: Planned; lots: Planned; run_h: Planned;
  worst_age_days: Planned;
}
export interface PressLinePlan {
  press_line: string; shop: string; at: At; runs: LotRun[]; availability: Planned; load: Planned;
  changing_h: Planned; units_needed: Planned; overtime_h: Planned; alone: Planned | null;
}
export interface CarrierPlan {
  carrier: string; at: At; count: number; needed: Planned; load: number; alone: Planned | null;
}
export interface StageAge { stage: string; days: Planned }
export interface LeadTime { stages: StageAge[]; total_days: Planned; target_days: number; meaning: string }
export interface Shortfall {
  kind: "station" | "press_line" | "carrier"; name: string; shop: string; at: At; load: number;
  cars_short: number; units_to_add: number; overtime_h: number | null;
  cycle_to_reach_s: number | null; mend: string; figure: string;
}
export interface RatePlan {
  plant: string; holds: boolean; cars: number; capable: Planned | null; products: ProductPlan[];
  shops: ShopPlan[]; stations: StationPlan[]; press_lines: PressLinePlan[];
  carriers: CarrierPlan[]; lead_time: LeadTime | null; shortfalls: Shortfall[];
  notes: Problem[]; figures?: Record<string, Figure>;
}

export type Verdict = "met" | "open" | "missed";
export interface RunFacts {
  replications: number; weeks: number; warm_up_h: number; warm_up_found: boolean | null;
  seed: number; level: number;
}
export interface PathShare { cycle: number; repair: number; changeover: number }
export interface ProductRate { product: string; needed: number; made: Interval; verdict: Verdict }
export interface CoilToCar { target_days: number; p10: Interval; p50: Interval; p90: Interval; verdict: Verdict }
export interface StageContent { stage: string; shop: string; jobs: Interval }
export interface StationStates {
  station: string; at: At; shop: string; stage: string; units: number; open_h: number;
  working: Interval; starved: Interval; carrier_wait: Interval; blocked: Interval;
  stopped: Interval; crew_wait: Interval; changeover: Interval; path: PathShare;
}
export interface Way { kind: "onward" | "rework" | "blanks" | "panels"; part?: string }
export interface Bank {
  at: At; way: Way; from: string; to: string; holds: number | null; content: Interval;
  full: Interval; empty: Interval;
}
export interface Trial {
  lever: "cycle" | "repair" | "changeover"; cut: number; predicted: number; gain: Interval;
  shown: boolean; finding: string;
}
export interface Suspect { station: number; name: string; path: PathShare; trials: Trial[]; explanation: string }
export interface Arrow { from: string; to: string; blocked: number; starved: number; toward: "below" | "above" }
export interface DeadlockLink {
  at: At; from: string; to: string; rework: boolean; for_some: boolean; holds: number | null;
}
export interface Deadlock {
  sentence: string; stations: string[]; links: DeadlockLink[]; widen: number | null;
  replications: number; since_h: number;
}
export type Cause =
  | "round_the_clock" | "closed_time" | "stops" | "crew_waits" | "changeovers" | "starved"
  | "carrier_waits" | "blocked" | "rework_and_scrap" | "remainder";
export interface BridgePart { cause: Cause; cars: Interval }
export interface Bridge {
  station: string; clean_s_per_car: number; gross_s_per_car: number; needed: number;
  parts: BridgePart[]; made: Interval;
}
export interface LotFigure { pieces: number; given: boolean }
export interface LotPlan {
  part: string; at: At; line: string; lot: LotFigure; start_below: LotFigure; stock: LotFigure;
  used_per_week: number; piece_s: number;
}
export interface Answer {
  run: RunFacts; sentence: string; verdict: Verdict; needed: number; made: Interval;
  products: ProductRate[]; coil_to_car: CoilToCar; jobs: Interval; stages: StageContent[];
  stations: StationStates[]; banks: Bank[]; constraint: Suspect[]; arrows: Arrow[];
  on_the_way: Interval; deadlock: Deadlock | null; bridge: Bridge | null; lots: LotPlan[];
  notes: Problem[];
}

export type Kind =
  | "text" | "list" | "number" | "count" | "share" | "yes_no" | "clock" | "weekdays" | "breaks"
  | "places" | { ref: string } | { refs: string } | { word: string[] };
export type Usual = "needed" | "none" | { value: string };
export interface Legal { from: number; above: boolean; to: number | null }
export interface Column { name: string; kind: Kind; unit: string; usual: Usual; legal: Legal | null; doc: string }
export interface TableSchema { name: string; key: string[]; columns: Column[]; doc: string }
export interface Schema { tables: TableSchema[] }

export interface Symbol { name: string; meaning: string; unit: string; list: boolean; range: string }
export interface Formula {
  name: string; shop: string; title: string; about: string; symbols: Symbol[]; results: Symbol[];
  expression: string; needs: string[]; source: string; caution: string | null;
}

export interface Health { version: string; engine: string; schema: number | string }
export type Id = number | string;
export interface Revision {
  id: Id; variant: Id; parent: Id | null; author: string; time: string; note: string;
}
export interface Variant { variant: Id; name: string; head: Revision }
export interface BookRow { id: string; line: number; cells: string[] }
export interface BookTable { name: string; columns: string[]; rows: BookRow[] }
export interface BookReply { revision: Revision; tables: BookTable[]; problems: Problem[] }

export type Patch =
  | { set: { table: string; row: string; column: string; value: string } }
  | { add_row: { table: string; row: string; after: string | null; cells: Record<string, string> } }
  | { remove_row: { table: string; row: string } }
  | { add_table: { table: string; columns: string[] } }
  | { add_column: { table: string; column: string } };
export interface EditReply { revision: Revision; merged: boolean }
export interface Conflict {
  table: string; row: string; key: string; column: string; yours: string | null;
  theirs: string | null; base: string | null;
}

export type RunKind = "preview" | "precise";
export type JobState = "queued" | "running" | "done" | "cancelled" | "failed";
export interface Job {
  id: Id; revision: Id; kind: RunKind; state: JobState; done: number; of: number;
  message: string | null;
}

export interface ChangedCell {
  table: string; row: string; key: string; column: string; a: string | null; b: string | null;
}
export interface OneSidedRow { table: string; row: string; key: string; cells: Record<string, string> }
export interface Compare {
  cells: ChangedCell[]; rows_added: OneSidedRow[]; rows_removed: OneSidedRow[];
  plan: { figure: string; title: string; unit: string; a: number | null; b: number | null }[] | null;
  run: { figure: string; a: Interval; b: Interval; difference: Interval | null; shown: boolean }[] | null;
}
