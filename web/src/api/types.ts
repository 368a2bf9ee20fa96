// Made from the Rust types by `cargo run -p linewright-desk --features schema
// --example contract`; changes belong there. No figure is computed here.

/** The number of a variant, a revision or a job. */
export type Id = number;

/** A new balance near today's. */
export interface Again {
  /** No balance on today's stations moves less. */
  bound_s: number;
  /** Robots that stations have then, where the book says another number. */
  counts: RobotCount[];
  /** Seconds of their work on a mean car. */
  moved_s: number;
  /** Tasks that stand elsewhere than today. */
  moves: Move[];
  /** Posts where a person stands then. */
  people: number;
  /** Whether the bound is met. */
  proven: boolean;
  /** Robots that are bought, moved or given up. */
  robots: RobotMove[];
  /** The stations after the moves. */
  stations: AssemblyStation[];
  /**
   * Heavy cars in a row that still end past the drift allowed, though lighter
   * stations were searched for.
   */
  too_far: Stuck[];
}

/** What is made least. */
export type Aim = "fewest_robots" | "least_cost";

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
  /** First time right. */
  first_time_right: FirstTimeRight;
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
  /**
   * Stations that the planned order overruns, the most cars first, by the plan
   * and in the run; empty where none drives the run.
   */
  overruns: Overrun[];
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

/** Applicators of a step, a robot each. */
export interface Applicators {
  /** Before rounding up. */
  exact: number;
  /** Whole ones. */
  needed: ShopValue;
  /** Whether more are needed than there is room for. */
  over: boolean;
  /** Those placed: needed, or as many as have room. */
  placed: number;
  /** For which the stations have room; none where the book does not say. */
  room: number | null;
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

/** The plant as it is, as every idea is compared with it. */
export interface AsItIs {
  /** The station with most of the critical path, and its share. */
  constraint: [string, number] | null;
  /** What its money is in. */
  currency: string;
  /** Days from coil to car that nine cars in ten keep. */
  days: Interval;
  /** The yearly return that an investment must bring. */
  hurdle_rate: number;
  /** Cars a week made. */
  made: Interval;
  /** Cars a week needed. */
  needed: number;
  /** The plant's name. */
  plant: string;
  /** How it was run. */
  run: RunFacts;
  /** The coil-to-car target in days. */
  target_days: number;
  /** Weeks that the plant works in a year. */
  weeks_per_year: number;
}

/** A question that a job answers, in a word. */
export type AskKind = "improve" | "banks" | "reach" | "together" | "budget" | "learn" | "believe" | "day" | "rehearse";

/** The job of a run. */
export interface Asking {
  /** Its number. */
  job: number;
}

/** The plan of all assembly lines that the book gives tasks. */
export interface Assembly {
  /** Robots that do several tasks on a car. */
  cells: RobotCell[];
  /** Who does each task and why, in the order of the book. */
  choices: Choice[];
  /** Money a year for all lines: people, robots, tools, stations. */
  cost_per_year: number;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** Distances around the robots chosen: planning figures. */
  guards: Guard[];
  /** Every line has a balance within takt. */
  holds: boolean;
  /** The lines, in the order of their first tasks. */
  lines: AssemblyLine[];
}

/** An assembly line and its balance. */
export interface AssemblyLine {
  /**
   * The least work to move from where the book has it today; none where a
   * task has no station or the work cannot stay on these stations.
   */
  again: Again | null;
  /** Why there is none, where every task has a station. */
  again_stuck: Stuck[];
  /**
   * Whether it has a balance; without one its stations, people and costs are
   * not known, which is not 0.
   */
  balanced: boolean;
  /** No balance of this work has fewer stations. */
  bound: number;
  /** No way to do this line's work within the cycle costs less. */
  cost_bound_per_year: number;
  /** Money a year: people, robots, tools, stations. */
  cost_per_year: number;
  /** Seconds of it that work may fill. */
  cycle_s: ShopValue;
  /** Work as a share of what the posts with work can do in the cycle. */
  efficiency: number;
  /**
   * Cost of the line against its stations, where robots could do some of it;
   * each point costs less than those with fewer stations.
   */
  frontier: CostPoint[];
  /** Its name; none where the shop's tasks name no line. */
  line: string | null;
  /** Posts where a person stands. */
  people: number;
  /** Whether the bound is met. */
  proven: boolean;
  /** Its shop. */
  shop: string;
  /** The stations, in order; empty where there is no balance. */
  stations: AssemblyStation[];
  /** Why there is no balance. */
  stuck: Stuck[];
  /** Seconds from one car to the next. */
  takt_s: ShopValue;
  /** Tasks on it. */
  tasks: number;
  /** The line as the book has it today; none where no task has a station. */
  today: Today | null;
  /**
   * Heavy cars in a row that still end past the drift allowed, though lighter
   * stations were searched for.
   */
  too_far: Stuck[];
  /** Whether people stand on both sides of the car. */
  two_sided: boolean;
  /** Seconds of work on a mean car. */
  work_s: number;
}

/** A post of a station. */
export interface AssemblyPost {
  /** The kind of person or robot. */
  by: string;
  /** Seconds of work on a mean car of each product, in the book's order. */
  by_product_s: number[];
  /** The worst run of heavy cars, where some exceed the cycle. */
  heavy: Heavy | null;
  /** Seconds of work on a mean car. */
  load_s: number;
  /** The side it stands on. */
  side: Side;
  /** Tools and aids there. */
  tools: string[];
  /** Its work in order. */
  work: TimedTask[];
}

/** A station of a balance. */
export interface AssemblyStation {
  /** Its place in the line, the first being 1. */
  number: number;
  /** Where its people and robots stand; those without work are left out. */
  posts: AssemblyPost[];
  /** The book's station at this place today. */
  station: string | null;
}

/** Where a row stands; with a column's name it is the provenance of a figure. */
export interface At {
  /** The row as a spreadsheet shows it; the header is 1. */
  row: number;
  /** The table. */
  table: Table;
}

/** Robots at another takt. */
export interface AtTakt {
  /** Cars a week of the line that takes the longest takt. */
  cars_per_week: number;
  /** Seconds more than the plan's. */
  more_s: number;
  /** Robots; none where some joints find no robot. */
  robots: number | null;
  /** Money a year. */
  robots_cost_per_year: number | null;
}

/** A window of time at metal temperature. */
export interface BakeWindow {
  /** Stop of the conveyor that every body in it bears; none without a most. */
  allowance_min: ShopValue | null;
  /** Minutes that it has it in a normal run. */
  at_metal_min: ShopValue;
  /** Bodies in it at most: places that empty it wholly. */
  bodies: number;
  /** Minutes until the metal has its temperature. */
  heat_up_min: number;
  /** The least. */
  least_min: number | null;
  /** The most. */
  most_min: number | null;
  /** Places kept empty behind it. */
  room: number;
  /** Stop borne with these; none where any is. */
  stop_min: number | null;
  /** What stops of some lengths do. */
  stops: StopIn[];
  /**
   * Minutes at metal temperature of a body that goes through a second time;
   * none where no repair leads back here.
   */
  twice_min: number | null;
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

/** How banks are run. */
export interface BankSettings {
  /**
   * Banks that are run: those that hold most, and those near the critical
   * path.
   */
  banks: number;
  /** A loss of no more than this part of the needed rate is none. */
  indifferent: number;
  /** Level of the intervals. */
  level: number;
  /** Pairs of runs behind every figure. */
  runs: number;
  /** The seed of all streams. */
  seed: number;
  /** Weeks measured in a run. */
  weeks: number;
}

/** A bank with another number of places. */
export interface BankSide {
  /** Cars a week more; below zero they are lost. */
  cars: Interval;
  /** Whether that interval leaves zero out. */
  cars_shown: boolean;
  /**
   * Days from coil to car more that nine cars in ten keep; below zero is
   * better.
   */
  days: Interval;
  /** Whether that interval leaves zero out. */
  days_shown: boolean;
  /** The places. */
  places: number;
}

/** The banks of a plant. */
export interface Banks {
  /** The plant as it is. */
  as_it_is: AsItIs;
  /** The banks that were run, those whose places cost most cars first. */
  banks: PricedBank[];
  /**
   * The fewest places found that lose no cars: banks halved that lose none by
   * themselves, as many together as lose none together.
   */
  fewest: Trimmed | null;
  /** Banks there are in all. */
  of: number;
  /** How it was run. */
  settings: BankSettings;
  /**
   * The same number of places at most, better split: those freed put where
   * more of them gain.
   */
  split: Trimmed | null;
}

/** A bead of adhesive and how long it stays open. */
export interface Bead {
  /** Whether that is as long as the plant asks. */
  holds: boolean;
  /** Seconds of laying, its length over its speed; none where not given. */
  laying_s: number | null;
  /** The longest stop of the line that does not cost the bead. */
  margin_s: number;
  /** Seconds that the adhesive stays open. */
  open_s: number;
  /** Seconds from the start of laying until the part is set. */
  path_s: number;
  /** The task that lays it. */
  task: string;
}

/** The model held against what really came out. */
export interface Believed {
  /** Cells that were mended for it. */
  cells: number;
  /** Run with the values that differ mended; empty where none does. */
  mended: ModelCheck[];
  /** Run with the book as it stands. */
  stands: ModelCheck[];
}

/** A pair of parts that was tried on one strip, and why it lost. */
export interface Beside {
  /** What they cost apart, each on its best. */
  apart_a_week: number;
  /** What the blanks of both cost in a mean week on one strip. */
  cost_a_week: number | null;
  /**
   * The best layout of the pair, its place in [`StripPart::layouts`]; none where
   * no coil of the book takes both.
   */
  layout: number | null;
  /** The other part. */
  part: string;
  /** Why it lost. */
  why: string;
}

/** What is better by cost. */
export type BetterWay = "make" | "make_while_lines_stay" | "buy";

/** Cars of one colour in a row. */
export interface Block {
  /** Cars. */
  cars: number;
  /** The colour. */
  colour: string;
  /** The first car's place. */
  place: number;
}

/** A size of colour block. */
export interface BlockPoint {
  /** Bodies collected. */
  block: number;
  /** Money a week for changes: paint and time. */
  change_cost: number;
  /** Changes a week. */
  changes: number;
  /** Places for them. */
  places: number;
  /** Litres lost a week. */
  purge_l: number;
  /** Hours lost a week. */
  stopped_h: number;
  /** Money a week for waiting: stock and places. */
  wait_cost: number;
  /** Hours that a body waits, mean. */
  wait_h: number;
  /** Bodies waiting for their block, mean. */
  waiting: number;
}

/** The plan of all lines that the book gives joints. */
export interface Body {
  /** What the search made least: robots or their cost. */
  aim: Aim;
  /** What to beware of. */
  cautions: string[];
  /** Whether the search ran to its end. */
  complete: boolean;
  /** What the joints use up. */
  consumables: Consumable[];
  /** Money a year for consumables. */
  consumables_cost_per_year: number;
  /** No allocation costs less. */
  cost_bound_per_year: number;
  /** The currency of all money. */
  currency: string;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** By how much, at most, the answer is above the least there can be. */
  gap: number;
  /** The joint groups with their methods, in the order of the book. */
  groups: JoinGroup[];
  /** Every joint is made within takt. */
  holds: boolean;
  /** Joints on a car. */
  joints: number;
  /** The limits and figures that stand in for what the book leaves out. */
  limits: LimitUsed[];
  /** The lines. */
  lines: BodyLine[];
  /** What is odd but can be computed. */
  notes: Problem[];
  /** The least takt at which one robot less suffices; none where none was found. */
  one_less: OneLess | null;
  /** The plant's name. */
  plant: string;
  /** Joining robots of all stations. */
  robots: number;
  /** No allocation has fewer. */
  robots_bound: number;
  /** Money a year of those robots. */
  robots_cost_per_year: number;
  /** The stations with their robots, in the order of the book. */
  stations: BodyStation[];
  /** Joints that found no robot, with ways out. */
  stuck: StuckJoints[];
  /** The same at other takts. */
  takts: AtTakt[];
}

/** A line of stations. */
export interface BodyLine {
  /** The cycle that its stations are planned for. */
  cycle_s: ShopValue;
  /** Joints on a car. */
  joints: number;
  /** Its name. */
  line: string;
  /** Its joining robots. */
  robots: number;
  /** Its shop. */
  shop: string;
  /** Seconds from one car to the next. */
  takt_s: ShopValue;
}

/** A joining robot. */
export interface BodyRobot {
  /** Seconds of tool changes, that back to the first included. */
  change_s: number;
  /** When it is ready for the next car. */
  end_s: number;
  /** Joints on a car. */
  joints: number;
  /** Its kind. */
  kind: string;
  /** Its name at the station. */
  robot: string;
  /** Its work in order. */
  steps: RobotStep[];
  /** What it carries. */
  tools: string[];
  /** Seconds of waiting for zones and for joints before. */
  wait_s: number;
  /** Seconds of joining. */
  work_s: number;
}

/** A station. */
export interface BodyStation {
  /** Its row. */
  at: At;
  /** Load, index and the last robot's end. */
  cycle_s: number;
  /** Load, index and clamp. */
  index_s: number;
  /** Joints on a car. */
  joints: number;
  /** Its line. */
  line: string;
  /** The cycle that the book has measured; it drives the flow where it stands. */
  measured_s: number | null;
  /** What the cycle leaves its robots. */
  net_s: ShopValue;
  /** The cycle with one robot less, its joints kept; none for one robot. */
  one_less_s: number | null;
  /** Its joining robots. */
  robots: BodyRobot[];
  /** The most robots around a car. */
  robots_most: number;
  /** Its name. */
  station: string;
  /** Stops for caps, spools, refills and drums. */
  stops: RefillStop[];
  /** Seconds from one car to the next. */
  takt_s: number;
}

/** All that there is to say of a revision's book, as `check` says it. */
export interface BookProblems {
  /** How many keep the book from being computed. */
  errors: number;
  /** How many are worth a look and no more. */
  notes: number;
  /** All of them, those of the cells first; rows are named by line. */
  problems: Problem[];
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
  /** The same in words. */
  words: string;
}

/** A rule that today's stations break. */
export interface Broken {
  /** By how many seconds, where it is a matter of time. */
  by_s: number | null;
  /** The rows of the tasks that make it so. */
  rows: At[];
  /** Which rule. */
  rule: BrokenRule;
  /** The station where it shows. */
  station: string | null;
  /** The way out. */
  way_out: string;
  /** What is wrong. */
  what: string;
}

/** A rule that a stack breaks. */
export interface BrokenLimit {
  /** The limit. */
  limit: number;
  /** The change that would free the method. */
  mend: string;
  /** The rule, as the book writes it. */
  rule: string;
  /** Where the limit comes from. */
  source: string;
  /** Rule, limit and value in words. */
  told: string;
  /** The value that breaks it. */
  value: number;
}

/** What kind of rule is broken. */
export type BrokenRule = "unplaced" | "elsewhere" | "order" | "cycle" | "side" | "overload" | "run" | "same_station" | "other_station" | "robot" | "row";

/** What a yearly budget for people, robots, tools and stations buys. */
export interface Budgeted {
  /** Cars a week that the book asks for, and what these cost. */
  asked: RateCost;
  /** Money a year. */
  budget_per_year: number;
  /**
   * The most cars a week for which the lines were found to cost no more; none
   * where even the fewest looked at cost more.
   */
  cars: number | null;
  /** What the lines cost a year at that rate. */
  cost_per_year: number;
  /** The fewest cars that were looked at, and what they cost. */
  fewest: RateCost;
  /** By line, in the order of the book, its takt at that rate. */
  lines: BudgetedLine[];
  /**
   * At this rate and above no way to man the lines costs so little; none where
   * no rate looked at shows that.
   */
  none_from: number | null;
}

/** A line at the rate that the budget buys. */
export interface BudgetedLine {
  /** Money a year. */
  cost_per_year: number;
  /** Its name; none where the shop's tasks name no line. */
  line: string | null;
  /** People a shift. */
  people: number;
  /** Its shop. */
  shop: string;
  /** Stations. */
  stations: number;
  /** Seconds from one car to the next. */
  takt_s: number;
}

/** The order in which a week's cars are built. Places count from 1. */
export interface BuildOrder {
  /**
   * Cars built at the end of the week before, place 1 the last of them; rules
   * and colours reach back to them.
   */
  before: PlacedCar[];
  /** What must hold and does not, in words; empty where all does. */
  broken: string[];
  /** Moves made by hand since it was planned. */
  by_hand: number;
  /** What to mind before anybody relies on it. */
  caution: string;
  /** Colours and their blocks. */
  colours: ColourUse;
  /** What each rule costs; empty where not asked for. */
  costs: RulePrice[];
  /** Working days of the week. */
  days: number;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** Cars of the first places, which stay as they were frozen. */
  frozen: number;
  /**
   * Whether all that must hold does: hard rules, the longest block, promises,
   * cars on hold until they come back.
   */
  holds: boolean;
  /** Options and products against their level lines. */
  level: LevelUse[];
  /**
   * Level use beside that of an order made for it alone; none where nothing
   * is to be used evenly.
   */
  levelling: Levelling | null;
  /** What is odd but can be computed. */
  notes: Problem[];
  /** Cars on hold. */
  on_hold: Held2[];
  /** The cars, place by place. */
  places: PlacedCar[];
  /** The plant's name. */
  plant: string;
  /** The promises. */
  promises: Promised[];
  /** What is proven of the order. */
  proof: Proof;
  /** The spacing rules and where the order breaks them. */
  rules: OrderRule[];
  /** Cars that the week's working time has room for; none where unknown. */
  slots: number | null;
  /** Stations whose takt some car exceeds, walked through car by car. */
  stations: StationDrift[];
  /** The painted-body store between paint and the line. */
  store: PaintedStore;
  /** What its headline tells. */
  sums: OrderSums;
  /** The week, the first being 1. */
  week: number;
}

/** The best choice of so many specifications. */
export interface ByNumber {
  /** What it costs a year. */
  cost: number;
  /** So many. */
  specifications: number;
}

/** What a car costs and what changes would bring. Serialises as it is. */
export interface CarMoney {
  /** Cost of a mean car with the yearly costs spread over those. */
  at_made: ShopValue | null;
  /** Good cars a week over which yearly costs are spread. */
  cars: number;
  /** The investment case of each idea, the most valuable first. */
  cases: Case[];
  /** Whether no price is missing. */
  complete: boolean;
  /** The currency of all money. */
  currency: string;
  /** Ideas that exclude each other. */
  exclusive: Exclusive[];
  /**
   * Every figure with its working, by id. Money read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** Whether runs tell the cars that ideas give; else the plan's weakest does. */
  gains_by_run: boolean;
  /** A person's hour and each kind of robot's. */
  hours: HourPrices;
  /** The same by kind. */
  kinds: KindCost[];
  /**
   * What a car lost costs; none where the book gives neither prices nor a
   * margin.
   */
  lost: LostCar | null;
  /** Cars a week that a run makes, where one is at hand. */
  made: Interval | null;
  /** Each part and sub-assembly that could be made or bought. */
  make_or_buy: MakeOrBuy[];
  /**
   * From the metal that the coil plan tells to the cars' own; none where no metal
   * has a price.
   */
  metal: MetalBridge | null;
  /** Prices that are missing, and which figure stays too low. */
  missing: Missing[];
  /** Whose both ways are not known, and why. */
  not_compared: NotCompared[];
  /** What is odd but can be computed. */
  notes: Problem[];
  /** The plant's name. */
  plant: string;
  /** The same by product, in the book's order. */
  products: ProductCost[];
  /** The shops, from coil to car, each with its kinds of cost. */
  shops: ShopCost[];
  /** Cost of a mean car: the sum of [`CarMoney::shops`]. */
  total: ShopValue;
  /** What one more car costs: metal, bought parts, consumables, energy. */
  variable: ShopValue;
}

/** What one more car brings, as ideas are weighed with it. */
export interface CarWorth {
  /** The figure among [`CarWorth::figures`]. */
  figure: string;
  /**
   * The figure and those that it is made of, with their workings, by id; none
   * once read back.
   */
  figures: Record<string, ShopFigure>;
  /** Whether the setting says so. */
  given: boolean;
  /** Prices that are missing; with any the worth is too high. */
  missing: number;
  /**
   * Money for each car: the setting `margin_per_car`, else the mean price less
   * metal, bought parts, consumables and energy.
   */
  value: number;
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
  /** Whether the fleet is short. */
  over: boolean;
}

/** A fleet that follows a loop: carts, skids or hangers. */
export interface CartLoop {
  /** Its row. */
  at: At;
  /** The fleet. */
  carrier: string;
  /** How it charges. */
  charging: Charging;
  /** Share of the time that charging besides takes. */
  charging_share: number;
  /** How many there are. */
  count: number;
  /** How many are needed, before rounding up. */
  exact: number;
  /** Share of the fleet in service: fit and not charging. */
  fit: number;
  /** Of those there are: in service at a time, whole. */
  in_service: number;
  /** Cars a week that take one. */
  jobs: number;
  /** Length of the way under the cars. */
  line_m: number;
  /** Needed over count; above 1 the fleet is too small. */
  load: number;
  /** How many are needed, whole. */
  needed: ShopValue;
  /** Of those needed: at stations under the cars. */
  on_line: number;
  /** Of those needed: on the move along the line, loading, unloading. */
  on_move: number;
  /** Of those needed: on the empty way back. */
  on_way_back: number;
  /** Of those needed: charging or unfit. */
  out_of_service: number;
  /** Whether the fleet is too small. */
  over: boolean;
  /** Metres from carrier to carrier under the cars. */
  pitch_m: number;
  /** Where it leaves it. */
  returned_at: string;
  /** Speed of that way, were it to move evenly: a pitch in each takt. */
  speed_m_min: ShopValue;
  /** Why there are too few for the line itself, if there are. */
  starved: string | null;
  /** Where a car takes one. */
  taken_at: string;
  /** Seconds from one taken to the next. */
  takt_s: ShopValue;
  /** Of those needed: share of speed that is left on the way back. */
  traffic: number;
  /** What each further one on the way back costs all others there. */
  traffic_loss: number;
  /** Seconds of a round on the move along the line, loading and unloading. */
  travel_s: number;
  /** Seconds of the empty way back, curves counted, alone on it. */
  way_back_s: number;
}

/** How many carts each loop and each supply fleet needs. Serialises as it is. */
export interface CartPlan {
  /** What to mind where people can get hurt. */
  caution: string;
  /** Every figure with its working, by id. */
  figures: Record<string, ShopFigure>;
  /** Whether every fleet has as many as it needs. */
  holds: boolean;
  /** The fleets that follow a loop, in the book's order. */
  loops: CartLoop[];
  /** What is odd but can be computed. */
  notes: Problem[];
  /** The stores from which sub-plants feed the main line, in the book's order. */
  stores: StorePlan[];
  /** The fleets that bring material, in the book's order. */
  supplies: SupplyFleet[];
}

/**
 * The carts' plan, and what the plant makes with more and fewer of them.
 * Serialises as it is.
 */
export interface Carts {
  /** For each loop its curve, in the plan's order. */
  curves: Curve[];
  /**
   * Whether every fleet suffices, by formula and in the runs, and no store is
   * so small that the main line loses cars.
   */
  holds: boolean;
  /** Cars a week of the plant as it is. */
  made: Interval;
  /** What is worth knowing of the network that was run. */
  notes: Problem[];
  /** By formula: loops and supplies, each figure with its working. */
  plan: CartPlan;
  /** The plant's name. */
  plant: string;
  /** How every figure of a run was simulated. */
  run: RunFacts;
  /** The stores that feed the main line from its sub-plants. */
  stores: Store[];
  /**
   * For each supply fleet its curve, in the plan's order; those with no loads
   * or beyond sixty carts are left out.
   */
  supply_curves: SupplyCurve[];
}

/** The investment case of an idea. */
export interface Case {
  /** The level yearly cost that is worth the same; below 0 it earns. */
  annual: number | null;
  /** Its first row. */
  at: At;
  /**
   * Cars a week that it gives: in the first period of the forecast by the plan,
   * today by runs.
   */
  cars: number;
  /** The most that it gives in a later period, where that is more. */
  cars_later: number | null;
  /** What it costs a year. */
  cost_per_year: number;
  /** The same with interest. */
  discounted_payback: number | null;
  /** The figures: value, returns, paybacks, yearly cost. */
  figures: string[];
  /** Money out (−) and in (+) by year, from today. */
  flows: number[];
  /** What [`Case::cars`] bring a year; none where no margin is known. */
  gain_per_year: number | null;
  /** To each side of that, where runs tell it. */
  half_width: number | null;
  /** The idea. */
  idea: string;
  /** What it costs once. */
  investment: number;
  /** Years it is used. */
  life_years: number;
  /**
   * Why it gives none by the plan, in words: what hides it, or that the plan
   * does not see it. Its value then is no verdict on it.
   */
  no_car: string | null;
  /** Net present value at the hurdle rate. */
  npv: ShopValue;
  /** To each side of the value, by that of the cars. */
  npv_half: number | null;
  /** Years until the money is back; none if never. */
  payback: number | null;
  /** All rates of return. */
  returns: Returns;
  /** Whether that is a difference at all; else it may be luck. */
  shown: boolean;
  /** Weeks until it works. */
  weeks: number;
}

/** A cause in the bridge, in the order in which it is told. */
export type Cause = "open_hours" | "stops" | "crew_waits" | "changeovers" | "starved" | "carrier_waits" | "blocked" | "rework_and_scrap" | "remainder";

/** What a cause cost a station. */
export interface CauseRow {
  /** The cause; `-` where the log names none. */
  cause: string;
  /** Time down, waiting for help included. */
  down_s: number;
  /** Share of this and all rows above. */
  running_share: number;
  /** Share of all time down in the log. */
  share: number;
  /** The station. */
  station: string;
  /** Stops. */
  stops: number;
  /** Of that, waiting for help. */
  waiting_s: number;
}

/** A cell that an idea changes. */
export interface CellChange {
  /** Where its row stands. */
  at: At;
  /** The column. */
  column: string;
  /** What stands there; empty for the usual. */
  from: string;
  /** The row's key, its parts joined by ` / `. */
  row: string;
  /** What would stand there. */
  to: string;
}

/** A fit with what it is drawn of; all times in minutes. */
export interface CellFit {
  /** The families. */
  fit: Fit;
  /** The families' curves and papers. */
  plot: Plot;
  /** The curve straight from the log. */
  survival: SurvivalStep[];
}

/** A step of a robot. */
export interface CellStep {
  /** Seconds of the tool change before it, 0 for none. */
  change_s: number;
  /** When it ends. */
  end_s: number;
  /** When it starts; a tool change before it has ended then. */
  start_s: number;
  /** The task. */
  task: string;
  /** The tool in hand. */
  tool: string | null;
}

/** What the log says of a cell. */
export type CellVerdict = "agrees" | "differs" | "open";

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

/** How a cart's battery is filled. */
export type Charging = "none" | "away" | "opportunity" | "swap";

/** Who does a task, and why. */
export interface Choice {
  /** Its row. */
  at: At;
  /** The way taken. */
  chosen: TaskWay;
  /** Why. */
  reason: string;
  /** Ways that the screens refuse. */
  refused: TaskWay[];
  /** The best of the other ways that may be taken. */
  runner_up: TaskWay | null;
  /** The task. */
  task: string;
}

/** The longest that a body waits before a step. */
export interface CoatAge {
  /** Hours that it may. */
  most_h: number;
  /** Hours that it would, left over the longest time in which the shop is shut. */
  shut_h: number;
}

/** What a step lays on a body. */
export interface CoatFilm {
  /** Applicators; none where the step has no flow. */
  applicators: Applicators | null;
  /** Money for it on each good body. */
  cost: number;
  /** CoatFilm, dry. */
  dry_um: number | null;
  /** Their figure; none where the book gives them. */
  figure: string | null;
  /** Litres a body and pass. */
  litres: number;
  /** Litres of it that miss the body. */
  missed_l: number;
  /** The part that stays on. */
  transfer_efficiency: number | null;
  /** Litres a week, repeats counted. */
  week_l: number;
  /** CoatFilm as laid on. */
  wet_um: number | null;
}

/** What kind of step of a paint process it is. */
export type CoatKind = "dip" | "spray" | "bead" | "flash" | "oven" | "work" | "inspect";

/**
 * From coil to blank: how each blank lies on its strip, which coils to hold,
 * and what to order when. Serialises as it is.
 */
export interface Coil {
  /** Each coil specification of the book with its use, in the book's order. */
  coils: CoilUse[];
  /** The currency of all money. */
  currency: string;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** Which specifications to hold. */
  holding: Holding;
  /**
   * Whether no coil runs out within the weeks planned and all find a place, now
   * and at each week's end.
   */
  holds: boolean;
  /** The metal of a mean week as things are. */
  metal: Metal;
  /** What is odd but can be computed. */
  notes: Problem[];
  /** What to order, week by week. */
  orders: Orders;
  /** Each part that is cut from coil, in the book's order. */
  parts: StripPart[];
  /** The plant's name. */
  plant: string;
}

/** The orders of one specification. */
export interface CoilOrders {
  /** Its row. */
  at: At;
  /** The specification. */
  coil: string;
  /** Days that the coils in the store last without any delivery. */
  cover_days: number;
  /** The figure of the reorder point. */
  figure: string;
  /** Days from order to delivery. */
  lead_time_days: number;
  /** The least cover: now, or at the end of a week. */
  least_cover_days: number;
  /** Coils used in a mean week. */
  mean_use: number;
  /** Standard deviation of the plan's own use from week to week. */
  plan_spread: number;
  /** Coils in the store and on order at which to order. */
  reorder_point: number;
  /** The first week in which it runs out, if it does. */
  runs_out: number | null;
  /** Coils kept for spread. */
  safety: number;
  /** Standard deviation of a week's real use from the plan. */
  use_spread: number;
  /** The weeks. */
  weeks: CoilWeek[];
}

/**
 * Coil-to-car time in days of 24 hours: from the oldest piece of a car (the
 * coil opened first, or the car's own release) until the car leaves.
 */
export interface CoilToCar {
  /**
   * The stages' days together: the mean time on the way that takes longest. A
   * car is as old as its oldest piece, so that the mean car takes some more.
   */
  by_stage: Interval | null;
  /** One car in ten takes less. */
  p10: Interval;
  /** Half take less. */
  p50: Interval;
  /** Nine in ten take less. */
  p90: Interval;
  /** The same by plan, with every place filled and every lot just begun. */
  planned_days: number | null;
  /** The whole distribution. */
  spread: Spread;
  /** The target. */
  target_days: number;
  /** Whether nine cars in ten keep the target. */
  verdict: Verdict;
}

/** A coil specification and its use as things are. */
export interface CoilUse {
  /** Its row; none for one that the book does not hold. */
  at: At | null;
  /** The specification. */
  coil: string;
  /** Coils used in a mean week. */
  coils_a_week: number;
  /** The gauge delivered, on the whole. */
  delivered_mm: number;
  /** The figures of its length, by id. */
  figures: string[];
  /** Share of the length lost by the gauge's side of its tolerance. */
  gauge_loss: number;
  /** The gauge ordered. */
  gauge_mm: number;
  /** Its inner diameter. */
  inner_mm: number;
  /** Metal used in a mean week. */
  kg_a_week: number;
  /** Its length by its mass and the gauge delivered. */
  length_m: number;
  /** The mass that its diameters hold. */
  mass_by_size_kg: number;
  /** Its mass, by which it is bought. */
  mass_kg: number;
  /** Its alloy and temper. */
  material: string;
  /** Its outer diameter: the book's, or that of its mass. */
  outer_mm: number;
  /** The parts cut from it. */
  parts: string[];
  /** Utilisation of the metal used, coil ends counted. */
  utilisation: number;
  /** Its width. */
  width_mm: number;
  /** Its turns. */
  wraps: number;
}

/** A week of one specification, in coils. */
export interface CoilWeek {
  /**
   * Coils that lie there just before this week's deliveries; below 0 what is
   * missing.
   */
  before: number;
  /** Days of use that those last: so long may the deliveries keep waiting. */
  before_days: number;
  /** Coils that come of orders of this plan. */
  comes: number;
  /** Days of the use to come that this lasts. */
  cover_days: number;
  /** Coils that come of what is ordered already. */
  due: number;
  /** Coils left at the week's end; below 0 what is missing. */
  left: number;
  /** Coils to order at the week's start. */
  order: number;
  /** Coils used. */
  used: number;
  /** The week, from 1. */
  week: number;
}

/** A colour. */
export interface ColourShare {
  /** Its name. */
  colour: string;
  /** Hours that the first body of its block waits, at the book's block. */
  longest_wait_h: number;
  /** Share of all bodies. */
  share: number;
}

/** Colours in the order. */
export interface ColourUse {
  /** The blocks, first to last. */
  blocks: Block[];
  /** Minutes that the changes take. */
  change_min: number;
  /** Changes of colour. */
  changes: number;
  /** No order that keeps the longest block has fewer. */
  changes_at_least: number;
  /** Changes in the order that reaches the line. */
  changes_on_line: number;
  /** The most cars of one colour in a row that are allowed. */
  longest_allowed: number | null;
  /** Cars beyond that, summed over blocks. */
  over_block: number;
  /** Paint and solvent that they lose, litres. */
  purge_l: number;
}

/** Colours of the coat that has them. */
export interface Colours {
  /** The block at which the costs of the curve are least. */
  best: number;
  /** Bodies collected before a block is painted, as the book has it. */
  block: number;
  /** Bodies through the coat a week. */
  bodies: number;
  /** Chance that the next body has another colour as they come. */
  change_probability: ShopValue;
  /** Seconds of a change, mean over the changes. */
  change_s: number;
  /** Block by block, from 1. */
  curve: BlockPoint[];
  /** Seconds of it that do not fit between two bodies. */
  lost_s: number;
  /** Colours and their shares. */
  mix: ColourShare[];
  /** Litres lost in a change, mean over the changes. */
  purge_l: number;
  /** The same by the square root, in parts of a body. */
  root: ShopValue | null;
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

/** What the joints use up. */
export interface Consumable {
  /** Money a year. */
  cost_per_year: number;
  /** What. */
  item: string;
  /** The method. */
  method: JoinMethod;
  /** On a car. */
  per_car: number;
  /** In a week. */
  per_week: number;
  /** Its unit. */
  unit: string;
}

/** One kind of cost in one shop. */
export interface CostItem {
  /** For a car of each product; weighed by the mix it is the mean. */
  by_product: number[];
  /** For a mean car. */
  cost: ShopValue;
  /** The kind. */
  kind: CostKind;
}

/** A kind of cost. */
export type CostKind = "metal" | "bought_parts" | "consumables" | "energy" | "people" | "upkeep" | "capital" | "overhead";

/** What a line on so many stations costs. */
export interface CostPoint {
  /** On so many stations or fewer nothing costs less. */
  bound_per_year: number;
  /** Money a year. */
  cost_per_year: number;
  /** Posts, each of one person or robot. */
  posts: number;
  /** Robots among them. */
  robots: number;
  /** Stations. */
  stations: number;
}

/** A station's figure over the weeks. */
export interface Course {
  /**
   * What the book expects; none where it counts stops by the calendar, or
   * says nothing.
   */
  book: number | null;
  /** Which figure. */
  figure: WeekFigure;
  /** What the figure does. */
  movement: Movement;
  /** How often chance alone makes weeks this unlike; none where it is open. */
  p: number | null;
  /** The station. */
  station: string;
}

/** How a fleet slows itself. */
export interface Crowding {
  /** What each further cart costs all others. */
  loss: number;
  /** Work of that number, in carts that nothing slows. */
  most: number;
  /** The number that does most; more do less. */
  most_at: number;
  /**
   * Share of the time that the number needed leaves, or the most useful
   * number where none suffices.
   */
  traffic: number;
}

/** Cars a week against the number of carriers of a fleet. */
export interface Curve {
  /** What that many make more than there are now. */
  against_count: Interval | null;
  /** Its row. */
  at: At;
  /** The fleet. */
  carrier: string;
  /** How many there are. */
  count: number;
  /**
   * The fewest from which one more gives nothing that the runs show, nor do
   * all further ones tried; none where even the most tried still gain.
   */
  enough: number | null;
  /**
   * Whether those there are lose cars that more, or fewer in thick traffic,
   * would make.
   */
  loses: boolean;
  /** How many the formula asks for. */
  needed: number;
  /** What one more than that gives, with the same luck. */
  one_more: Interval | null;
  /** The numbers tried, fewest first. */
  points: CurvePoint[];
}

/** A number of carriers tried. */
export interface CurvePoint {
  /** Cars a week fewer than with the best number, with the same luck. */
  below_best: Interval;
  /** How many. */
  carriers: number;
  /** Cars a week. */
  cars: Interval;
  /** In service at a time, charging and unfit ones left out. */
  in_service: number;
  /** Whether the plant locked itself up in one of the runs. */
  locked: boolean;
  /** Whether that difference is shown: its interval leaves zero out. */
  shown: boolean;
}

/** A lot in a line's cycle: a changeover, then at once a run. */
export interface CycleLot {
  /** Blanks are cut, else panels are pressed. */
  blanks: boolean;
  /** Days of the changeover. */
  changeover_days: number;
  /** Days that the lot lasts: the part's next run starts then. */
  cover_days: number;
  /** Pieces. */
  lot: number;
  /** The part. */
  part: string;
  /** Pieces in stock above the safety stock as the run ends. */
  peak: number;
  /** Days of the run. */
  run_days: number;
  /** Day of the cycle on which the changeover starts. */
  start_day: number;
}

/** The cycle of a product at a station. */
export interface CycleRow {
  /** Standard deviation. */
  deviation_s: number | null;
  /** Jobs whose begin and end are in the log. */
  jobs: number;
  /** Mean seconds worked. */
  mean_s: number;
  /** Planned by the book. */
  planned_s: number | null;
  /** The product as the log names it; `-` for none. */
  product: string;
  /** The station. */
  station: string;
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

/** A day of a log. */
export interface DayLine {
  /** Its date. */
  date: string;
  /** Cars that left the plant; none where the log has no genealogy. */
  made: number | null;
  /** Cars planned: the week's, by the open hours of the day. */
  plan: number;
  /** Whether the log has all of it. */
  whole: boolean;
}

/** A loss of the day. */
export interface DayLoss {
  /** Cars not made for it, with its 95 % interval over the replications. */
  cars: Interval;
  /** The cause that the log names; empty for none. */
  cause: string;
  /** How often. */
  events: number;
  /** What kind of loss. */
  kind: LossKind;
  /** Minutes lost at the station. */
  minutes: number;
  /** Its shop. */
  shop: string;
  /** The station; empty for all others together. */
  station: string;
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

/** A kind of defect. */
export type DefectKind = "bad_row" | "bad_stamp" | "bad_number" | "unknown_station" | "unknown_unit" | "unknown_state" | "unknown_result" | "unknown_product" | "clock_back" | "clock_forward" | "long_row" | "missing_hour" | "doubled_hour" | "duplicate" | "contradiction" | "out_of_order" | "overlap" | "gap" | "unpaired_event" | "many_items" | "unknown_item";

/** A kind of defect with its rows. */
export interface DefectLine {
  /** Rows. */
  count: number;
  /** What was expected. */
  expected: string;
  /** The first few. */
  first: LogPlace[];
  /** Which. */
  kind: DefectKind;
  /** Whether such rows were left out. */
  left_out: boolean;
  /** What became of them, and the way out. */
  mend: string;
  /** Seconds they concern, where they concern time. */
  seconds: number;
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

/** Weeks of all stations, and what they come to. */
export interface Drift {
  /** Station by station, figure by figure: whether it moves over the weeks. */
  courses: Course[];
  /** Station by station, week by week. */
  weeks: StationWeek[];
}

/**
 * A walk through a station in the order that reaches the line. Places are
 * those on the line.
 */
export interface DriftOnLine {
  /** Most cars in a row that start late. */
  longest_behind: number;
  /** Places of the cars that end past the drift allowed. */
  past: number[];
  /** The place of that car; 0 where none ends late. */
  worst_place: number;
  /** The farthest that a car ends past the station's end, seconds. */
  worst_s: number;
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

/** The specification with the least cover. */
export interface Emptiest {
  /** The specification. */
  coil: string;
  /** Days of use that are left then. */
  cover_days: number;
  /** The week at whose end it is emptiest; 0 for now. */
  week: number;
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

/** Two ideas of which only one can be taken. */
export interface Exclusive {
  /** The cell that both change. */
  cell: string;
  /** The cheaper one. */
  first: string;
  /** What the second is worth more than the first. */
  gain: ShopValue;
  /** Rates of return of what the second costs more. */
  returns: Returns;
  /** The dearer one. */
  second: string;
  /** Which to take, in words. */
  verdict: string;
}

/** A robot's work done by hand while it is down. */
export interface Fallback {
  /** In words, with the way out where there is none. */
  note: string;
  /** People at its station who do it within takt; none where they cannot. */
  people: number | null;
  /** Seconds of work. */
  seconds: number;
}

/** A family of distributions. */
export type Family = "exponential" | "weibull" | "lognormal";

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

/** A group with its figures. */
export interface FigureRow {
  /**
   * Actual unit delay time in seconds, ADET of ISO 22400-2: stopped, and waiting for
   * help.
   */
  adet_s: number;
  /** Actual production time in seconds, APT of ISO 22400-2: working. */
  apt_s: number;
  /** Actual unit setup time in seconds, AUST of ISO 22400-2: changing over. */
  aust_s: number;
  /** Done with a job that could not leave, within planned time, seconds. */
  blocked_s: number;
  /** The day, by the begin of its shift; empty for all. */
  day: string;
  /** Produced by the group's first station, for the fall-off. */
  first_made: number;
  /** Good quantity, GQ of ISO 22400-2: of these, right at the first try. */
  good: number;
  /** The line; empty for the whole shop. */
  line: string;
  /** Produced quantity, PQ of ISO 22400-2: jobs done, right or not. */
  made: number;
  /** Worked outside planned time; contained in the times above. */
  outside_s: number;
  /**
   * Planned busy time in seconds, PBT of ISO 22400-2: the open hours of the shop
   * from the log's first row to its last, for each unit.
   */
  pbt_s: number;
  /** The same of what was good, seconds. */
  planned_good_s: number;
  /**
   * Planned run time of what was produced, seconds: each shift's jobs by the mean
   * planned cycle of its mix, else of the log's, else the book's.
   */
  planned_run_s: number;
  /** The ratios. */
  ratios: Ratios;
  /** Rework quantity, RQ of ISO 22400-2: of these, sent to be mended. */
  rework: number;
  /** Scrap quantity, SQ of ISO 22400-2: of these, lost. */
  scrap: number;
  /** The shift; empty for all. */
  shift: string;
  /** The shop; empty for the plant. */
  shop: string;
  /** Time down in short ones, seconds. */
  short_s: number;
  /** Of these, shorter than the rules of reading say (`short`). */
  short_stops: number;
  /** Free with no job to work on, within planned time, seconds. */
  starved_s: number;
  /** The station; empty for the whole line. */
  station: string;
  /** Stops begun; one that a break parts is one. */
  stops: number;
  /** Planned time of which the log says nothing. */
  unknown_s: number;
  /** Of that, waiting for help, seconds. */
  waiting_s: number;
}

/** The figures of all groups at one fineness. */
export interface FigureRows {
  /** Groups that are too many to be kept; 0 where all are there. */
  left_out: number;
  /** The groups. */
  rows: FigureRow[];
}

/** Times in seconds, counts, and the figures made of them. */
export interface Figures {
  /**
   * Actual unit delay time in seconds, ADET of ISO 22400-2: stopped, and waiting for
   * help.
   */
  adet_s: number;
  /** Actual production time in seconds, APT of ISO 22400-2: working. */
  apt_s: number;
  /** Actual unit setup time in seconds, AUST of ISO 22400-2: changing over. */
  aust_s: number;
  /** Done with a job that could not leave, within planned time, seconds. */
  blocked_s: number;
  /** Produced by the group's first station, for the fall-off. */
  first_made: number;
  /** Good quantity, GQ of ISO 22400-2: of these, right at the first try. */
  good: number;
  /** Produced quantity, PQ of ISO 22400-2: jobs done, right or not. */
  made: number;
  /** Worked outside planned time; contained in the times above. */
  outside_s: number;
  /**
   * Planned busy time in seconds, PBT of ISO 22400-2: the open hours of the shop
   * from the log's first row to its last, for each unit.
   */
  pbt_s: number;
  /** The same of what was good, seconds. */
  planned_good_s: number;
  /**
   * Planned run time of what was produced, seconds: each shift's jobs by the mean
   * planned cycle of its mix, else of the log's, else the book's.
   */
  planned_run_s: number;
  /** The ratios. */
  ratios: Ratios;
  /** Rework quantity, RQ of ISO 22400-2: of these, sent to be mended. */
  rework: number;
  /** Scrap quantity, SQ of ISO 22400-2: of these, lost. */
  scrap: number;
  /** Time down in short ones, seconds. */
  short_s: number;
  /** Of these, shorter than the rules of reading say (`short`). */
  short_stops: number;
  /** Free with no job to work on, within planned time, seconds. */
  starved_s: number;
  /** Stops begun; one that a break parts is one. */
  stops: number;
  /** Planned time of which the log says nothing. */
  unknown_s: number;
  /** Of that, waiting for help, seconds. */
  waiting_s: number;
}

/** What a file of a log is. */
export type FileRole = "states" | "counts" | "quality" | "genealogy" | "events";

/** What first time right loses at one check. */
export interface FirstTimeLoss {
  /** Its row. */
  at: At;
  /**
   * First time right if this check let every car go on and all else stayed as
   * it is: less than `lost` above the run, for some of those cars fail further on.
   */
  if_right: number;
  /** Cars that failed here and nowhere before, as a share of all that ended. */
  lost: Interval;
  /** Their share of all cars that were not right at the first try. */
  of_loss: number;
  /** The station. */
  station: string;
}

/**
 * First time right: of the cars that ended in the weeks measured, finished or
 * scrapped, the share that was sent to no rework and lost at no check on its
 * way (rolled throughput yield).
 *
 * A car is followed from where its own way begins. What is repaired or lost of
 * a part, door or pack before it is built in counts there, not on the car.
 */
export interface FirstTimeRight {
  /**
   * What the run has less (or more) than the plan, and why, where the plan lies
   * outside the interval.
   */
  differs: string | null;
  /** The checks that were the first to stop most cars, the worst first. */
  losses: FirstTimeLoss[];
  /** The share in the run. */
  made: Interval;
  /** The same share by plan; none where it makes no cars. */
  planned: number | null;
  /** The target, where the book sets one. */
  target: number | null;
  /** Whether the target is kept; none without one. */
  verdict: Verdict | null;
}

/** What the times say, family by family. */
export interface Fit {
  /** Position of the one with the least AIC. */
  best: number;
  /** Times cut off. */
  cut: number;
  /** Times seen to their end. */
  ended: number;
  /** The families that could be fitted. */
  families: Fitted[];
}

/** A family fitted. */
export interface Fitted {
  /** Akaike's criterion: twice the parameters less twice the likelihood. */
  aic: number;
  /** Which. */
  family: Family;
  /** Whether the times look like it. */
  goodness: Goodness | null;
  /** Log-likelihood at its greatest. */
  log_likelihood: number;
  /** Mean. */
  mean: Span;
  /** Median. */
  median: number;
  /**
   * Scale: the exponential's mean, Weibull's characteristic life, the
   * lognormal's median.
   */
  scale: Span;
  /** Shape, see [`Family`]; 1 for the exponential. */
  shape: Span;
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

/** Hours that a bought piece leaves free. */
export interface Freed {
  /** Whether it is the plant's constraint. */
  constraint: boolean;
  /** Hours a week. */
  hours: number;
  /** Its load now. */
  load: number;
  /** The line or station. */
  place: string;
}

/** What is to be reached: a rate, a lead time, or both. */
export interface Goal {
  /** Cars a week, if a rate is to be reached. */
  cars_per_week: number | null;
  /**
   * Days from coil to car that nine cars in ten keep, if a lead time is to be
   * reached.
   */
  days: number | null;
}

/** A goal and its bound. */
export interface GoalProof {
  /** No order that does as well in the goals before has less. */
  at_least: number;
  /** What it weighs. */
  goal: string;
  /** The order's weighted sum. */
  value: number;
}

/** Anderson and Darling's statistic and how often chance gives a worse one. */
export interface Goodness {
  /**
   * Share of logs of such a distribution that look worse; none where there
   * is too little or too much cut off to say.
   */
  p: number | null;
  /** A². */
  statistic: number;
}

/** The forecast against the plant. Serialises as it is. */
export interface Growth {
  /** What all steps cost a year once all of them are at work, beside that. */
  cost_per_year: number;
  /** The currency of all money. */
  currency: string;
  /** Figures with their working, by id; none once read back. */
  figures: Record<string, ShopFigure>;
  /** Whether the ideas of the book follow the forecast to its end. */
  holds: boolean;
  /** What all steps cost once. */
  investment: number;
  /** Money by quarter of the year, from the first decision to the last period. */
  money: QuarterMoney[];
  /** Why there is no ramp. */
  no_ramp: string | null;
  /** The periods, the earliest first. */
  periods: PeriodGrowth[];
  /** The plant's name. */
  plant: string;
  /** The products, in the book's order. */
  products: string[];
  /** The ramp of a start; none where the book has no model of learning. */
  ramp: Ramp | null;
  /** How the runs were made, where they were asked for. */
  run: RunSettings | null;
  /** The shops, from coil to car: when each runs out. */
  shops: ShopGrowth[];
  /** The ideas that follow the forecast, in the order in which they are needed. */
  steps: Step[];
  /** What no idea of the book frees. */
  stuck: Stuck2[];
}

/** Distances around a kind of robot. */
export interface Guard {
  /** What must be done before anybody relies on it, or what is missing. */
  caution: string;
  /** From a light curtain, met head on. */
  curtain_mm: ShopValue | null;
  /** The kind of robot. */
  robot: string;
  /** From the edge of a floor scanner's field. */
  scanner_mm: ShopValue | null;
  /** Where speed and separation are watched instead. */
  separation_mm: ShopValue | null;
}

/** What half the changeover time gives. */
export interface Halved {
  /**
   * The hours kept and every lot halved: days by which the oldest piece of
   * the parts concerned is younger, on average.
   */
  days: number;
  /** The hours kept and every lot halved: money saved a year, racks included. */
  halved_lots_saved_per_year: number;
  /** The lots of least cost: hours a week of the lines that become free. */
  hours_per_week: number;
  /** The line; none for all of them. */
  line: string | null;
  /** The hours kept and every lot halved: racks not needed. */
  racks: number;
  /** The lots of least cost: money saved a year. */
  saved_per_year: number;
}

/** A goal before and after. */
export interface HandGoal {
  /** What it weighs; the first is what must hold. */
  goal: string;
  /** The weighted sum of the order as planned. */
  planned: number;
  /** That of the order as it is now. */
  value: number;
}

/** Cars taken out of the order and put in elsewhere. Places count from 1. */
export interface HandMove {
  /** How many in a row. */
  cars: number;
  /** The place of the first of them. */
  from: number;
  /** The place of the first of them afterwards. */
  to: number;
}

/** The order after all moves: what differs from the plan. Places count from 1. */
export interface HandOrder {
  /** What must hold and does not, in words. */
  broken: string[];
  /** Colours and their blocks. */
  colours: ColourUse;
  /** The goals, the first counting most. */
  goals: HandGoal[];
  /** Whether all that must hold does. */
  holds: boolean;
  /** Options and products against their level lines. */
  level: LevelUse[];
  /** Level use beside that of an order made for it alone. */
  levelling: Levelling | null;
  /** Cars on hold. */
  on_hold: Held2[];
  /** For each place the planned place of the car that stands there now. */
  planned_places: number[];
  /** The promises. */
  promises: Promised[];
  /** What is proven of it: bounds hold for every order of these cars. */
  proof: Proof;
  /** The spacing rules and where the order breaks them. */
  rules: OrderRule[];
  /** Stations whose takt some car exceeds. */
  stations: StationDrift[];
  /** The moves, first to last. */
  steps: HandStep[];
  /** What its headline tells. */
  sums: OrderSums;
  /** The week. */
  week: number;
}

/** What putting some cars at each place would do. Places count from 1. */
export interface HandPlaces {
  /** Places that better the order, best first. */
  better: number[];
  /** How many in a row. */
  cars: number;
  /** By place, what each goal gains in cost; none where they cannot stand. */
  changes: (number[] | null)[];
  /** Places that cost nothing. */
  even: number[];
  /** The place of the first of them. */
  from: number;
  /** The goals by name, the first counting most. */
  goals: string[];
}

/** A move and what it did. */
export interface HandStep {
  /** What it added to each goal. */
  changes: number[];
  /** The move. */
  moved: HandMove;
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

/** What all bakes do to a material. */
export interface HeatSum {
  /** Its row. */
  at: At;
  /** The temperature that its minutes are for. */
  at_c: number;
  /** Minutes that it needs. */
  least_min: number | null;
  /** The material. */
  limit: string;
  /** Minutes that it bears. */
  most_min: number | null;
  /** Minutes that a body gets which is OK at once. */
  normal_min: ShopValue;
  /** What each repair adds. */
  repairs: RepairHeat[];
}

/** Heavy cars in a row at a post. */
export interface Heavy {
  /** The product or option that makes them heavy. */
  cars: string;
  /** Whether that is within the drift allowed. */
  holds: boolean;
  /** The same as metres past the end of the station. */
  past_m: number;
  /** Seconds past takt that the worst run ends, the spacing rules kept. */
  past_s: number;
  /** Seconds of such a car. */
  seconds: number;
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

/** A specification to hold. */
export interface Held {
  /** Its name: the book's, or one made of alloy, gauge and width. */
  coil: string;
  /** Coils used in a mean week. */
  coils_a_week: number;
  /** What holding it costs a year. */
  cost: number;
  /** The figure of that cost. */
  figure: string;
  /** Its gauge. */
  gauge_mm: number;
  /** Whether the book has it. */
  in_book: boolean;
  /** Its mass. */
  mass_kg: number;
  /** Its alloy and temper. */
  material: string;
  /** The parts to cut from it. */
  parts: string[];
  /** Its width. */
  width_mm: number;
}

/** A car on hold. */
export interface Held2 {
  /** Its row. */
  at: At;
  /** The earliest place at which it may come back; none for not this week. */
  back_from: number | null;
  /** The order. */
  order: string;
  /** The place at which it came back; none where it did not. */
  place: number | null;
}

/** Which coil specifications to hold. */
export interface Holding {
  /** The most specifications that may be held. */
  at_most: number;
  /** No choice among the widths looked at costs less. */
  bound: number;
  /** What the best choice of each number of specifications costs. */
  by_number: ByNumber[];
  /** Widths looked at. */
  candidates: number;
  /** What to hold: alloys and gauges in the book's order, widths rising. */
  chosen: Held[];
  /**
   * Coils of the book not to order again: to run out, or to sell where nothing
   * is cut from them today.
   */
  dropped: string[];
  /** The fewest that cover all parts. */
  fewest: number;
  /** (`then` − bound) / bound; 0 where the choice is proven best. */
  gap: number;
  /** What the specifications of the book cost a year, each part on its best. */
  now: YearlyCost;
  /** What the chosen ones cost. */
  then: YearlyCost;
}

/** A person's hour and the robots' hours. */
export interface HourPrices {
  /** What an hour of a filled post costs. */
  person: ShopValue | null;
  /** Each kind of robot. */
  robots: RobotHour[];
}

/** An hour of a shop. */
export interface HourRow {
  /** The hour on the plant's clock, 0 to 23. */
  hour: number;
  /**
   * Cars that left the shop: where they leave the plant those of the genealogy, if
   * there is one, else jobs done right at the shop's last stations.
   */
  made: number;
  /** Cars planned: the week's, by open time. */
  plan: number;
  /** The shop. */
  shop: string;
}

/** How a task can be done. */
export type How = "hand" | "aided" | "robot";

/** A change of the plant that may be worth its money. */
export interface Idea {
  /** The cells it changes. */
  changes: CellChange[];
  /** What it costs a year beside; none where neither says. */
  cost_per_year: number | null;
  /** Its number: the same for the same book and settings. */
  id: number;
  /** What it costs once; none where neither idea nor book says. */
  investment: number | null;
  /** Where it comes from. */
  kind: IdeaKind;
  /** Years it is used. */
  life_years: number;
  /** Its name. */
  name: string;
  /** The station, line, crew or shop that it changes. */
  place: string;
  /** Weeks until it works; none for a found one. */
  weeks: number | null;
}

/** Where an idea comes from. */
export type IdeaKind = "yours" | "cycle" | "repair" | "stops" | "unit" | "places" | "crew" | "changeover" | "lots" | "start" | "carriers" | "first_time_ok" | "shift" | "robot" | "person";

/** What became of an import. */
export interface Imported {
  /** What the reader and the checks say. */
  problems: Problem[];
  /** The new head; the old one when nothing changed. */
  revision: Revision;
}

/** Ideas ranked. */
export interface Improve {
  /** The plant as it is. */
  as_it_is: AsItIs;
  /**
   * What a car more brings; none where the book has neither the setting
   * `margin_per_car` nor a price for every product.
   */
  car: CarWorth | null;
  /** A lower bound on the probability that none makes more at all. */
  first_is_best: number;
  /**
   * A lower bound on the probability that no other idea makes more than the
   * first by more than [`Improve::indifferent`].
   */
  first_is_good: number;
  /**
   * Runs more that would tell the first two ideas apart, an estimate by the spread
   * between them; none where they are told apart or the spread is not known.
   */
  further: number | null;
  /** The ideas that were run, the best first. */
  ideas: RankedIdea[];
  /** Cars a week that make no difference. */
  indifferent: number;
  /** What is worth knowing. */
  notes: Problem[];
  /** Whether the level asked for was reached; else more runs would tell. */
  reached: boolean;
  /** Runs made in all. */
  runs: number;
  /**
   * What gives no car and saves money, the most first; coils of other widths
   * among it where blanks were laid for [`Improve::car`].
   */
  savings: Saving[];
  /** How the ideas were run. */
  settings: ImproveSettings;
  /** Whether it was stopped before its end: the best so far. */
  stopped: boolean;
  /**
   * Places from the first on that are certain at the level: no idea behind one
   * of them makes more by more than [`Improve::indifferent`].
   */
  sure: number;
  /** The ideas that were not run. */
  unrun: UnrunIdea[];
}

/** How ideas are ranked. */
export interface ImproveSettings {
  /** Runs of the plant as it is, whose luck they then show. */
  control: number;
  /** Runs of every idea to begin with. */
  first: number;
  /** Ideas that are run, at most; the book's own always are. */
  ideas: number;
  /**
   * An idea is as good as another that makes no more than this part of the
   * needed rate more.
   */
  indifferent: number;
  /** Level of the intervals, and of the first idea being the first. */
  level: number;
  /**
   * Places that the runs are to tell apart: once the first is certain, those
   * left go to the second, and so on.
   */
  places: number;
  /** Runs in all, at most. */
  runs: number;
  /** The seed of all streams. */
  seed: number;
  /** Weeks measured in a run. */
  weeks: number;
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
  /**
   * The best that a search has found so far, in the order in which it counts;
   * empty where nothing is searched or found yet.
   */
  best: SoFar[];
  /** Replications, or parts of a shop's plan, done. */
  done: number;
  /** Its number. */
  id: number;
  /** What it does. */
  kind: JobKind;
  /** What is going on, or what went wrong. */
  message: string;
  /** The same in all, as far as is known; 0 where it is not. */
  of: number;
  /** The revision it was first asked for. */
  revision: number;
  /** Where it is. */
  state: JobState;
}

/** What a job does, in a word. */
export type JobKind = RunKind | Shop | AskKind;

/** Where a job is. */
export type JobState = "queued" | "running" | "done" | "cancelled" | "failed";

/** A group of like joints. */
export interface JoinGroup {
  /** The assembly it belongs to. */
  assembly: string;
  /** Its row. */
  at: At;
  /** Money a year. */
  cost_per_year: ShopValue | null;
  /** Seconds of a joint with its part of the stops. */
  effective_s: ShopValue;
  /** Whether it holds the shape. */
  geometry: boolean;
  /** Seconds of a joint within the cycle. */
  in_cycle_s: number;
  /** Its name. */
  join: string;
  /** Joints on a car. */
  joints: number;
  /** The method taken. */
  method: JoinMethod;
  /** Why this method. */
  reason: string;
  /** The best of the other methods that may be used. */
  runner_up: JoinMethod | null;
  /** What the runner-up costs more a year. */
  runner_up_dearer: number | null;
  /** The parts of its stack with their gauges. */
  stack: string;
  /** Stations at which it is made. */
  stations: string[];
  /** Gun, rivet and die, or nozzle that makes it. */
  variant: string;
  /** All methods. */
  ways: MethodWay[];
  /** Its zone. */
  zone: string | null;
}

/** How a joint is made. */
export type JoinMethod = "adhesive" | "rivet" | "arc" | "spot" | "tape_spot";

/** The kind of text a cell holds. */
export type Kind = "text" | {
  ref: Table;
} | {
  refs: Table;
} | "list" | "number" | "count" | "share" | "yes_no" | {
  word: string[];
} | "clock" | "weekdays" | "breaks" | "places";

/** One kind of cost over all shops. */
export interface KindCost {
  /** For a mean car. */
  cost: number;
  /** The kind. */
  kind: CostKind;
  /** Its part of the total. */
  share: number;
  /** Whether one more car costs it once more. */
  variable: boolean;
}

/** A body's stay in the store. */
export interface LaneStay {
  /** The beat in which it came. */
  came: number;
  /** The lane, from 1. */
  lane: number;
  /** The beat in which it left. */
  left: number;
  /** Its place in the wanted order. */
  place: number;
}

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

/** A cell of the book with what the log says of it. */
export interface LearnedCell {
  /** The value in the book. */
  book: number | null;
  /** The cause, where the cell is of one. */
  cause: string | null;
  /** Its column, whose unit the values have. */
  column: string;
  /** Stops, repairs, jobs or changes seen to their end. */
  evidence: number;
  /** Of a fit, the family whose mean it is. */
  family: Family | null;
  /** Of a fit, all of it. */
  fit: Fit | null;
  /** Whether there is a fit to look at. */
  fitted: boolean;
  /** The value found, with its 95 % interval. */
  found: Span;
  /** Of stops, the standard's mean: divided by failures plus one. */
  iso: number | null;
  /** Its number; its fit is asked for by it. */
  n: number;
  /** Its row. */
  row: number;
  /** The station or line. */
  station: string;
  /**
   * Of a fit, the share of times (seconds) that last longer, straight from
   * the log.
   */
  survival: SurvivalStep[];
  /** Table of the book. */
  table: string;
  /**
   * The value as it would go into the cell; none where there is only a limit, or
   * no cell.
   */
  text: string | null;
  /** Of stops, whether they come more or less often. */
  trend: Trend | null;
  /** What it comes to. */
  verdict: CellVerdict;
  /** Why it is open, if it is. */
  why: string | null;
}

/** What a doubling of the pieces shortens by the learning rate. */
export type LearningModel = "unit" | "average";

/** The legal range of a number. */
export interface Legal {
  /** Whether the lowest number itself is illegal. */
  above: boolean;
  /** The lowest number. */
  from: number;
  /** The highest number. */
  to: number | null;
}

/** Use up to a place. */
export interface LevelPoint {
  /** The level line there. */
  line: number;
  /** The place. */
  place: number;
  /** Cars built with it up to there. */
  used: number;
}

/** An option or product against its level line. */
export interface LevelUse {
  /** Cars with it. */
  cars: number;
  /** The option or product. */
  name: string;
  /** Cars built with it up to some places. */
  points: LevelPoint[];
  /** Root of the mean squared distance, in cars. */
  spread: number;
  /** Farthest from the line, in cars, ahead positive. */
  worst: number;
  /** Where that is. */
  worst_place: number;
}

/**
 * Level use as one figure: the sum over all places, products and options of
 * the squared distance from the level line, in cars.
 */
export interface Levelling {
  /**
   * Of the same cars by goal chasing, which minds nothing but level use:
   * what lies between is what spacing, colours and promises cost in it.
   */
  goal_chasing: number;
  /** Of this order. */
  order: number;
}

/** The time that a trial shortens. */
export type Lever = "cycle" | "repair" | "changeover";

/** A limit in force. */
export interface LimitUsed {
  /** Its row, where the book replaces the usual one. */
  at: At | null;
  /** The limit. */
  limit: number;
  /** The method. */
  method: JoinMethod;
  /** The rule, as the book writes it. */
  rule: string;
  /** Where it comes from. */
  source: string;
}

/** A log that is kept. */
export interface LogEntry {
  /** Who brought it. */
  author: string;
  /** Its files. */
  files: LogFile[];
  /** Its number. */
  id: number;
  /** Its name. */
  name: string;
  /** When, as RFC 3339 in UTC. */
  time: string;
  /** How its words are read. */
  words: LogWords;
}

/** A file of a log. */
export interface LogFile {
  /** Their number. */
  bytes: number;
  /** Its columns; none of an event log. */
  columns: string[];
  /** The SHA-256 of its bytes. */
  digest: string;
  /** Its name. */
  name: string;
  /** What it is. */
  role: FileRole;
}

/** What was decided about a loss of a day. */
export interface LogNote {
  /** Its cause; empty for none. */
  cause: string;
  /** The day, such as 2026-03-10. */
  day: string;
  /** The kind of loss. */
  kind: LossKind;
  /** The station; empty where it is of the whole day. */
  station: string;
  /** Until when. */
  until: string;
  /** What is to be done; empty takes the note away. */
  what: string;
  /** Who does it. */
  who: string;
}

/** A row with a defect. */
export interface LogPlace {
  /** The column. */
  column: string;
  /** The file. */
  file: string;
  /** What stands there. */
  found: string;
  /** The row as an editor shows it; the header is 1. */
  row: number;
}

/** What a station is at. */
export type LogState = "working" | "setup" | "stopped" | "waiting" | "starved" | "blocked" | "off";

/** How a log's own words are read. */
export interface LogWords {
  /** Our causes by theirs. */
  causes: Record<string, string>;
  /** Our columns by theirs. */
  columns: Record<string, string>;
  /** Our products by theirs. */
  products: Record<string, string>;
  /** Results of quality by their words. */
  results: Record<string, QualityResult>;
  /** Our states by theirs. */
  states: Record<string, LogState>;
  /** Our stations by theirs. */
  stations: Record<string, string>;
  /** The plant's clock, such as `+01:00 eu`; universal time where empty. */
  zone: string;
}

/** A day. */
export interface LoggedDay {
  /** Planned less what the plant makes on this day without any loss. */
  beyond: Interval;
  /** Its date. */
  date: string;
  /** Made against plan, by shop and hour. */
  hours: HourRow[];
  /** The losses, the dearest first; the last may be all others together. */
  losses: DayLoss[];
  /** Cars that all losses together cost. */
  lost: Interval;
  /** Cars made, by the log. */
  made: number;
  /** Cars planned: the week's, by the open hours of the day. */
  plan: number;
  /** Cars of the replay with all losses. */
  replayed: Interval;
  /** Replications. */
  replications: number;
  /** Planned less made. */
  shortfall: number;
  /** The day's stops by cause, the most time down first. */
  stops: CauseRow[];
  /**
   * What the replay makes with all losses less what was really made: what
   * the model does not explain.
   */
  unexplained: Interval;
  /** Who starved and who was blocked longest. */
  waits: StationWaits[];
}

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

/** What kind of loss. */
export type LossKind = "stop" | "slow" | "starved" | "blocked" | "reject" | "others";

/** What a lost car costs. */
export interface LostCar {
  /** At the constraint: the margin of a mean car. */
  at_constraint: ShopValue;
  /** Whether a run told where; else the plan's weakest station. */
  by_run: boolean;
  /** Whether the margin is the book's setting; else prices less what varies. */
  given: boolean;
  /** Where minutes cost, the dearest first. */
  minutes: LostMinute[];
  /** Off the constraint: the time is made up, and nothing is lost. */
  off_constraint: number;
  /**
   * Whether the plant can sell all that it can make, so that a car lost is a
   * car short.
   */
  short: boolean;
  /**
   * The time that can be lost and made up, where the plant makes more than is
   * needed; only what is lost beyond it costs cars.
   */
  spare: Spare | null;
}

/** What a minute lost at a station costs. */
export interface LostMinute {
  /** What a minute costs on the mean. */
  minute: ShopValue;
  /** The station or line. */
  place: string;
  /**
   * Share of its lost minutes that the plant never makes up once
   * [`LostCar::spare`] is used: its share of the critical path in a run, 1 for
   * the plan's weakest.
   */
  share: number;
  /** Its shop. */
  shop: string;
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

/** A part or sub-assembly made or bought. */
export interface MakeOrBuy {
  /** Whether it is a line's sub-assembly. */
  assembly: boolean;
  /** The row with the price. */
  at: At;
  /** What one costs bought. */
  buy: number;
  /** Days from order to the last piece of the delivery used. */
  buy_days: ShopValue | null;
  /** Cars a week that the freed hours give at the constraint. */
  cars_freed: number;
  /**
   * Where its making stands: lines or stations with the hours that would be
   * free.
   */
  freed: Freed[];
  /** Those hours a week together. */
  freed_h: number;
  /** What those are worth for a piece bought. */
  freed_worth: number;
  /** Whether the plant makes it today. */
  made_today: boolean;
  /** What making one costs, people and capital of the lines included. */
  make: ShopValue;
  /** Days from coil to the piece ready, at most. */
  make_days: number;
  /**
   * Of it what is saved at once when it is bought: metal, bought parts,
   * consumables, energy.
   */
  make_saved: number;
  /** Its name: a part, or a line whose sub-assembly it is. */
  name: string;
  /** Good pieces a week. */
  pieces: number;
  /** What the better way saves a year against the other, as the verdict counts. */
  saves_a_year: number;
  /** What to do, by cost. */
  verdict: BetterWay;
  /** Why, in words. */
  why: string;
}

/** A line of the paper. */
export interface Mark {
  /** Where it lies. */
  at: number;
  /** A share ended or a time. */
  value: number;
}

/** The metal of a mean week as things are. */
export interface Metal {
  /** Metal bought. */
  bought_kg: number;
  /** Cost, scrap credited. */
  cost: number;
  /** Of it in good blanks. */
  in_blanks_kg: number;
  /** The scrap by alloy. */
  scrap: Scrap[];
  /** What the scrap brings. */
  scrap_credit: number;
  /** Metal in blanks over metal bought. */
  utilisation: number;
}

/**
 * Why the metal of the coil plan is not the metal of the cars: `coils` less `builds`,
 * `offal` and `rest` is `cars`. All in money a week.
 */
export interface MetalBridge {
  /**
   * Blanks that the mean week of the builds takes beyond those of the planned cars;
   * below 0 where it builds fewer.
   */
  builds: number;
  /** Metal of the week's cars: [`CostKind::Metal`] times [`CarMoney::cars`]. */
  cars: number;
  /** Metal of a mean week by the coil plan, the scrap of the strips credited. */
  coils: number;
  /**
   * What is credited at the presses: what they trim off the blanks, and blanks and
   * panels lost.
   */
  offal: number;
  /** What is left, as of gauges that are delivered otherwise than they are drawn. */
  rest: number;
}

/** What a method would be for a group. */
export interface MethodWay {
  /** Consumables of a joint. */
  consumables: number | null;
  /**
   * Money a year for the group: consumables, robot seconds, inspection, and its
   * own gun, die or nozzle where no other group uses it.
   */
  cost_per_year: number | null;
  /** Seconds of a joint with its part of the stops. */
  effective_s: number | null;
  /** Seconds of a joint within the cycle. */
  in_cycle_s: number | null;
  /** Joints on a car; none where the method is refused. */
  joints: number | null;
  /** The method. */
  method: JoinMethod;
  /** Rules that the stack breaks; none where the method may be used. */
  refused: BrokenLimit[];
}

/** A price that the book does not give. */
export interface Missing {
  /** The column, or the setting. */
  column: string;
  /** What to write where. */
  mend: string;
  /** Further rows that lack the same. */
  more: number;
  /** The name of the row. */
  name: string;
  /** The first such row; none for a setting that has no row. */
  row: number | null;
  /** The table. */
  table: string;
  /** What is too low for it. */
  what: string;
}

/** A figure of the log against the model's. */
export interface ModelCheck {
  /** Whether the log lies there. */
  inside: boolean;
  /** What really came out. */
  log: number;
  /** Where one further run of the model would lie, 95 times in 100. */
  model: Span;
  /** The station, for a state. */
  station: string | null;
  /** What: `cars a week`, `days coil to car, median`, or a state. */
  what: string;
}

/** A task that moves. */
export interface Move {
  /** Its row. */
  at: At;
  /** Who does it there, where that is somebody else than today. */
  by: string | null;
  /** Where it is done today. */
  from: string;
  /** The task. */
  task: string;
  /** Where it goes. */
  to: string;
}

/** A part to make elsewhere. */
export interface MovePart {
  /** Its row. */
  at: At;
  /** Blanks are cut, else panels are pressed. */
  blanks: boolean;
  /** The part. */
  part: string;
  /** The other line that can make it and has room; none where there is none. */
  to: string[];
}

/** What a figure does over the weeks. */
export type Movement = "rises" | "falls" | "jumps" | "steady" | "open";

/** A log as it is sent: files that were taken in before. */
export interface NewLog {
  /** Who brings it. */
  author: string;
  /** Its files. */
  files: LogFile[];
  /** Its name. */
  name: string;
  /** How its words are read. */
  words?: LogWords;
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

/** A part or sub-assembly with one way only. */
export interface NotCompared {
  /** Its row. */
  at: At;
  /** Its name. */
  name: string;
  /** What is missing, and what to write. */
  why: string;
}

/** How far an order is from the wanted one. */
export interface Off {
  /** Share of cars in their place. */
  in_place: number;
  /** Places that a car is away from its own, on average. */
  mean_places: number;
  /** The same of the car farthest away. */
  most_places: number;
  /** Pairs of cars the wrong way round. */
  pairs: number;
}

/** What one robot less takes. */
export interface OneLess {
  /** Cars a week then. */
  cars_per_week: number;
  /** Seconds of takt more. */
  more_s: number;
  /** Robots then. */
  robots: number;
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

/** How long a station takes a car with an option and no other. */
export interface OptionCycle {
  /** Seconds on such a car. */
  cycle_s: number;
  /** The option. */
  option: string;
  /** The product. */
  product: string;
}

/** A spacing rule and its breaks. */
export interface OrderRule {
  /** Runs that any order must break with no other rule to mind. */
  at_least: number;
  /** Most cars with it ... */
  at_most: number;
  /** First places of the runs of cars that break it. */
  broken_at: number[];
  /** Further such runs that begin among the cars of the week before. */
  broken_before: number;
  /** Runs that break it in the order that reaches the line. */
  broken_on_line: number;
  /** Cars with the option. */
  cars: number;
  /** Where it comes from. */
  from: RuleFrom;
  /** ... in so many in a row. */
  in_every: number;
  /** The option; of a product that overruns a station, the product. */
  option: string;
  /** The product that it is limited to; none for all. */
  product: string | null;
  /** Whether it is weighed; a rule that another implies is not. */
  weighed: boolean;
  /** Its weight; none where it must hold. */
  weight: number | null;
}

/** Breaks summed over rules and promises. */
export interface OrderSums {
  /** Promises not kept. */
  late: number;
  /**
   * Runs of cars past a spacing rule; a rule that another implies is not
   * counted twice.
   */
  runs_past: number;
  /** Those of them that need not be kept. */
  wishes_late: number;
}

/** Coil orders for the weeks planned, with the coils of the book. */
export interface Orders {
  /** Each specification in use, in the book's order. */
  coils: CoilOrders[];
  /**
   * The day, such as Monday, on which what comes in a week is taken to come,
   * before the first cut.
   */
  delivery_day: string;
  /** The specification that is emptiest, and when. */
  emptiest: Emptiest | null;
  /** Places for coils. */
  places: number;
  /** Chance wanted that an order comes in time. */
  service: number;
  /** Places taken at the end of each week. */
  stored: number[];
  /**
   * Places taken just after the deliveries of each week if all of them come on
   * that day.
   */
  stored_after_deliveries: number[];
  /** Places taken now, all specifications, those too of which nothing is cut. */
  stored_now: number;
  /** How many weeks are planned. */
  weeks: number;
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

/** A line that lacks time. */
export interface Overload {
  /** Its row. */
  at: At;
  /** The line, of several like units the unit. */
  line: string;
  /** The ways out in a sentence. */
  mend: string;
  /** Hours missing a week. */
  missing_h: number;
  /** The fewest parts that free the line when they are made elsewhere. */
  move_parts: MovePart[];
  /** Whether it is proven that no spread over the lines in the book fits. */
  proven: boolean;
  /** Minutes to save on each changeover instead; none when that is not enough. */
  save_minutes: number | null;
}

/**
 * A station that the order of a run overruns: from the plan, walked car by car
 * with mean times and no stops, and beside it what the station had in the run.
 * Places are those of the order, or on the line.
 */
export interface Overrun {
  /** Its row. */
  at: At;
  /** Seconds that work may drift past its end. */
  drift_s: number;
  /** Cars whose work exceeds takt. */
  heavy_cars: number;
  /** What the station had of it in the run; none before one is made. */
  in_run: OverrunInRun | null;
  /** Cars that end past the drift in the order as it is released. */
  overruns: number;
  /** Cars that end past the drift as they reach the line after repairs. */
  overruns_on_line: number;
  /** The station. */
  station: string;
  /** Seconds from car to car. */
  takt_s: number;
  /** The farthest of them, seconds. */
  worst_on_line_s: number;
  /** Its place. */
  worst_place: number;
  /** Its place on the line. */
  worst_place_on_line: number;
  /** The farthest that one ends past the station's end, seconds. */
  worst_s: number;
}

/**
 * What a station had of the order in the run: work and stops as they fell.
 * Means over replications.
 */
export interface OverrunInRun {
  /** Cars a week that were taken up when the station was past it already. */
  begun_past: Interval;
  /** Seconds behind takt at which a car was taken up, on average. */
  behind_s: Interval;
  /** Cars a week that ended past the drift. */
  past: Interval;
  /** Replications looked at: the first of the run. */
  replications: number;
  /** The car that did so, of all replications: product and options. */
  worst_car: string;
  /** The farthest that a car ended past the station's end, seconds. */
  worst_s: Interval;
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

/** The plan of a paint shop. */
export interface Paint {
  /** Good bodies that leave it a week. */
  bodies: number;
  /** What does not hold, each with its row and the way out. */
  broken: Problem[];
  /** What to mind where people can get hurt. */
  cautions: string[];
  /** Colours; none where no coat has one. */
  colours: Colours | null;
  /** The currency of all money. */
  currency: string;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /** What all bakes do to adhesives and alloys. */
  heat: HeatSum[];
  /** Whether nothing stands under [`Paint::broken`]. */
  holds: boolean;
  /** Hours from the first door to the last, without waiting between steps. */
  hours: number;
  /** Length of the whole line, as it is or as it needs to be. */
  length_m: number;
  /** Paint and sealer of all steps for a good body; 0 where no coat has a price. */
  material_cost: number;
  /** Working hours a week. */
  net_h: number;
  /** Worth knowing. */
  notes: Problem[];
  /** The plant's name. */
  plant: string;
  /** Inspection and repairs. */
  repairs: RepairLoad;
  /** Robots that spray or lay beads. */
  robots: number;
  /** The shop. */
  shop: string;
  /** Solvent to the air; none where no coat says what it holds. */
  solvent: Solvent | null;
  /** What each station on a step or at a repair has from here. */
  stations: PaintStation[];
  /** The steps along the line. */
  steps: PaintStep[];
  /** The store behind paint. */
  store: StoreSize;
  /** Time from good body to good body. */
  takt_s: ShopValue;
}

/** What a station has from its step or repair. */
export interface PaintStation {
  /** Its row. */
  at: At;
  /** Seconds of the cycle for colour changes. */
  change_s: number | null;
  /** Time for a body at one of its places. */
  cycle_s: ShopValue;
  /** Its measured cycle, which wins. */
  measured_s: number | null;
  /** Seconds that an applicator is on the body. */
  path_s: number | null;
  /** Robots from the applicators; none where the step has none. */
  robots: number | null;
  /** Robots that the book gives; 0 leaves them to the applicators. */
  robots_given: number;
  /** The station. */
  station: string;
  /** The step or repair. */
  step: string;
}

/** A step of the line. */
export interface PaintStep {
  /** The longest that a body may wait before it, and what waits longest. */
  age: CoatAge | null;
  /** Its row. */
  at: At;
  /** Bodies a week, repeats counted. */
  bodies: number;
  /** The coat. */
  coat: string;
  /** Time from body to body of its conveyor. */
  cycle_s: ShopValue;
  /** Minutes from door to door. */
  dwell_min: number;
  /** What is laid on. */
  film: CoatFilm | null;
  /** Where it begins along the line. */
  from_m: number;
  /** Bodies in it, on average. */
  inside: number;
  /** Its kind. */
  kind: CoatKind;
  /** Whether the book gives its length. */
  length_given: boolean;
  /** Its length: the one it has, or else the one that its time needs. */
  length_m: number;
  /** The length that its time and window need. */
  needed_m: ShopValue;
  /** Passes for each good body that leaves the shop. */
  passes: number;
  /** Distance from body to body. */
  pitch_m: number;
  /** Whether the book gives that speed. */
  speed_given: boolean;
  /** Speed of its conveyor. */
  speed_m_min: number;
  /** Its stations. */
  stations: string[];
  /** Time from body to body that the rate allows here. */
  takt_s: ShopValue;
  /** Temperature, in an oven that of the metal. */
  temperature_c: number | null;
  /** Its window at metal temperature, for an oven. */
  window: BakeWindow | null;
}

/** The store between paint and the line. Places count from 1. */
export interface PaintedStore {
  /** Places of the wanted order, as bodies arrive. */
  arriving: number[];
  /** How far that is from the wanted order. */
  arriving_off: Off;
  /** Most bodies in the store at once, by the best rules. */
  fullest: number;
  /** Bodies that it holds back so that it can choose. */
  hold: number;
  /** Places in each. */
  lane_places: number;
  /** Lanes. */
  lanes: number;
  /** What it takes to restore the wanted order in full. */
  needed: StoreNeed;
  /** Places of the wanted order, as bodies leave by the best of these. */
  on_line: number[];
  /** How far that is from the wanted order. */
  on_line_off: Off;
  /** Bodies repaired in this week's luck. */
  repaired: number;
  /** The ways on which paint sends bodies round. */
  repairs: RepairWay[];
  /** What simple rules and the look-ahead make of it. */
  rules: StoreRule[];
  /** Each body's stay, in the order of arrival. */
  stays: LaneStay[];
}

/** A family's paper and its curve. */
export interface Paper {
  /** The family. */
  family: Family;
  /** The fitted line: where it lies up at the paper's left and right edge. */
  line: number[];
  /** The times of the log. */
  points: PaperPoint[];
  /** Shares that it is ruled at. */
  shares: Mark[];
  /** Share that lasts longer by the family, at each of the plot's times. */
  survival: number[];
  /**
   * Times that the paper is ruled at, the first its left edge, the last its
   * right one.
   */
  times: Mark[];
}

/** A point on a family's paper. */
export interface PaperPoint {
  /** Upper end. */
  high: number;
  /** Lower end of its interval, up the paper. */
  low: number;
  /** Share ended by then. */
  share: number;
  /** The time. */
  time: number;
  /** Where it lies across. */
  x: number;
  /** Where it lies up. */
  y: number;
}

/** A part's blanks or panels in lots on their line. */
export interface PartLots {
  /** Its row. */
  at: At;
  /** Blanks are cut, else panels are pressed. */
  blanks: boolean;
  /** Changeovers and keeping, money a year. */
  cost_per_year: number;
  /** Days from lot to lot, on average. */
  every_days: number;
  /** The line, of several like units the unit. */
  line: string;
  /** Days that the longest lot lasts. */
  longest_days: number;
  /** Pieces in a lot, on average. */
  lot: number;
  /** Days that the longest lot may last. */
  most_days: ShopValue;
  /**
   * Pieces that a lot may add to the stock: the places there are, less the
   * safety stock. None without a limit.
   */
  most_stock: number | null;
  /** Age of the oldest piece when it is used, safety stock included. */
  oldest_days: number;
  /**
   * Whether that is the line that the book names; else one of the others that
   * it says could make the part too.
   */
  own_line: boolean;
  /** The part. */
  part: string;
  /** Most pieces in stock, safety stock included. */
  peak_stock: number;
  /** Racks to own; none for blanks before a press, which lie on stacks. */
  racks: ShopValue | null;
  /** Good pieces an hour while the line runs it, stops included. */
  rate_per_hour: ShopValue;
  /** Hours of running a week, stops included. */
  run_h: number;
  /** Pieces of the safety stock, which is under every lot. */
  safety: number;
  /** Good pieces used a week. */
  used_per_week: number;
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

/** One period of the forecast. */
export interface PeriodGrowth {
  /** Of each product, in the book's order. */
  by_product: number[];
  /** Cars a week that the weakest allows today. */
  can: number | null;
  /** The same with the ideas taken by then. */
  can_with: number | null;
  /** Cars a week needed. */
  cars: number;
  /** Cars a week that a run of the plant makes as it is. */
  made: Interval | null;
  /** The same with the ideas taken by then. */
  made_with: Interval | null;
  /** Its name, as the forecast writes it. */
  period: string;
  /** The shops. */
  shops: ShopAt[];
  /** Its first day, year-month-day. */
  starts: string;
  /** Whether that run makes what is needed as the plant is. */
  verdict: Verdict | null;
  /** The same with the ideas taken by then. */
  verdict_with: Verdict | null;
  /** Weeks of the calendar in it. */
  weeks: number;
}

/**
 * Where a blank of a pitch lies: turned over where mirrored, turned about the
 * drawing's origin, its origin put at the place.
 */
export interface Placed {
  /** Whether it is turned over. */
  mirrored: boolean;
  /** 0 for the part itself, 1 for the part beside it. */
  part: number;
  /** Turned counter-clockwise by. */
  rot_deg: number;
  /** Along the feed. */
  x_mm: number;
  /** Across the strip, from its lower edge. */
  y_mm: number;
}

/** A car in its place. */
export interface PlacedCar {
  /** Its colour. */
  colour: string | null;
  /** Whether the place was frozen before. */
  frozen: boolean;
  /** Its options. */
  options: string[];
  /** The order; none for a car that the shares fill in. */
  order: string | null;
  /** Its place. */
  place: number;
  /** The product. */
  product: string;
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

/** What a fit is drawn of. */
export interface Plot {
  /** Each family. */
  papers: Paper[];
  /** Times at which the families' curves are drawn. */
  times: number[];
}

/** A way of timetabling. */
export interface Policy {
  /** Changeovers and keeping, money a year. */
  cost_per_year: number | null;
  /** The longest of the lines' cycles, days. */
  cycle_days: number | null;
  /** Age of the oldest piece of all, safety stocks included. */
  oldest_days: number | null;
  /** Racks of all parts. */
  racks: number | null;
  /** Why there is none. */
  why: string | null;
}

/**
 * From coil to panel on the lines: which line can make which part, in which
 * lots and order each line runs, and what quicker changeovers give.
 * Serialises as it is.
 *
 * Days are days of the week's seven, so that they add up with the other days of
 * the coil-to-car time; hours of a line are its working hours.
 */
export interface Press {
  /** Days from the panel joined to the finished car, at most. */
  after_days: number;
  /** The best repeating timetable found; the lines' timetables are its own. */
  best: Policy;
  /** What to mind where people can get hurt. */
  caution: string;
  /** The rotation: every part once a cycle. */
  common_cycle: Policy;
  /** False when the search was cut short; what was found holds all the same. */
  complete: boolean;
  /** The currency of all money. */
  currency: string;
  /**
   * Every figure with its working, by id. A plan read back has none: the
   * texts of a working are the formula sheet's own.
   */
  figures: Record<string, ShopFigure>;
  /**
   * How far the best found may be from the best there is, as a share of the
   * bound.
   */
  gap: number | null;
  /** What half the changeover time gives: line by line, then all together. */
  halved: Halved[];
  /** Whether every line has a timetable and every part a line strong enough. */
  holds: boolean;
  /** The lines, each of several like units by itself. */
  lines: PressLineLots[];
  /**
   * Each part's lots on its lines, by line and part; those of lines that
   * cannot keep up are left out.
   */
  lots: PartLots[];
  /** No timetable costs less a year. */
  lower_bound_per_year: number | null;
  /** What is odd but can be computed. */
  notes: Problem[];
  /** Lines that lack time, and the ways out. */
  overload: Overload[];
  /** Force, energy and lines of each made part, in the book's order. */
  parts: PressPart[];
  /** The plant's name. */
  plant: string;
  /** Racks of all parts on the lines of each shop; a shop without any is left out. */
  racks: Record<string, number>;
  /** Days that the plant allows itself from coil to car. */
  target_days: number;
  /** Parts that no line, or not their own, is strong enough for. */
  too_strong: TooStrong[];
}

/** What a line does. */
export interface PressLineLots {
  /** Its row. */
  at: At;
  /** Minutes of a changeover, first-off approval included. */
  changeover_min: ShopValue;
  /** Changeovers a week. */
  changeovers_per_week: number;
  /** Share of its hours in changeovers. */
  changing: number;
  /** Its timetable: a cycle that repeats, in the order of time. */
  cycle: CycleLot[];
  /** Days until its timetable starts again; 0 without one. */
  cycle_days: number;
  /** Working hours a week. */
  hours: number;
  /**
   * Days of the shortest rotation in which every part comes round; none
   * where running leaves no time.
   */
  least_cycle_days: number | null;
  /** The line, of several like units the unit. */
  line: string;
  /** Both: above 1 the line cannot. */
  load: number;
  /** Whether that is more than its hours. */
  over: boolean;
  /** Parts it makes. */
  parts: number;
  /** Share of its hours in which it runs, stops included. */
  running: number;
  /** Its shop. */
  shop: string;
  /** The same laid over the line's shifts for one week from Monday. */
  week: WeekLot[];
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
  /** Whether that is more than it can do. */
  over: boolean;
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

/** What a part asks of a line: a screen, not a die design. */
export interface PressPart {
  /** Its row. */
  at: At;
  /** Cutting its blank, if a die does. */
  blanking: Screen | null;
  /** Forming it: drawing, or trimming where that takes more. */
  forming: Screen | null;
  /**
   * Press lines whose rating and bed suffice; empty where nothing is known
   * of the part's force.
   */
  lines: string[];
  /** The part. */
  part: string;
  /** Why there is no force, if there is none. */
  unknown: string | null;
}

/** What a bank is worth. */
export interface PricedBank {
  /** Its row in `links`. */
  at: At;
  /** Jobs in it on average. */
  content: number;
  /** With half of the places. */
  fewer: BankSide;
  /** The station above. */
  from: string;
  /** With half as many more. */
  more: BankSide;
  /** Places there are. */
  places: number;
  /** The row's key. */
  row: string;
  /** The station below. */
  to: string;
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

/** The cost of a car of one product. */
export interface ProductCost {
  /** Its row. */
  at: At;
  /** Good cars a week. */
  cars: number;
  /** Cost of one. */
  cost: number;
  /** Price less what one more costs. */
  margin: number | null;
  /** What one brings. */
  price: number | null;
  /** The product. */
  product: string;
  /** Price less cost. */
  profit: number | null;
  /** What one more costs. */
  variable: number;
}

/** How long a station takes a product's car. */
export interface ProductCycle {
  /** Seconds on its mean car, options by their shares. */
  mean_s: number;
  /** Seconds on its car without any option. */
  plain_s: number;
  /** The product. */
  product: string;
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

/** A promise and what became of it. */
export interface Promised {
  /** Its row. */
  at: At;
  /** Whether it is among what no order keeps together. */
  in_clash: boolean;
  /** Whether it is kept. */
  kept: boolean;
  /** Whether the promise must be kept. */
  must: boolean;
  /** The order. */
  order: string;
  /** Its place; none for a car that stays on hold. */
  place: number | null;
  /** Its place in the order that reaches the line. */
  place_on_line: number | null;
  /** Promised to be among the first so many. */
  within: number;
}

/** What is proven of the order. */
export interface Proof {
  /** How the bounds come about, in words. */
  bound_from: string;
  /** What no order keeps together, where that is proven: rules, promises, blocks. */
  clash: string[];
  /** False when the search was cut short; what was found holds all the same. */
  complete: boolean;
  /** Each goal with its bound, the first counting most. */
  goals: GoalProof[];
  /** Moves tried. */
  moves: number;
  /**
   * `kept`, `impossible` or `unknown`: what must hold, wishes aside. An order
   * cut short may break it although another keeps it.
   */
  must_hold: string;
  /** Whether no order is better. */
  optimal: boolean;
  /** Seed of the search. */
  seed: number;
  /** `found`, `impossible` or `unknown`: an order that breaks nothing. */
  without_break: string;
}

/** What was found of a job. */
export type QualityResult = "ok" | "rework" | "scrap";

/** Money of a quarter. */
export interface QuarterMoney {
  /** The ideas decided in it. */
  ideas: string[];
  /** Invested in it: each idea in the quarter in which it must be decided. */
  investment: number;
  /** The quarter, such as `2027 Q2`. */
  quarter: string;
  /** What the ideas that work by then cost in it. */
  running: number;
  /** All money spent up to its end. */
  spent: number;
}

/** The ramp of a start. */
export interface Ramp {
  /** Cars a week of the plan. */
  cars: number;
  /** Cars fewer than the plan's until then, with the settled people. */
  cars_lost: number;
  /** Cars fewer than the plan's with as many people as the stops let work. */
  cars_lost_manned: number;
  /** Hours of work in the first car. */
  first_hours: number;
  /** The first week with 99 of 100 cars of the plan, with the settled people. */
  full_in: number | null;
  /** What the people beyond the settled ones cost in the ramp. */
  manning_cost: number;
  /** What a doubling shortens. Figures of the two models do not compare. */
  model: LearningModel;
  /** The most people at work that this takes. */
  most_people: number;
  /** People at work on the mean, once settled. */
  people: number;
  /** What a doubling multiplies by. */
  rate: number;
  /** Hours of work in a car once all is settled: those of the plan. */
  settled_hours: ShopValue;
  /** The car with which the work is that of the plan. */
  settled_with: number;
  /** Week by week. */
  weeks: RampWeek[];
}

/** A week of the ramp. */
export interface RampWeek {
  /** The part of the plan's rate that stops let through. */
  availability: number;
  /** Cars made since the start. */
  built: number;
  /** Whether work holds the week back; else stops do. */
  by_work: boolean;
  /** Cars made with the settled people: the least of what stops and work let. */
  cars: number;
  /** Cars made with as many people as needed: all that stops let through. */
  cars_manned: number;
  /** Hours of work in the week's last car. */
  hours: number;
  /** People at work that those take. */
  people: number;
  /** The week, from 1. */
  week: number;
}

/** An idea with what it gives. */
export interface RankedIdea {
  /** Cars a week more. */
  cars: Interval;
  /**
   * Days from coil to car more that nine cars in ten keep; below zero is
   * better.
   */
  days: Interval;
  /** Whether that interval leaves zero out. */
  days_shown: boolean;
  /** The idea. */
  idea: Idea;
  /** Whether the plant locked itself up with it. */
  locked: boolean;
  /** The same for each car more in the year; none where no gain is shown. */
  per_car: number | null;
  /**
   * Cars a week that the critical path promised at most; none for the book's
   * own.
   */
  promise: number | null;
  /**
   * Its rank; ideas that are not shown to differ from the first of them share
   * one.
   */
  rank: number;
  /** Pairs of runs behind these figures. */
  runs: number;
  /** Whether that interval leaves zero out; if not, no difference is shown. */
  shown: boolean;
  /**
   * What it brings a year less what it costs, each car more at
   * [`Improve::car`]; none where either is not known.
   */
  worth: Interval | null;
  /**
   * What it costs a year, the investment spread over its life; none where the
   * money is not known.
   */
  yearly: number | null;
}

/** A rate and what it costs. */
export interface RateCost {
  /** No way to man the lines costs less. */
  bound_per_year: number;
  /** Cars a week. */
  cars: number;
  /** Money a year; none where some line has no balance at that rate. */
  cost_per_year: number | null;
}

/** The whole rate plan; serialises as it is. */
export interface RatePlan {
  /** Good cars a week that the weakest of all would allow, the mix kept. */
  capable: Planned | null;
  /** The fleets, in the book's order. */
  carriers: CarrierPlan[];
  /** Good cars a week in the plan. */
  cars: number;
  /** The currency of all money. */
  currency: string;
  /** Every figure with its working, by id. */
  figures: Record<string, Figure>;
  /**
   * Nothing is short, every load at most 1, and every task has somebody who
   * may do it.
   */
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
  /**
   * Assembly tasks of which a hard screen refuses a way: those that nobody
   * may do first, then those that need an aid.
   */
  screened: Screened[];
  /** The shops, from coil to car. */
  shops: ShopPlan[];
  /** All that cannot do what the plan asks, the worst first. */
  shortfalls: Shortfall[];
  /** The stations, in the book's order. */
  stations: StationPlan[];
}

/** Ratios; none where the log has nothing to divide by. */
export interface Ratios {
  /** AUBT / PBT. */
  allocation_efficiency: number | null;
  /** APT / PBT. */
  availability: number | null;
  /** Planned run time / APT. */
  effectiveness: number | null;
  /** Lost in the group / produced by its first station (from memory). */
  fall_off: number | null;
  /** Good at the first try / produced. */
  first_pass_yield: number | null;
  /** Net equipment effectiveness: setting up counts as available. */
  nee: number | null;
  /** Overall equipment effectiveness. */
  oee: number | null;
  /** Good / produced, by planned run time. */
  quality_ratio: number | null;
  /** Reworked / produced. */
  rework_ratio: number | null;
  /** Lost / produced. */
  scrap_ratio: number | null;
  /** AUST / AUPT. */
  setup_ratio: number | null;
  /** APT / (APT + ADET). */
  technical_efficiency: number | null;
  /** APT / AUBT. */
  utilisation_efficiency: number | null;
}

/** The way to a goal. */
export interface Reach {
  /** All ideas together that do no harm and can be done beside each other. */
  all: WayPoint;
  /** The plant as it is. */
  as_it_is: AsItIs;
  /**
   * The cheapest set whose whole intervals reach the goal; none where no set
   * was found that does.
   */
  cheapest: Reached | null;
  /**
   * Money against cars: sets that nothing cheaper was seen to beat, from none
   * to the most.
   */
  curve: WayPoint[];
  /** What is to be reached. */
  goal: Goal;
  /** The ideas considered. */
  ideas: Idea[];
  /** Ideas without money, or that change nothing that the run sees. */
  left_out: UnrunIdea[];
  /**
   * A cheaper set, or where there is none to tell any, that may reach it: the
   * goal lies within its interval, and more runs would tell.
   */
  perhaps: WayPoint | null;
  /** Runs made. */
  runs: number;
  /** Sets run. */
  sets: number;
  /** How it was sought. */
  settings: ReachSettings;
  /** Whether it was stopped before its end: the best so far. */
  stopped: boolean;
  /**
   * Found ideas that promise something but whose money the book does not tell:
   * they are not considered.
   */
  without_money: number;
}

/** How the way is sought. */
export interface ReachSettings {
  /** Runs of the sets that are told. */
  confirm: number;
  /** Runs of the plant as it is, whose luck the sets then show. */
  control: number;
  /** Runs of a set to begin with; four times as many where it is close. */
  first: number;
  /** Ideas considered, at most: the book's own, then those that promise most. */
  ideas: number;
  /**
   * Found ideas that promise less than this part of the needed rate are not
   * considered.
   */
  indifferent: number;
  /** Level of the intervals. */
  level: number;
  /** Runs in all, at most. */
  runs: number;
  /** The seed of all streams. */
  seed: number;
  /** Weeks measured in a run. */
  weeks: number;
}

/** The set found. */
export interface Reached {
  /**
   * Whether every cheaper set was ruled out: it was run and missed the goal
   * with its whole interval, or is a part of one that did. That needs no idea
   * to do harm that does none alone.
   */
  proved: boolean;
  /** The set. */
  set: WayPoint;
  /** From the plant as it is to it, idea by idea. */
  steps: WayStep[];
}

/** A log as it was read against a book. */
export interface Reading {
  /** Cells whose value lies in its interval. */
  agree: number;
  /** Its days. */
  days: DayLine[];
  /** What is wrong with rows. */
  defects: DefectLine[];
  /** Cells whose value does not. */
  differ: number;
  /** The last whole one, of those for which cars were planned if there is any. */
  last: string | null;
  /** Names of the book's stations, to map to. */
  names: string[];
  /** Cells with too little evidence. */
  open: number;
  /** The book's products. */
  products: string[];
  /** Why nothing can be learned from it; empty where something can. */
  refused: Problem[];
  /** Rows of states, bad ones included. */
  rows: number;
  /** Begin of the first row and end of the last, on the plant's clock. */
  span: string[] | null;
  /** Stations of the book. */
  stations: number;
  /** Stations of which the log has rows. */
  stations_seen: number;
  /** Words that the book does not know, those with the most rows first. */
  unknown: UnknownWord[];
  /** Stations of the book without a row, the first sixty. */
  unseen: string[];
}

/** What stops a station for its consumables. */
export interface RefillStop {
  /** Running time from stop to stop. */
  between_min: number;
  /** What. */
  cause: string;
  /** The working of the time between. */
  figure: string;
  /** What a stop takes. */
  minutes: number;
}

/** A way to do a task that a screen refuses. */
export interface Refused {
  /** By whom, with which aid. */
  by: string;
  /** By hand, with an aid or by robot. */
  how: How;
  /** Why not. */
  why: string;
}

/** A log of the plant's own run. */
export interface Rehearsed {
  /** Cars out. */
  cars: number;
  /** The log's number. */
  log: number;
  /** Rows of states. */
  rows: number;
}

/** What a repair adds to the minutes at a reference temperature. */
export interface RepairHeat {
  /** Minutes that one adds. */
  adds_min: number;
  /** How many a body bears; none where nothing limits them. */
  bears: number | null;
  /** The repair. */
  repair: string;
}

/** Inspection and repairs as an absorbing chain. */
export interface RepairLoad {
  /** Bodies that enter the shop for each good one that leaves it. */
  entering: number;
  /** Part of the entering bodies that leaves good. */
  final_yield: number;
  /** Part of the bodies that is OK at inspection. */
  first_time_ok: ShopValue;
  /** Inspections for each good body. */
  inspections: number;
  /** Whether a station's cell gives it; else the coats make it. */
  measured: boolean;
  /** Each way of repair. */
  ways: RepairWayLoad[];
}

/** A way of repair from a station that finds cars not OK. */
export interface RepairWay {
  /** Its row. */
  at: At;
  /** Cars that overtake it meanwhile. */
  overtaken_by: number;
  /** Seconds that it takes longer than the way of a good car. */
  seconds: number;
  /** Share of all cars that go it. */
  share: number;
  /** The station that finds them. */
  station: string;
  /** The stations on the way, the one last where it rejoins the others. */
  way: string[];
}

/** The load of a way of repair. */
export interface RepairWayLoad {
  /** Its row. */
  at: At;
  /** Where it leads back to; none if a repaired body is done. */
  back_to: string | null;
  /** Bays. */
  bays: number;
  /** Whole bays that it takes. */
  bays_needed: number;
  /** Hours that a repaired body comes later. */
  delay_h: number;
  /** Part of their time that is taken. */
  load: number;
  /** Minutes of one. */
  minutes: number;
  /** Whether that is more than they have. */
  over: boolean;
  /** The repair. */
  repair: string;
  /** Visits for each good body. */
  visits: number;
  /** Visits a week. */
  week: number;
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

/** The rates of return of a stream of money. */
export interface Returns {
  /** What to mind: that there is none and why, or that there are several. */
  note: string | null;
  /** All of them, rising. */
  rates: number[];
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

/** A robot's work on a car. */
export interface RobotCell {
  /** Beads and their open times. */
  beads: Bead[];
  /** Tool changes on a car, that back to the first tool included. */
  changes: number;
  /** Seconds that it may take. */
  cycle_s: number;
  /** The same work by hand when the robot is down. */
  fallback: Fallback;
  /** Its line. */
  line: string | null;
  /**
   * Seconds a car that doing two cars between returns to the first tool
   * would save; none where adhesive would dry.
   */
  pairs_save_s: number | null;
  /** No order of work is quicker. */
  proven: boolean;
  /** The kind of robot. */
  robot: string;
  /** Seconds on a car. */
  seconds: number;
  /** Its shop. */
  shop: string;
  /** Seconds left; below 0 it does not fit. */
  spare_s: number;
  /** Its work and tool changes in time. */
  steps: CellStep[];
  /** Why there is no order of work. */
  stuck: string | null;
}

/** What becomes of a robot. */
export type RobotChange = "bought" | "moved" | "given_up";

/** The robots of a station that has other ones after the moves. */
export interface RobotCount {
  /** Its row. */
  at: At;
  /** Robots in the book. */
  now: number;
  /** The station. */
  station: string;
  /** Robots after the moves. */
  then: number;
}

/** What an hour of a kind of robot costs while it works. */
export interface RobotHour {
  /** Its row. */
  at: At;
  /** How many stand in the plant. */
  count: number;
  /** Cost of an hour of work. */
  hour: ShopValue;
  /** Working hours a year of the shop with most of them. */
  hours_a_year: number;
  /**
   * Seconds that a person takes for what it does in one, by the tasks that
   * both can do; none where no task tells.
   */
  pace: number | null;
  /** The figure of those hours. */
  pays_figure: string | null;
  /** HourPrices a year from which it is cheaper; none if never. */
  pays_from_h: number | null;
  /** What a person costs for the work of a robot's hour. */
  person: number;
  /** The kind. */
  robot: string;
  /** Whether it is cheaper as it is used. */
  robot_cheaper: boolean;
  /** Part of those hours in which they work. */
  used: number;
}

/** A robot that does not stay as it is. */
export interface RobotMove {
  /** What becomes of it. */
  change: RobotChange;
  /**
   * Money a year that this adds, its tools with it where it is bought; moving
   * it costs once, which the book gives no price for.
   */
  cost_per_year: number;
  /** Its station today; none for one that is bought. */
  from: string | null;
  /** The kind of robot. */
  robot: string;
  /** Its station then; none for one that is given up. */
  to: string | null;
}

/** A robot's work without a break on one group. */
export interface RobotStep {
  /** Whether the tool was changed before it. */
  changed: boolean;
  /** When it ends. */
  end_s: number;
  /** The group. */
  join: string;
  /** Joints. */
  joints: number;
  /** How. */
  method: JoinMethod;
  /** When it begins, in seconds from the start of the station's cycle. */
  start_s: number;
  /** Gun, rivet and die, or nozzle. */
  variant: string;
  /** Its zone. */
  zone: string | null;
}

/** The columns of a kind of file. */
export interface RoleColumns {
  /** Columns that it may have. */
  may: string[];
  /** Columns that it must have. */
  needed: string[];
  /** The kind. */
  role: FileRole;
}

/** Where a spacing rule comes from. */
export type RuleFrom = {
  /** Its row. */
  at: At;
  from: "given";
} | {
  /** Its row. */
  at: At;
  /** Seconds that work may drift past the station's end. */
  drift_s: number;
  from: "station";
  /** Seconds of a car with the option. */
  heavy_s: number;
  /** Seconds of a mean car without it. */
  light_s: number;
  /** Work behind after the most heavy cars in a row. */
  overrun_s: ShopValue;
  /**
   * Seconds by which one such car ends past the drift however cars are
   * spaced; 0 where spacing keeps the drift.
   */
  past_alone_s: number;
  /** Light cars that make it good. */
  recovery: ShopValue;
  /** The station. */
  station: string;
  /** Seconds from car to car. */
  takt_s: number;
};

/** What dropping or loosening a rule gives. */
export interface RulePrice {
  /** `dropped`, or what it is loosened to. */
  change: string;
  /**
   * Fewer runs of cars that break the other rules; below 0 only where fewer
   * changes of colour that weigh more were bought with them.
   */
  fewer_breaks: number;
  /**
   * Fewer changes of colour; below 0 only where fewer breaks were bought
   * with them.
   */
  fewer_colour_changes: number;
  /** The orders behind a promise; empty for what is no promise of theirs. */
  orders: string[];
  /** The same afterwards, counted by the rule as it was. */
  own_after: number;
  /**
   * Breaks of the rule itself before: runs of cars past it, cars beyond the
   * longest block, promised cars that are late.
   */
  own_before: number;
  /**
   * The same afterwards, counted by the rule as loosened; 0 where it is
   * dropped.
   */
  own_left: number;
  /** The rule, block or promise. */
  rule: string;
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

/** How to run the plant. */
export interface RunSettings {
  /** Level of the intervals. */
  level: number;
  /** Independent replications. */
  replications: number;
  /** The seed of all streams. */
  seed: number;
  /**
   * How many of the first suspects are put to trial; each takes up to two
   * or three further runs.
   */
  trials: number;
  /** Hours cut off before; none has them found by MSER-5. */
  warm_up_h: number | null;
  /** Weeks measured in each. */
  weeks: number;
}

/** The second-best layout. */
export interface RunnerUp {
  /** What a blank costs more. */
  cost_more: number;
  /** What that is in a year. */
  cost_more_a_year: number;
  /**
   * Its place in [`StripPart::layouts`]; none where it is the other way of
   * cutting a pair of parts, together or apart.
   */
  layout: number | null;
  /** Why it lost. */
  why: string;
}

/** A simulated figure, replication by replication. */
export interface Sample {
  /** Its value in every replication. */
  each: number[];
  /** What it is. */
  figure: string;
  /** Its unit; empty for plain numbers. */
  unit: string;
}

/** Something that gives no car and saves money. */
export interface Saving {
  /** What it saves a year. */
  a_year: number;
  /** What is done. */
  name: string;
  /** Where: a table or a row of the book. */
  place: string;
}

/** The tables of the book. */
export interface Schema {
  /** In the order in which metal flows. */
  tables: TableSchema[];
}

/** Scrap of one alloy. */
export interface Scrap {
  /** What it brings, kept apart from other alloys. */
  credit: number;
  /** Scrap of a week. */
  kg: number;
  /** The alloy and temper. */
  material: string;
}

/** Force and energy of a stroke. */
export interface Screen {
  /** Energy of a stroke, kJ. */
  energy_kj: ShopValue | null;
  /** Energy over the line's rating; none without a rating. */
  energy_used: number | null;
  /** Force of a stroke, kN. */
  force_kn: ShopValue;
  /** Force over the line's rating; none without a rating. */
  force_used: ShopValue | null;
  /** The line in the book. */
  line: string;
  /** Whether either is more than the line is rated for. */
  over: boolean;
}

/** A task of which the screens refuse a way. */
export interface Screened {
  /** Its row. */
  at: At;
  /**
   * Who may still do it, in the order of the book's columns; empty where
   * nobody may.
   */
  left: string[];
  /** Its line, where the book names one. */
  line: string | null;
  /** What would free a task that nobody may do. */
  mend: string | null;
  /** Bare hands are refused and an aid is left: it must be there. */
  needs_aid: boolean;
  /** The ways refused, each with the reason. */
  refused: Refused[];
  /** Its shop. */
  shop: string;
  /** The task. */
  task: string;
}

/** How much a problem weighs. */
export type Severity = "error" | "note";

/** A shop that has a plan of its own. */
export type Shop = "coil" | "press" | "body" | "assembly" | "carts" | "order" | "paint" | "money" | "growth";

/** A shop in a period. */
export interface ShopAt {
  /** Its busiest station or line. */
  busiest: string | null;
  /** Cars a week that it allows alone, in the period's mix. */
  can: number | null;
  /** The same with the ideas taken by then. */
  can_with: number | null;
  /** The load of that; above 1 the shop is short. */
  load: number;
  /** The shop. */
  shop: string;
}

/** The cost of a mean car in one shop. */
export interface ShopCost {
  /** The sum of its items. */
  cost: ShopValue;
  /** Its kinds of cost, none of which is 0. */
  items: CostItem[];
  /** The shop; `whole plant` for what belongs to none. */
  shop: string;
}

/** A figure with everything needed to check it by hand. */
export interface ShopFigure {
  /** Its id, unique in the plan. */
  id: string;
  /** What it is, in words. */
  title: string;
  /** Its unit; empty for plain numbers and shares. */
  unit: string;
  /** Its value: that result of its working which the title names. */
  value: number;
  /** How it came about. */
  working: Working;
}

/** A shop's figures of a day. */
export interface ShopFigures {
  /** Its figures. */
  figures: Figures;
  /** The shop. */
  shop: string;
}

/** When a shop runs out. */
export interface ShopGrowth {
  /** The station or line that is short then. */
  at: string | null;
  /** The day by which that must be decided, year-month-day. */
  decide_by: string | null;
  /**
   * Of the ideas that leave it less short in that period the one to be decided
   * first, whatever it was taken for; none where no idea of the book helps.
   */
  idea: string | null;
  /** Its load then. */
  load: number | null;
  /** The first period that it cannot meet as it is; none within the forecast. */
  saturates: string | null;
  /** The shop. */
  shop: string;
}

/** A shop's day. */
export interface ShopMade {
  /** Cars that left it. */
  made: number;
  /** Cars planned. */
  plan: number;
  /** The shop. */
  shop: string;
  /** The hour that was shortest of its plan. */
  worst: HourRow | null;
}

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

/** A value with the id of its figure in the plan's figures. */
export interface ShopValue {
  /** Its figure. */
  figure: string;
  /** The value. */
  value: number;
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

/** The side of the car. */
export type Side = "left" | "right" | "either";

/**
 * The best that a search has found so far, in one thing that it is judged by.
 * A search lists them in the order in which they count.
 */
export interface SoFar {
  /** No answer has less; none where no more than that is known. */
  at_least: number | null;
  /** So much of it. */
  value: number;
  /** What is counted, with its unit where it has one, as in `changes of colour`. */
  what: string;
}

/** Solvent that goes to the air. */
export interface Solvent {
  /** Surface that the limit counts. */
  area_m2: number;
  /** Grams a good body. */
  body_g: ShopValue;
  /** Its limit. */
  limit_g: number | null;
  /** Grams for each square metre. */
  per_m2_g: number;
  /** Grams from each source. */
  sources: SolventFrom[];
  /** Tonnes a year. */
  year_t: number;
}

/** A source of solvent. */
export interface SolventFrom {
  /** The coat, or the purges. */
  from: string;
  /** Grams a good body. */
  grams: number;
}

/** A value with its interval. */
export interface Span {
  /** Upper end; null in JSON where there is none. */
  high: number | null;
  /** Lower end. */
  low: number;
  /** The estimate; null in JSON where there is none, only a limit. */
  value: number | null;
}

/** Time that the constraint has beyond what the needed cars take. */
export interface Spare {
  /** Cars a week that it lets the plant make. */
  cars: number;
  /** Minutes a week that it can lose before a needed car is lost. */
  minutes: number;
  /** The station or line. */
  place: string;
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
   * Days that a car or its pieces are in it, where it lies on the way that
   * takes longest from coil to car: jobs over the pieces that a car needs there
   * times the cars made a day (Little's law), each place for itself, so that
   * the stages add up.
   */
  days: Interval | null;
  /**
   * Jobs in it: at its stations, and on the links and in the stocks behind
   * them.
   */
  jobs: Interval;
  /**
   * Days in it by plan, with every place filled and every lot just begun, where
   * it lies on the plan's longest way.
   */
  planned_days: number | null;
  /** Its shop. */
  shop: string;
  /** The stage. */
  stage: string;
}

/**
 * How long a station takes a car: its longest post, waiting for the others
 * counted.
 */
export interface StationCycle {
  /** By option that has work here, and product that has it. */
  by_option: OptionCycle[];
  /** By product, in the book's order. */
  by_product: ProductCycle[];
  /** Seconds on a mean car of the mix; 0 where it has no work. */
  mean_s: number;
  /** Posts where a person stands. */
  people: number;
  /** Robots. */
  robots: number;
  /** The book's station. */
  station: string;
}

/** A station through which the order was walked. */
export interface StationDrift {
  /** Its row. */
  at: At;
  /** Seconds that work may drift past its end. */
  drift_s: number;
  /** Cars whose work exceeds takt. */
  heavy_cars: number;
  /** Most cars in a row that start late. */
  longest_behind: number;
  /** The same cars as they reach the line after repairs in paint. */
  on_line: DriftOnLine;
  /** Places of the cars that end past the drift allowed. */
  past: number[];
  /** Most cars that a restart takes to catch up, wherever it is. */
  restart_cars: number;
  /**
   * Cars past the drift allowed after a restart there, until it has caught
   * up.
   */
  restart_past: number;
  /** The place at which a restart after a stop is worst; 0 where none is. */
  restart_place: number;
  /** Its shop. */
  shop: string;
  /** The station. */
  station: string;
  /** Seconds from car to car. */
  takt_s: number;
  /** The same in metres. */
  worst_m: number;
  /** The place of that car; 0 where none ends late. */
  worst_place: number;
  /** The farthest that a car ends past the station's end, seconds. */
  worst_s: number;
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
  /** Whether that is more than it can do. */
  over: boolean;
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

/** How long a station waited. */
export interface StationWaits {
  /** Minutes blocked, each unit. */
  blocked_min: number;
  /** Minutes starved, each unit. */
  starved_min: number;
  /** The station. */
  station: string;
}

/** A station's week. */
export interface StationWeek {
  /** Time worked over planned, for jobs whose planned cycle is known. */
  cycle_ratio: number | null;
  /** Time down a stop, minutes. */
  down_min: number | null;
  /** Part right at the first try, where it was counted. */
  first_time_ok: number | null;
  /** Jobs finished. */
  jobs: number;
  /** Monday of the week. */
  monday: string;
  /** Processing time between stops, minutes; none without stops. */
  mtbf_min: number | null;
  /** The figures with their intervals. */
  spans: WeekSpans;
  /** The station. */
  station: string;
  /** Stops begun. */
  stops: number;
}

/** An idea that the forecast needs. */
export interface Step {
  /** Its first row. */
  at: At;
  /** Cars a week with it, and with those before it. */
  can_after: number | null;
  /** Cars a week that the plant could make before it, in that period. */
  can_before: number | null;
  /** What it costs a year from then on. */
  cost_per_year: number;
  /**
   * The day by which it must be decided, year-month-day: the period's first
   * day less the weeks to do it.
   */
  decide_by: string;
  /** All shops in which it leaves less short. */
  frees: string[];
  /** The idea. */
  idea: string;
  /** What it costs once. */
  investment: number;
  /** The period from which it is needed. */
  needed_in: string;
  /** What is weakest then. */
  next: string | null;
  /** The quarter of that day. */
  quarter: string;
  /** The shop that it frees most. */
  shop: string;
  /** Weeks until it works. */
  weeks: number;
}

/** What a stop of the conveyor does to bodies in an oven. */
export interface StopIn {
  /** Minutes that they are at metal temperature. */
  at_metal_min: number;
  /** Bodies that cannot leave meanwhile. */
  caught: number;
  /** Minutes of the stop. */
  minutes: number;
  /** Minutes of that above the most. */
  over_min: number;
}

/** Stops and cycles. */
export interface StopsAndCycles {
  /** Stops by station and cause, the most time down first. */
  causes: CauseRow[];
  /** Cycles by station and product. */
  cycles: CycleRow[];
}

/** A store from which a sub-plant feeds the main line. */
export interface Store {
  /** Its row of the links. */
  at: At;
  /**
   * Cars a week at the fewest against the most places tried, with the same
   * luck.
   */
  at_least: Interval;
  /** Cars a week of the places there are against the most tried. */
  at_places: Interval;
  /**
   * Cars a week at the planned places against the most tried, with the same
   * luck.
   */
  at_planned: Interval | null;
  /** The last station of that line. */
  from: string;
  /** The fewest places with which the plant loses no cars that the runs show. */
  least: number;
  /** The line that fills it, or its shop. */
  line: string;
  /** Whether the places there are lose cars. */
  loses: boolean;
  /** The same with one place fewer; none where there is none to take. */
  one_fewer: Interval | null;
  /** Places there are. */
  places: number;
  /**
   * Places that the plan asks for, by the longest stop that they must last;
   * none where the plan has no such store.
   */
  planned: number | null;
  /**
   * The numbers tried, fewest first, each with what it makes less than the
   * most tried.
   */
  points: StorePoint[];
  /** The station that merges it into the car. */
  to: string;
}

/** The store that holds all others until a repaired body is back. */
export interface StoreFor {
  /** Places in all. */
  places: ShopValue;
  /** The repair. */
  repair: string;
}

/** Lanes and places that restore the wanted order in full. */
export interface StoreNeed {
  /**
   * Bodies that the plant's own store should hold back this week, so that
   * the least disorder is left ...
   */
  best_hold: number;
  /** ... and what is then left. */
  best_hold_off: Off;
  /** Bodies in the store at once. */
  bodies: number;
  /** Bodies to hold back for it; more only fill the lanes. */
  hold: number;
  /** Places in each of so many lanes. */
  lane_places: number;
  /** Lanes, in this week's luck; with fewer no rule restores it. */
  lanes: number;
  /** Lanes on average over these weeks. */
  mean_lanes: number;
  /** Bodies at once in the worst of them. */
  most_bodies: number;
  /** Lanes in the worst of them. */
  most_lanes: number;
  /** Lanes that it takes at the plant's own length of a lane. */
  own_length_lanes: number;
  /** The fewest lanes that restore it ... */
  smallest_lanes: number;
  /** ... and the fewest places in each of them. */
  smallest_places: number;
  /** All this in words. */
  told: string;
  /** Weeks tried, each with its own luck. */
  weeks: number;
}

/**
 * A store from which a sub-plant feeds the main line, sized by the time that
 * it must last.
 */
export interface StorePlan {
  /**
   * Cars whose pieces wait there although nothing stops, since they were taken
   * off and the car is longer under way.
   */
  ahead: number;
  /** Its row of the links. */
  at: At;
  /** The longest work of the merge while the feeding line has none. */
  closed_min: number;
  /** How long the places beyond these last. */
  cover_min: number;
  /** The last station of that line. */
  from: string;
  /** The line that fills it, or its shop. */
  line: string;
  /** The longest stop of the feeding line in a week, on average. */
  longest_stop_min: number;
  /** Places that the plan asks for. */
  needed: ShopValue;
  /** Places in the book; none without limit. */
  places: number | null;
  /** The station that merges it into the car. */
  to: string;
}

/** A number of places tried. */
export interface StorePoint {
  /** Cars a week fewer than with the most places tried. */
  below_most: Interval;
  /** Places. */
  places: number;
  /** Whether that difference is shown. */
  shown: boolean;
}

/** A pair of rules, into the lanes and out of them. */
export interface StoreRule {
  /** Into which lane. */
  into: string;
  /** How far what leaves is from the wanted order. */
  off: Off;
  /** From which lane. */
  out: string;
}

/** The store behind paint. */
export interface StoreSize {
  /** Places that undo the colour blocks. */
  block_places: number;
  /** Places that the book has. */
  places: number;
  /** Each repair for which others may be held. */
  ways: StoreFor[];
}

/** A layout of a part's blanks on a coil. */
export interface StripLayout {
  /** The angle of the first blank to the feed. */
  angle_deg: number;
  /** Good blanks of this part from a coil. */
  blanks_of_a_coil: number;
  /** Blanks of this part in a pitch. */
  blanks_per_pitch: number;
  /** No layout of the kind on this width has a better utilisation. */
  bound: number;
  /** Least distance between blanks, measured on the finished layout. */
  clearance_mm: number;
  /** The coil specification. */
  coil: string;
  /**
   * Metal cost of a good blank with the scrap's credit; of both parts of a
   * mixed pair by their metal.
   */
  cost: number;
  /** Least distance to the strip's edges, measured. */
  edge_clearance_mm: number;
  /** The figure of the cost: of the layout used and the runner-up. */
  figure: string | null;
  /** The same before the credit. */
  gross_cost: number;
  /** Its kind: `single`, `opposed_pair`, `two_row`, `three_row`, `mixed_pair`. */
  kind: string;
  /** Width that the layout needs. */
  needed_width_mm: number;
  /** Feed for each repeat. */
  pitch_mm: number;
  /** The blanks of one pitch. */
  placements: Placed[];
  /** Metal in blanks over the strip used. */
  utilisation: number;
  /** The strip's width. */
  width_mm: number;
}

/** A part on its strip. */
export interface StripPart {
  /** Its row. */
  at: At;
  /** The pair that it was asked to lie in, where it is cut alone after all. */
  beside: Beside | null;
  /** Blanks cut in a mean week, scrap included. */
  blanks_a_week: number;
  /** Least distance between blanks: web, and kerf where a laser cuts. */
  clearance_mm: number;
  /** Length that is cut around a blank and its holes. */
  cut_mm: number;
  /** Its gauge. */
  gauge_mm: number;
  /** Whether a laser cuts it. */
  laser: boolean;
  /**
   * The layouts found on coils of the book, the cheapest blank first; never
   * empty. The first is the one used.
   */
  layouts: StripLayout[];
  /** The line that cuts it. */
  line: string;
  /** Least distance to the strip's edges. */
  margin_mm: number;
  /** Its alloy and temper. */
  material: string;
  /** Metal in a blank. */
  net_kg: number;
  /** The name of its outline. */
  outline: string;
  /** The part. */
  part: string;
  /**
   * The blank's paths, the outer one first: points `[x, y, bulge]`, turned over
   * where the part is.
   */
  paths: number[][][];
  /** The layout that came next and why it lost; none where there is one only. */
  runner_up: RunnerUp | null;
  /** The coil that it is cut from if the plant holds what [`Holding`] says. */
  to_cut_from: string;
  /** The part whose blanks lie on the same strip, where that is cheapest. */
  with: string | null;
  /** Kinds of layout that no coil of the book takes, with the reason. */
  without: Unlaid[];
}

/** Why a line has no balance. */
export interface Stuck {
  /** The rows that make it so. */
  rows: At[];
  /** What stands against it, and the way out. */
  why: string;
}

/** What the ideas of the book do not free. */
export interface Stuck2 {
  /** Its row. */
  at: At;
  /** Its load then, with all ideas that help. */
  load: number;
  /** The smallest changes that would free it. */
  mend: string;
  /** The first period in which it is short. */
  period: string;
  /** The station, line or fleet. */
  place: string;
  /** Its shop. */
  shop: string;
}

/** Joints without a robot. */
export interface StuckJoints {
  /** Its row. */
  at: At;
  /** The group. */
  join: string;
  /** Joints of it. */
  joints: number;
  /** Ways out. */
  mend: string;
  /** Why. */
  why: string;
}

/**
 * Loads an hour against the carts of a supply fleet, with calls that come by
 * chance (exponential times between them).
 */
export interface SupplyCurve {
  /** The first row that names it. */
  at: At;
  /** Loads an hour that are called for. */
  calls_per_hour: number;
  /** How many there are, where the book says so. */
  count: number | null;
  /** The fewest from which one more brings nothing that the runs show. */
  enough: number | null;
  /** The fleet. */
  fleet: string;
  /** How many the formula asks for. */
  needed: number | null;
  /** One cart, two, and so on. */
  points: SupplyPoint[];
}

/** A fleet that brings material. */
export interface SupplyFleet {
  /** The first row that names it. */
  at: At;
  /** How many there are, where the book says so. */
  count: number | null;
  /** What further carts cost the others, where traffic is not given. */
  crowding: Crowding | null;
  /** Carts that would suffice if none slowed another, before rounding up. */
  exact: number;
  /** The fleet. */
  fleet: string;
  /** What is wrong and the way out, where it falls short. */
  mend: string | null;
  /** How many are needed, whole; none when crowding lets no number suffice. */
  needed: ShopValue | null;
  /**
   * Whether there are fewer, or no number suffices; a fleet without a count
   * suffices if any number would.
   */
  over: boolean;
  /** What it delivers. */
  runs: SupplyRun[];
  /** Minutes of cart work in each hour. */
  workload_min: number;
}

/** A number of supply carts tried. */
export interface SupplyPoint {
  /** How many. */
  carts: number;
  /** Loads brought an hour. */
  loads_per_hour: Interval;
  /**
   * Loads an hour more with one more, with the same luck; none for the most
   * tried.
   */
  one_more: Interval | null;
  /**
   * Minutes from the call to the load, waiting for a cart counted; grows
   * without end where the carts are too few.
   */
  wait_min: Interval;
}

/** One thing delivered. */
export interface SupplyRun {
  /** Its row. */
  at: At;
  /** Its part of the fleet, before rounding up and crowding. */
  carts: number;
  /** Minutes of a delivery, there and back. */
  cycle_min: ShopValue;
  /** Loads an hour. */
  loads_per_hour: number;
  /** Where it goes. */
  station: string | null;
  /** What is delivered. */
  supply: string;
  /** Minutes of cart work in each hour. */
  workload_min: number;
}

/** A step of the survival curve. */
export interface SurvivalStep {
  /** Its standard error. */
  error: number;
  /** Share that lasts longer. */
  share: number;
  /** The time. */
  time: number;
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
export type Table = "plant" | "shifts" | "products" | "options" | "colours" | "materials" | "coils" | "deliveries" | "outlines" | "parts" | "press_lines" | "joins" | "join_limits" | "join_figures" | "stations" | "stops" | "crews" | "cycles" | "links" | "carriers" | "supplies" | "tasks" | "robots" | "tools" | "coats" | "repairs" | "heat_limits" | "ideas" | "offers" | "forecast" | "builds" | "orders";

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

/** A way to do a task, and what the screens say of it. */
export interface TaskWay {
  /** The kind of person or robot. */
  by: string;
  /**
   * Money a year for its share of a post that works all its time, and its
   * tool.
   */
  cost_per_year: number;
  /** How. */
  how: How;
  /** Mass over the recommended limit, where a person lifts. */
  lifting_index: ShopValue | null;
  /** Why it is out of the question; none where it may be done so. */
  refused: string | null;
  /** Seconds on a car that has the task. */
  seconds: number;
  /** The tool or aid it takes. */
  tool: string | null;
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

/** A task in its place in time, for a mean car. */
export interface TimedTask {
  /** Its row. */
  at: At;
  /** Seconds on a mean car of each product, in the book's order. */
  by_product_s: number[];
  /** When it ends. */
  end_s: number;
  /** Seconds on a car that has it. */
  seconds: number;
  /** Seconds after the station's cycle starts. */
  start_s: number;
  /** The task. */
  task: string;
}

/** A line as the book has it today: every task at the station of its row. */
export interface Today {
  /** Money a year: people, robots, tools, stations with work. */
  cost_per_year: number;
  /** Seconds of it that work may fill. */
  cycle_s: number;
  /** How long each of these stations takes a car, in the same order. */
  cycles: StationCycle[];
  /** Work as a share of what the posts with work can do in the cycle. */
  efficiency: number;
  /** What breaks takt or a rule. */
  faults: Broken[];
  /** Nothing is broken. */
  holds: boolean;
  /** Its name; none where the shop's tasks name no line. */
  line: string | null;
  /** Which task waits for which, on this line. */
  order: Waits[];
  /** Posts where a person stands. */
  people: number;
  /** Its shop. */
  shop: string;
  /** All its stations in the book's order, also those without work. */
  stations: AssemblyStation[];
  /** Seconds from one car to the next. */
  takt_s: number;
  /** Whether people stand on both sides of the car. */
  two_sided: boolean;
  /** Tasks without a station. */
  unplaced: Unplaced[];
  /** Seconds of work on a mean car. */
  work_s: number;
}

/** The plant with several ideas. */
export interface Together {
  /** Cars a week more with each of them alone. */
  alone: Interval[];
  /** The plant as it is. */
  as_it_is: AsItIs;
  /**
   * What all make more than the sum of each alone; below zero they get in each
   * other's way, above they help each other.
   */
  beyond: Interval;
  /** Cars a week more with all. */
  cars: Interval;
  /** The station that then has most of the critical path, and its share. */
  constraint: [string, number] | null;
  /** Days from coil to car that nine cars in ten keep, with all. */
  days: Interval;
  /** The same more than as it is. */
  days_more: Interval;
  /** Whether that interval leaves zero out. */
  days_shown: boolean;
  /** The ideas. */
  ideas: Idea[];
  /** What all cost once; none where the money of one is not known. */
  investment: number | null;
  /** Whether the plant locked itself up. */
  locked: boolean;
  /** Cars a week with all. */
  made: Interval;
  /** Pairs of runs behind the figures. */
  runs: number;
  /** Whether that interval leaves zero out. */
  shown: boolean;
  /** Whether the needed rate is made. */
  verdict: Verdict;
  /** What all cost a year, investments spread over their lives. */
  yearly: number | null;
}

/** A day with what stands beside it. */
export interface ToldDay {
  /** What it cost. */
  day: LoggedDay;
  /** Rows of the log with a defect. */
  defects: number;
  /** Made against plan by shop. */
  made: ShopMade[];
  /** Rows in all. */
  rows: number;
  /** The day in a sentence. */
  sentence: string;
  /** Its figures by shop, from coil to car. */
  shops: ShopFigures[];
}

/** A part too strong for its line. */
export interface TooStrong {
  /** Its row. */
  at: At;
  /** Force needed, kN. */
  force_kn: number;
  /** Its line in the book. */
  line: string;
  /** What would free it. */
  mend: string;
  /** The part. */
  part: string;
  /** Rating of its line, kN. */
  rated_kn: number;
  /** The strongest line of that kind. */
  strongest: string;
  /** Its rating, kN. */
  strongest_kn: number;
}

/** Where the constraint lies as seen from a link. */
export type Toward = "below" | "above";

/** Two tests for a trend. */
export interface Trend {
  /** The score of the military handbook: twice the sum of ln(total/when). */
  handbook: number;
  /** How often chance alone gives one this extreme. */
  handbook_p: number;
  /** Laplace's score: above 0 stops come closer together. */
  laplace: number;
  /** How often chance alone gives a score this far from 0. */
  laplace_p: number;
}

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

/** Many banks changed at once. */
export interface Trimmed {
  /** Cars a week more. */
  cars: Interval;
  /** Days from coil to car more that nine cars in ten keep. */
  days: Interval;
  /** Places more in all; below zero they are freed. */
  more: number;
  /** For each bank changed its row, and its places then. */
  places: [string, number][];
}

/** A word that the book does not know. */
export interface UnknownWord {
  /** A station, state, product or result. */
  kind: DefectKind;
  /** The nearest word that is known. */
  nearest: string | null;
  /** Rows with it. */
  rows: number;
  /** The word. */
  word: string;
}

/** A kind of layout that cannot be. */
export interface Unlaid {
  /** The kind. */
  kind: string;
  /** Why, and what would free it. */
  why: string;
}

/** A task that no station has. */
export interface Unplaced {
  /** Its row. */
  at: At;
  /** Seconds on a car that has it. */
  seconds: number;
  /** The task. */
  task: string;
}

/** Why an idea was not run. */
export type Unrun = {
  why: "stands";
} | {
  why: "unseen";
} | {
  /** That idea's name. */
  other: string;
  why: "same";
} | {
  /** Cars a week at most. */
  promise: number;
  why: "little";
} | {
  /** Cars a week at most. */
  promise: number;
  why: "many";
} | {
  /** Cars a week more. */
  cars: Interval;
  /** Days more. */
  days: Interval;
  why: "worse";
} | {
  /** The errors. */
  problems: Problem[];
  why: "refused";
};

/** An idea that was not run. */
export interface UnrunIdea {
  /** The idea. */
  idea: Idea;
  /** Why. */
  why: Unrun;
}

/** What became of a file or an archive that was sent. */
export interface Uploaded {
  /** Its files. */
  files: UploadedFile[];
  /** What is wrong with a `log_map.csv` among them. */
  problems: Problem[];
  /** How their words were read the last time, or as a `log_map.csv` among them says. */
  words: LogWords;
}

/** A file that was taken in. */
export interface UploadedFile {
  /** Their number. */
  bytes: number;
  /** Its columns. */
  columns: string[];
  /** The SHA-256 of its bytes. */
  digest: string;
  /** Whether its header was seen before. */
  known: boolean;
  /** Its name. */
  name: string;
  /** What it seems to be; none where nobody has said so and its columns do not. */
  role: FileRole | null;
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

/** A task that waits for another of its line. */
export interface Waits {
  /** The task before it. */
  after: string;
  /** The row of the first. */
  at: At;
  /** The task. */
  task: string;
}

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

/** A set of ideas and what the plant makes with it. */
export interface WayPoint {
  /** The station that then has most of the critical path, and its share. */
  constraint: [string, number] | null;
  /** Days from coil to car that nine cars in ten keep. */
  days: Interval;
  /** The ideas' numbers. */
  ideas: number[];
  /** What they cost once. */
  investment: number;
  /** Cars a week made. */
  made: Interval;
  /** Runs behind the figures. */
  runs: number;
  /** Whether the goal is reached, by the whole intervals. */
  verdict: Verdict;
  /** What they cost a year, investments spread over their lives. */
  yearly: number;
}

/**
 * A step from the plant as it is to the set found. The steps' means add up to
 * what the whole set makes more in the same pairs of runs.
 */
export interface WayStep {
  /** Cars a week that it adds to those before it. */
  cars: Interval;
  /** The station that has most of the critical path after it, and its share. */
  constraint: [string, number] | null;
  /** Days from coil to car that it adds; below zero is better. */
  days: Interval;
  /** Whether that interval leaves zero out. */
  days_shown: boolean;
  /** The idea's number. */
  idea: number;
  /** Whether that interval leaves zero out. */
  shown: boolean;
}

/** A figure that is followed over the weeks. */
export type WeekFigure = "mtbf_min" | "repair_min" | "cycle_ratio" | "first_time_ok";

/** A lot on the calendar, in hours from Monday 00:00. */
export interface WeekLot {
  /** Blanks are cut, else panels are pressed. */
  blanks: boolean;
  /** The run ends, shift breaks between. */
  end_h: number;
  /** Pieces. */
  lot: number;
  /** The part. */
  part: string;
  /** The run starts. */
  run_h: number;
  /** The changeover starts. */
  start_h: number;
}

/** A week's figures with their 95 % intervals, as far as the book speaks of them. */
export interface WeekSpans {
  /** Time worked over planned. */
  cycle_ratio: Span | null;
  /**
   * Part right at the first try; what is scrapped whatever is done has had
   * none.
   */
  first_time_ok: Span | null;
  /**
   * Processing time between stops, minutes, of all causes together. A week
   * without a stop says only that it is not less.
   */
  mtbf_min: Span | null;
  /** Time to repair, minutes: time down without waiting for help. */
  repair_min: Span | null;
}

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

/** Cost of a year by its causes. */
export interface YearlyCost {
  /** All of it. */
  all: number;
  /** Coil changes. */
  changes: number;
  /** Metal, scrap credited. */
  metal: number;
  /** Specifications held. */
  specifications: number;
  /** Stock of one coil a specification. */
  stock: number;
}
