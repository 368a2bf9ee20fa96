//! One unit's rows, one after the other: in which order they count, and the time
//! they spend in each state. What they come to, stops and jobs, is counted in
//! [`counts`].

mod counts;

use self::counts::{Job, OpenStop};
use super::known::{Context, Known};
use super::{CauseSum, Cell, Moments, StopLog};
use crate::defects::{Defects, Kind, Place};
use crate::hours::{OUTSIDE, ShopHours, Stretch, Turn};
use crate::scan::OPEN_END;
use crate::state::State;
use crate::time::{HOUR, Micros, SECOND, WEEK, seconds};

/// How rows are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rules {
    /// Stops of one cause with less processing time between them are one stop.
    pub merge: Micros,
    /// Stops shorter than this are short ones.
    pub short: Micros,
    /// Spells that touch this time are kept, for a replay.
    pub keep: Option<(Micros, Micros)>,
}

/// A spell that was kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spell {
    /// Position among all units.
    pub unit: u32,
    /// From.
    pub from: Micros,
    /// To.
    pub to: Micros,
    /// What the unit was at.
    pub state: State,
    /// Word of the cause.
    pub cause: u32,
    /// Word of the product.
    pub product: u32,
    /// The item; 0 for none.
    pub item: u64,
}

/// What is known of one unit.
#[derive(Clone, Debug)]
pub struct UnitLog {
    /// Position among all units.
    pub unit: u32,
    /// Its station.
    pub place: u32,
    /// Rows that count.
    pub rows: u64,
    /// By shift and day, in the order of time.
    pub cells: Vec<Cell>,
    /// Cycles by word of the product, seconds.
    pub cycles: Vec<(u32, Moments)>,
    /// Logarithms of the cycles, in the same order.
    pub log_cycles: Vec<Moments>,
    /// Setups, seconds.
    pub setups: Moments,
    /// By cause of the network, the station's own first.
    pub stops: Vec<StopLog>,
    /// By word of the cause.
    pub causes: Vec<(u32, CauseSum)>,
    /// Jobs finished by hour of the plant's clock, counted from 1970.
    pub hours: Vec<(i64, u32)>,
    /// Spells kept for a replay.
    pub kept: Vec<Spell>,
    /// Begin of its first row and end of its last.
    pub span: Option<(Micros, Micros)>,
    /// Defects of its rows.
    pub defects: Defects,
    stretch: Stretch,
    last_from: Micros,
    first: Option<Known>,
    last: Option<Known>,
    recent: [Option<Known>; 4],
    open_row: Option<Known>,
    run: Micros,
    stop: Option<OpenStop>,
    job: Job,
    setting: Micros,
}

impl UnitLog {
    /// A unit of which nothing is known yet.
    pub fn new(unit: u32, place: u32, causes: usize) -> Self {
        let turn = Turn {
            day: 0,
            shift: OUTSIDE,
        };
        Self {
            unit,
            place,
            rows: 0,
            cells: Vec::new(),
            cycles: Vec::new(),
            log_cycles: Vec::new(),
            setups: Moments::default(),
            stops: vec![StopLog::default(); causes],
            causes: Vec::new(),
            hours: Vec::new(),
            kept: Vec::new(),
            span: None,
            defects: Defects::default(),
            stretch: Stretch {
                from: 0,
                to: 0,
                turn,
                open: false,
            },
            last_from: Micros::MIN,
            first: None,
            last: None,
            recent: [None; 4],
            open_row: None,
            run: 0,
            stop: None,
            job: Job::default(),
            setting: 0,
        }
    }

    /// The next row of this unit.
    pub(crate) fn row(&mut self, context: &Context<'_>, mut known: Known) {
        if let Some(before) = &self.open_row {
            let (from, last) = (known.row.from, before.row.from);
            // The second of the hour that comes twice.
            if known.row.doubled & 1 != 0 && from < last && from + HOUR >= last {
                known.row.from += HOUR;
                if known.row.doubled & 2 != 0 {
                    known.row.to += HOUR;
                }
                known.row.doubled = 0;
            }
        }
        if let Some(before) = self.open_row.filter(|before| before.at_once(&known)) {
            return self.again(context, &before, &known);
        }
        if let Some(mut before) = self.open_row.take() {
            if before.row.from <= known.row.from {
                before.row.to = known.row.from;
                self.whole_row(context, before);
            } else {
                // It came too late to say how long the state before lasted.
                self.wrong(context, Kind::OutOfOrder, &known);
                self.open_row = Some(before);
                return;
            }
        }
        if known.row.to == OPEN_END {
            if known.row.doubled & 1 != 0 && known.row.from < self.last_from {
                known.row.from += HOUR;
            }
            self.open_row = Some(known);
            return;
        }
        self.whole_row(context, known);
    }

    fn whole_row(&mut self, context: &Context<'_>, mut known: Known) {
        let row = &mut known.row;
        if row.doubled & 1 != 0 && row.from < self.last_from && row.from + HOUR >= self.last_from {
            row.from += HOUR;
            if row.doubled & 2 != 0 {
                row.to += HOUR;
            }
        }
        if row.to - row.from > WEEK {
            return self.wrong(context, Kind::LongRow, &known);
        }
        let before = self.recent.iter().flatten();
        if let Some(before) = before.copied().find(|before| before.at_once(&known)) {
            return self.again(context, &before, &known);
        }
        let row = &known.row;
        if row.from < self.last_from {
            return self.wrong(context, Kind::OutOfOrder, &known);
        }
        self.recent.rotate_right(1);
        self.recent[0] = Some(known);
        self.last_from = row.from;
        if let Some((_, last)) = self.span {
            let (from, to) = (row.from, row.to);
            if from < last {
                let both = seconds(to.min(last) - from);
                if both > 0.0 {
                    self.wrong_for(context, Kind::Overlap, both, &known);
                }
                // Stamps cut to the second or the millisecond overlap a little.
                known.row.from = last.min(to);
            } else if from > last {
                self.gap(context, (last, from), &known);
            }
        } else {
            self.first = Some(known);
        }
        let row = &known.row;
        let (from, to) = (row.from, row.to);
        self.rows += 1;
        let first = self.span.map_or(from, |span| span.0);
        self.span = Some((first, to.max(self.span.map_or(to, |span| span.1))));
        if to > from {
            self.spell(context, &known);
        } else if matches!(
            State::ALL[usize::from(row.state)],
            State::Starved | State::Blocked
        ) {
            // A row without length takes no time, but says that the job is done.
            self.leave();
        }
        self.last = Some(known);
    }

    /// A row of the same time and state as one before it: the same again, or one
    /// that contradicts it. The first counts.
    #[cold]
    fn again(&mut self, context: &Context<'_>, before: &Known, known: &Known) {
        if before.same(known) {
            return self.wrong(context, Kind::Duplicate, known);
        }
        let zone = context.roster.map.zone;
        let word = |word: u32| match context.words.get(word as usize) {
            Some(word) if !word.is_empty() => format!("`{word}`"),
            _ => "none".to_owned(),
        };
        self.tell(context, Kind::Contradiction, 0.0, known, || {
            let state = State::ALL[usize::from(known.row.state)].word();
            let differ = if before.cause != known.cause {
                format!("cause {} and {}", word(before.cause), word(known.cause))
            } else if before.product != known.product {
                format!(
                    "product {} and {}",
                    word(before.product),
                    word(known.product)
                )
            } else {
                "two items".to_owned()
            };
            format!(
                "{state} from {} in rows {} and {}: {differ}",
                zone.show(known.row.from),
                before.line,
                known.line
            )
        });
    }

    /// From one instant to another this unit has no row; `known` is the row
    /// behind, or before.
    fn gap(&mut self, context: &Context<'_>, (last, from): (Micros, Micros), known: &Known) {
        if from - last > WEEK {
            self.wrong(context, Kind::ClockForward, known);
            return;
        }
        let hours = self.hours(context);
        let open = hours.open_between(last, from);
        if open == 0 {
            return;
        }
        let mut at = last;
        while at < from {
            let stretch = hours.stretch(at);
            let end = stretch.to.min(from);
            if stretch.open {
                self.cell(stretch.turn).unknown += end - at;
            }
            at = end;
        }
        // What lies within a cut stamp is not worth a line.
        if open >= SECOND {
            let zone = context.roster.map.zone;
            self.tell(context, Kind::Gap, seconds(open), known, || {
                format!(
                    "says nothing from {} to {}",
                    zone.show(last),
                    zone.show(from)
                )
            });
        }
    }

    fn wrong(&mut self, context: &Context<'_>, kind: Kind, known: &Known) {
        self.wrong_for(context, kind, 0.0, known);
    }

    #[cold]
    fn wrong_for(&mut self, context: &Context<'_>, kind: Kind, seconds: f64, known: &Known) {
        let zone = context.roster.map.zone;
        let row = &known.row;
        let long = kind == Kind::LongRow;
        self.tell(context, kind, seconds, known, || {
            let state = State::ALL[usize::from(row.state)].word();
            let until = if long {
                format!(" to {}", zone.show(row.to))
            } else {
                String::new()
            };
            format!("{state} from {}{until}", zone.show(row.from))
        });
    }

    /// Lists a defect of a row; `found` is what stands behind the station.
    #[cold]
    fn tell(
        &mut self,
        context: &Context<'_>,
        kind: Kind,
        seconds: f64,
        known: &Known,
        found: impl FnOnce() -> String,
    ) {
        let name = &context.roster.places[self.place as usize].name;
        let file = context.files.get(known.file as usize);
        let column = if kind == Kind::LongRow { "to" } else { "from" };
        self.defects.add_time(kind, seconds, || Place {
            file: file.cloned().unwrap_or_default(),
            row: known.line,
            column: column.to_owned(),
            found: format!("{name} {}", found()),
        });
    }

    fn hours<'a>(&self, context: &Context<'a>) -> &'a ShopHours {
        let place = &context.roster.places[self.place as usize];
        &context.roster.hours[place.hours]
    }

    /// The cell of a shift; nearly always the last one.
    fn cell(&mut self, turn: Turn) -> &mut Cell {
        let at = match self.cells.last() {
            Some(last) if last.turn == turn => self.cells.len() - 1,
            _ => self
                .cells
                .iter()
                .rposition(|cell| cell.turn == turn)
                .unwrap_or_else(|| {
                    self.cells.push(Cell::new(turn));
                    self.cells.len() - 1
                }),
        };
        &mut self.cells[at]
    }

    /// A spell in one state, checked and in order.
    fn spell(&mut self, context: &Context<'_>, known: &Known) {
        let row = &known.row;
        let state = State::ALL[usize::from(row.state)];
        let length = row.to - row.from;
        match state {
            State::Working => {
                self.end_stop(context, row.from);
                self.end_setup();
                self.work(context, known, length);
                self.run += length;
            }
            State::Setup => {
                self.end_stop(context, row.from);
                self.leave();
                self.setting += length;
                self.run += length;
            }
            State::Stopped | State::Waiting => self.stopped(context, known, state, length),
            State::Starved | State::Blocked => {
                self.end_stop(context, row.from);
                self.end_setup();
                self.leave();
            }
            State::Off => {}
        }
        self.spend(context, row.from, row.to, state);
        if state == State::Working {
            self.worked_until(row.to);
        }
        if let Some((from, to)) = context.rules.keep
            && row.from < to
            && row.to > from
        {
            self.kept.push(Spell {
                unit: self.unit,
                from: row.from.max(from),
                to: row.to.min(to),
                state,
                cause: known.cause,
                product: known.product,
                item: row.item,
            });
        }
    }

    #[inline]
    fn spend(&mut self, context: &Context<'_>, from: Micros, to: Micros, state: State) {
        let idle = matches!(state, State::Starved | State::Blocked | State::Off);
        let mut at = from;
        while at < to {
            if at < self.stretch.from || at >= self.stretch.to {
                self.stretch = self.hours(context).stretch(at);
            }
            let Stretch {
                to: until,
                turn,
                open,
                ..
            } = self.stretch;
            let end = until.min(to);
            let cell = self.cell(turn);
            if open || !idle {
                cell.time[state.at()] += end - at;
            }
            if !open && !idle {
                cell.outside += end - at;
            }
            at = end;
        }
    }

    /// No row follows: the last state without an end lasts until the log's end.
    pub(crate) fn last_row(&mut self, context: &Context<'_>, log_end: Micros) {
        if let Some(mut last) = self.open_row.take() {
            last.row.to = log_end.max(last.row.from);
            self.whole_row(context, last);
        }
    }

    /// The log ends, which began and ended at these instants.
    pub(crate) fn finish(&mut self, context: &Context<'_>, (from, to): (Micros, Micros)) {
        let Some((start, end)) = self.span else {
            return;
        };
        self.end_job_left(context);
        if let Some(first) = self.first.filter(|_| from < start) {
            let later = std::mem::take(&mut self.cells);
            self.gap(context, (from, start), &first);
            later.iter().for_each(|cell| self.cell(cell.turn).add(cell));
        }
        if let Some(last) = self.last.filter(|_| end < to) {
            self.gap(context, (end, to), &last);
        }
        self.finish_stops(start, end);
    }
}
