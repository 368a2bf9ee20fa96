import type { At, Problem, Working } from "./types";

export interface Coil {
  plant: string;
  currency: string;
  holds: boolean;
  parts: StripPart[];
  coils: CoilUse[];
  holding: Holding;
  orders: Orders;
  metal: Metal;
  notes: Problem[];
  figures: Record<string, CoilFigure>;
}

export interface CoilFigure {
  id: string;
  title: string;
  value: number;
  unit: string;
  working: Working;
}

export interface StripPart {
  part: string;
  at: At;
  material: string;
  gauge_mm: number;
  outline: string;
  paths: [number, number, number][][];
  line: string;
  laser: boolean;
  clearance_mm: number;
  margin_mm: number;
  with: string | null;
  blanks_a_week: number;
  net_kg: number;
  cut_mm: number;
  layouts: StripLayout[];
  runner_up: RunnerUp | null;
  without: Unlaid[];
  to_cut_from: string;
}

export interface StripLayout {
  kind: string;
  coil: string;
  width_mm: number;
  needed_width_mm: number;
  angle_deg: number;
  pitch_mm: number;
  blanks_per_pitch: number;
  utilisation: number;
  bound: number;
  clearance_mm: number;
  edge_clearance_mm: number;
  placements: Placed[];
  blanks_of_a_coil: number;
  cost: number;
  gross_cost: number;
  figure: string | null;
}

export interface Placed {
  part: number;
  x_mm: number;
  y_mm: number;
  rot_deg: number;
  mirrored: boolean;
}

export interface RunnerUp {
  layout: number | null;
  cost_more: number;
  cost_more_a_year: number;
  why: string;
}

export interface Unlaid {
  kind: string;
  why: string;
}

export interface CoilUse {
  coil: string;
  at: At | null;
  material: string;
  gauge_mm: number;
  delivered_mm: number;
  width_mm: number;
  mass_kg: number;
  mass_by_size_kg: number;
  inner_mm: number;
  outer_mm: number;
  length_m: number;
  wraps: number;
  gauge_loss: number;
  parts: string[];
  coils_a_week: number;
  kg_a_week: number;
  utilisation: number;
  figures: string[];
}

export interface Holding {
  at_most: number;
  fewest: number;
  chosen: Held[];
  now: YearlyCost;
  then: YearlyCost;
  bound: number;
  gap: number;
  by_number: ByNumber[];
  candidates: number;
  dropped: string[];
}

export interface Held {
  coil: string;
  material: string;
  gauge_mm: number;
  width_mm: number;
  mass_kg: number;
  in_book: boolean;
  parts: string[];
  coils_a_week: number;
  cost: number;
  figure: string;
}

export interface YearlyCost {
  specifications: number;
  all: number;
  metal: number;
  stock: number;
  changes: number;
}

export interface ByNumber {
  specifications: number;
  cost: number;
}

export interface Orders {
  weeks: number;
  service: number;
  places: number;
  coils: CoilOrders[];
  stored: number[];
  emptiest: Emptiest | null;
}

export interface Emptiest {
  coil: string;
  week: number;
  cover_days: number;
}

export interface CoilOrders {
  coil: string;
  at: At;
  lead_time_days: number;
  mean_use: number;
  use_spread: number;
  plan_spread: number;
  safety: number;
  reorder_point: number;
  figure: string;
  cover_days: number;
  least_cover_days: number;
  runs_out: number | null;
  weeks: CoilWeek[];
}

export interface CoilWeek {
  week: number;
  used: number;
  due: number;
  comes: number;
  order: number;
  left: number;
  cover_days: number;
}

export interface Metal {
  bought_kg: number;
  in_blanks_kg: number;
  utilisation: number;
  cost: number;
  scrap_credit: number;
  scrap: Scrap[];
}

export interface Scrap {
  material: string;
  kg: number;
  credit: number;
}

export interface Press {
  plant: string;
  currency: string;
  holds: boolean;
  target_days: number;
  after_days: number;
  parts: PressPart[];
  too_strong: TooStrong[];
  lots: PartLots[];
  lines: PressLineLots[];
  common_cycle: Policy;
  best: Policy;
  lower_bound_per_year: number | null;
  gap: number | null;
  complete: boolean;
  halved: Halved[];
  overload: Overload[];
  notes: Problem[];
  caution: string;
  figures: Record<string, PressFigure>;
}

export interface PressFigure {
  id: string;
  title: string;
  value: number;
  unit: string;
  working: Working;
}

export interface PressValue {
  value: number;
  figure: string;
}

export interface PressPart {
  part: string;
  at: At;
  blanking: Screen | null;
  forming: Screen | null;
  lines: string[];
  unknown: string | null;
}

export interface Screen {
  line: string;
  force_kn: PressValue;
  energy_kj: PressValue | null;
  force_used: PressValue | null;
  energy_used: number | null;
}

export interface TooStrong {
  part: string;
  at: At;
  line: string;
  force_kn: number;
  rated_kn: number;
  strongest: string;
  strongest_kn: number;
  mend: string;
}

export interface PartLots {
  part: string;
  at: At;
  blanks: boolean;
  line: string;
  used_per_week: number;
  rate_per_hour: PressValue;
  run_h: number;
  most_days: PressValue;
  most_stock: number | null;
  lot: number;
  every_days: number;
  longest_days: number;
  safety: number;
  oldest_days: number;
  peak_stock: number;
  racks: PressValue | null;
  cost_per_year: number;
}

export interface PressLineLots {
  line: string;
  at: At;
  shop: string;
  parts: number;
  hours: number;
  changeover_min: PressValue;
  running: number;
  changing: number;
  load: number;
  changeovers_per_week: number;
  least_cycle_days: number | null;
  cycle_days: number;
  cycle: CycleLot[];
  week: WeekLot[];
}

export interface CycleLot {
  part: string;
  blanks: boolean;
  start_day: number;
  changeover_days: number;
  run_days: number;
  lot: number;
  cover_days: number;
  peak: number;
}

export interface WeekLot {
  part: string;
  blanks: boolean;
  lot: number;
  start_h: number;
  run_h: number;
  end_h: number;
}

export interface Policy {
  cost_per_year: number | null;
  cycle_days: number | null;
  oldest_days: number | null;
  racks: number | null;
  why: string | null;
}

export interface Halved {
  line: string | null;
  hours_per_week: number;
  saved_per_year: number;
  days: number;
  racks: number;
  halved_lots_saved_per_year: number;
}

export interface Overload {
  line: string;
  at: At;
  missing_h: number;
  proven: boolean;
  move_parts: MovePart[];
  save_minutes: number | null;
  mend: string;
}

export interface MovePart {
  part: string;
  at: At;
  blanks: boolean;
  to: string[];
}
