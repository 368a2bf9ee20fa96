//! What is to be timetabled: items, the lines that can make them, and the
//! limits on a lot.

use crate::Fault;

/// A line's place in [`Problem::lines`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LineIdx(pub u32);

impl LineIdx {
    /// As an index.
    pub const fn at(self) -> usize {
        self.0 as usize
    }
}

/// An item's place in [`Problem::items`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ItemIdx(pub u32);

impl ItemIdx {
    /// As an index.
    pub const fn at(self) -> usize {
        self.0 as usize
    }
}

/// A line that makes one item at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name, for messages.
    pub name: String,
    /// Share of the time that the line can be used, above 0 and at most 1:
    /// every run and every changeover takes its time divided by this.
    pub available: f64,
}

/// One way to make an item: a line and what the item takes there.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// On this line.
    pub line: LineIdx,
    /// Pieces a day while the line runs.
    pub make_per_day: f64,
    /// Days of line time that the changeover to this item takes.
    pub changeover_days: f64,
    /// Money that one changeover to this item costs.
    pub changeover_cost: f64,
}

/// An item used up steadily and made in lots.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Name, for messages.
    pub name: String,
    /// Pieces used a day, without a break.
    pub rate_per_day: f64,
    /// Money that keeping one piece for one day costs.
    pub hold_cost_per_day: f64,
    /// No lot may last longer than this: the days from the start of one lot
    /// to the start of the next. A piece is then never older than this.
    pub max_cover_days: Option<f64>,
    /// Never more pieces in stock than this: the racks there are.
    pub max_stock: Option<f64>,
    /// Where it can be made; a timetable makes all its lots on one of them.
    pub ways: Vec<Way>,
}

/// No lot lasts longer than this, whatever it costs: a hundred years.
pub const LONGEST_DAYS: f64 = 36_525.0;

/// Items and lines.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// The items.
    pub items: Vec<Item>,
    /// The lines.
    pub lines: Vec<Line>,
}

/// An item on one of its lines, all in days of the calendar: the figures that
/// every method here works with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Job {
    /// Pieces used a day.
    pub(crate) rate: f64,
    /// Pieces made a day, availability included.
    pub(crate) make: f64,
    /// Share of the line's time that running takes, `rate / make`.
    pub(crate) load: f64,
    /// Days that a changeover takes, availability included.
    pub(crate) changeover: f64,
    /// Money per changeover.
    pub(crate) cost: f64,
    /// Money per square day of a lot's cover: `hold x rate x (1 - load) / 2`.
    pub(crate) carry: f64,
    /// Longest days of cover of a lot, [`LONGEST_DAYS`] without a limit.
    pub(crate) most: f64,
}

impl Job {
    /// Least share of the line's time that the item takes: its running, and the
    /// changeovers that its limit on cover forces.
    pub(crate) fn least_load(&self) -> f64 {
        self.load + self.changeover / self.most
    }
}

impl Problem {
    /// Checks the numbers; a checked problem may be solved.
    ///
    /// # Errors
    ///
    /// Every number that makes no sense, with its place and the way out.
    pub fn check(&self) -> Result<Checked, Vec<Fault>> {
        let mut faults = Vec::new();
        if self.items.is_empty() {
            faults.push(Fault::new("items", "no item", "one or more", "add an item"));
        }
        for (at, line) in self.lines.iter().enumerate() {
            check_line(line, at, &mut faults);
        }
        for (at, item) in self.items.iter().enumerate() {
            check_item(item, at, self.lines.len(), &mut faults);
        }
        if faults.is_empty() {
            Ok(Checked {
                jobs: self.items.iter().map(|item| jobs(item, self)).collect(),
                problem: self.clone(),
            })
        } else {
            Err(faults)
        }
    }
}

/// A problem whose numbers make sense.
#[derive(Clone, Debug)]
pub struct Checked {
    problem: Problem,
    /// Of each item, a job for each of its ways.
    jobs: Vec<Vec<Job>>,
}

impl Checked {
    /// The problem as given.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    pub(crate) fn ways(&self, item: usize) -> &[Job] {
        &self.jobs[item]
    }

    /// The item's job on a line, if it can be made there.
    pub(crate) fn job_on(&self, item: usize, line: usize) -> Option<&Job> {
        let ways = &self.problem.items.get(item)?.ways;
        let way = ways.iter().position(|way| way.line.at() == line)?;
        self.jobs[item].get(way)
    }

    pub(crate) fn line_of(&self, item: usize, way: usize) -> usize {
        self.problem.items[item].ways[way].line.at()
    }

    pub(crate) fn item_count(&self) -> usize {
        self.problem.items.len()
    }

    pub(crate) fn line_count(&self) -> usize {
        self.problem.lines.len()
    }
}

fn jobs(item: &Item, problem: &Problem) -> Vec<Job> {
    let of = |way: &Way| {
        let available = problem.lines[way.line.at()].available;
        let make = way.make_per_day * available;
        let load = item.rate_per_day / make;
        let by_stock = item.max_stock.map_or(f64::INFINITY, |most| {
            most / (item.rate_per_day * (1.0 - load).max(0.0))
        });
        Job {
            rate: item.rate_per_day,
            make,
            load,
            changeover: way.changeover_days / available,
            cost: way.changeover_cost,
            carry: item.hold_cost_per_day * item.rate_per_day * (1.0 - load).max(0.0) / 2.0,
            most: item.max_cover_days.unwrap_or(LONGEST_DAYS).min(by_stock),
        }
    };
    item.ways.iter().map(of).collect()
}

fn check_line(line: &Line, at: usize, faults: &mut Vec<Fault>) {
    if !(line.available > 0.0 && line.available <= 1.0) {
        faults.push(Fault::new(
            format!("lines[{at}].available"),
            format!("{} on line \"{}\"", line.available, line.name),
            "a share above 0 and at most 1",
            "write the share of the time that the line can be used",
        ));
    }
}

fn check_item(item: &Item, at: usize, lines: usize, faults: &mut Vec<Fault>) {
    let mut positive = |key: &str, value: f64| {
        if !(value > 0.0 && value.is_finite()) {
            faults.push(Fault::new(
                format!("items[{at}].{key}"),
                format!("{value} for \"{}\"", item.name),
                "a number above 0",
                "write what the item takes, or leave the item out",
            ));
        }
    };
    positive("rate_per_day", item.rate_per_day);
    if let Some(days) = item.max_cover_days {
        positive("max_cover_days", days);
    }
    if let Some(pieces) = item.max_stock {
        positive("max_stock", pieces);
    }
    for way in &item.ways {
        positive("make_per_day", way.make_per_day);
    }
    let mut none_or_more = |key: &str, value: f64| {
        if !(value >= 0.0 && value.is_finite()) {
            faults.push(Fault::new(
                format!("items[{at}].{key}"),
                format!("{value} for \"{}\"", item.name),
                "a number, 0 or more",
                "write 0 or more",
            ));
        }
    };
    none_or_more("hold_cost_per_day", item.hold_cost_per_day);
    for way in &item.ways {
        none_or_more("changeover_days", way.changeover_days);
        none_or_more("changeover_cost", way.changeover_cost);
    }
    check_ways(item, at, lines, faults);
}

fn check_ways(item: &Item, at: usize, lines: usize, faults: &mut Vec<Fault>) {
    let place = format!("items[{at}].lines");
    if item.ways.is_empty() {
        faults.push(Fault::new(
            place.clone(),
            format!("no line for \"{}\"", item.name),
            "one or more",
            "name a line that can make it",
        ));
    }
    for (n, way) in item.ways.iter().enumerate() {
        if way.line.at() >= lines {
            faults.push(Fault::new(
                place.clone(),
                format!("line number {}", way.line.0),
                format!("a number below {lines}"),
                "name a line of the problem",
            ));
        }
        if way.changeover_days == 0.0 && way.changeover_cost == 0.0 {
            faults.push(Fault::new(
                format!("items[{at}].changeover_days"),
                format!("neither time nor cost for \"{}\"", item.name),
                "a changeover that takes time or money",
                "write its days or its cost, else the best lot has no size",
            ));
        }
        if item.ways[..n]
            .iter()
            .any(|earlier| earlier.line == way.line)
        {
            faults.push(Fault::new(
                place.clone(),
                format!("the same line twice for \"{}\"", item.name),
                "each line once",
                "leave one out",
            ));
        }
    }
    // Without a cost of keeping and without a limit a longer lot is always
    // better, and there is no best timetable.
    let endless =
        item.hold_cost_per_day <= 0.0 && item.max_cover_days.is_none() && item.max_stock.is_none();
    if endless {
        faults.push(Fault::new(
            format!("items[{at}].hold_cost_per_day"),
            format!("{} for \"{}\"", item.hold_cost_per_day, item.name),
            "a cost above 0, or a limit on cover or stock",
            "write what a piece costs to keep, or set `max_cover_days`",
        ));
    }
}
