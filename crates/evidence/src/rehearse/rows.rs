//! Jobs at stations into rows of states.

use std::collections::BTreeMap;

use flow::model::Basis;
use flow::{Pass, Verdict};
use whole::network::Built;

use super::{Rehearsal, hour, pauses, runs_lots};
use crate::hours::{OUTSIDE, Stretch, Turn};
use crate::read::Made;
use crate::roster::{Roster, as_u32};
use crate::state::State;
use crate::time::Micros;

/// A row of a rehearsed log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LogRow {
    /// From.
    pub from: Micros,
    /// To.
    pub to: Micros,
    /// Position among all units.
    pub unit: u32,
    /// Position among the station's causes; none outside a stop.
    pub cause: Option<u16>,
    /// Class of the job; none where there is no job.
    pub class: Option<u16>,
    /// What the unit was at.
    pub state: State,
    /// Number of the job at this unit; 0 for none.
    pub item: u32,
}

/// Nanoseconds to the nearest microsecond.
pub(super) fn micros_of(ns: i64) -> Micros {
    (ns + 500).div_euclid(1_000)
}

/// Collects rows.
pub(super) struct Writer<'a> {
    roster: &'a Roster,
    begin: Micros,
    span: (Micros, Micros),
    /// By station: work pauses, what holds of each stop, it runs lots.
    rules: Vec<(bool, Vec<Repair>, bool)>,
    stretch: Vec<Stretch>,
    items: Vec<u32>,
    rehearsal: Rehearsal,
    counts: BTreeMap<(u32, i64), Made>,
}

/// What closed hours do to the repair of a stop, and to the work behind it.
#[derive(Clone, Copy, Default)]
struct Repair {
    /// It pauses in them.
    in_open: bool,
    /// Behind it the work waits for the opening, though work would not pause.
    waits: bool,
}

/// What all rows of a job share.
#[derive(Clone, Copy)]
struct Of {
    unit: u32,
    place: usize,
    class: Option<u16>,
    item: u32,
}

impl<'a> Writer<'a> {
    pub(super) fn new(
        roster: &'a Roster,
        built: &'a Built,
        begin: Micros,
        span: (Micros, Micros),
    ) -> Self {
        let closed = Stretch {
            from: 0,
            to: 0,
            turn: Turn {
                day: 0,
                shift: OUTSIDE,
            },
            open: false,
        };
        let rules = (0..roster.places.len()).map(|place| {
            let pause = pauses(built, place);
            let stops = built.network.stations[place].stops.iter();
            (
                pause,
                stops
                    .map(|stop| Repair {
                        in_open: !stop.in_breaks,
                        waits: stop.basis == Basis::Clock,
                    })
                    .collect(),
                runs_lots(built, place),
            )
        });
        Self {
            roster,
            begin,
            span,
            rules: rules.collect(),
            stretch: vec![closed; roster.place_of_unit.len()],
            items: vec![0; roster.place_of_unit.len()],
            rehearsal: Rehearsal {
                span,
                ..Rehearsal::default()
            },
            counts: BTreeMap::new(),
        }
    }

    /// What a unit did with a job.
    pub(super) fn pass(&mut self, pass: &Pass<'_>) {
        let place = pass.station;
        let unit = self.roster.places[place].first_unit + as_u32(pass.unit);
        self.items[unit as usize] += 1;
        let idle = Of {
            unit,
            place,
            class: None,
            item: 0,
        };
        let class = u16::try_from(pass.class).ok();
        let job = Of {
            class: class.filter(|_| !self.rules[place].2),
            item: self.items[unit as usize],
            ..idle
        };
        let begin = self.begin;
        let at = |ns: i64| begin + micros_of(ns);
        let (free, begun, finish, left) = (
            at(pass.free_ns),
            at(pass.begun_ns),
            at(pass.finish_ns),
            at(pass.left_ns),
        );
        let mut setup = micros_of(pass.changeover_ns);
        let pauses = self.rules[place].0;
        let mut t = free;
        let mut working = false;
        for down in pass.downs {
            let (from, mended, up) = (at(down.down_ns), at(down.mended_from_ns), at(down.up_ns));
            if !working && from >= begun {
                self.cut(idle, t, begun, State::Starved, None);
                // A stop that runs into the begin of the work puts it off.
                (t, working) = (t.max(begun), true);
            }
            if working {
                self.work(job, t, from, &mut setup, pauses);
            } else {
                self.cut(idle, t, from, State::Starved, None);
            }
            let cause = u16::try_from(down.cause).ok();
            let stop = if working { job } else { idle };
            let repairs = self.rules[place].1.get(down.cause).copied();
            let Repair { in_open, waits } = repairs.unwrap_or_default();
            self.put(stop, from.max(t), mended, State::Waiting, cause, in_open);
            self.put(stop, mended.max(t), up, State::Stopped, cause, in_open);
            t = t.max(up);
            if waits {
                t = self.opened(stop, t, finish);
            }
        }
        if !working {
            self.cut(idle, t, begun, State::Starved, None);
            t = t.max(begun);
        }
        self.work(job, t, finish, &mut setup, pauses);
        self.cut(job, finish, left, State::Blocked, None);
        if pass.ended {
            self.count(place, finish, pass.verdict);
        }
    }

    fn count(&mut self, place: usize, finish: Micros, verdict: Verdict) {
        if finish < self.span.0 || finish >= self.span.1 {
            return;
        }
        let place = as_u32(place);
        let made = self.counts.entry((place, hour(finish))).or_default();
        made.made += 1;
        match verdict {
            Verdict::Ok => return,
            Verdict::Rework => made.rework += 1,
            Verdict::Scrap => made.scrap += 1,
        }
        self.rehearsal.rejects.push((place, finish, verdict));
    }

    /// Work with the setup it begins with, cut by closed hours where it pauses.
    fn work(&mut self, job: Of, from: Micros, to: Micros, setup: &mut Micros, pauses: bool) {
        let mut t = from;
        while t < to {
            let end = if pauses {
                let stretch = self.stretch_at(job, t);
                let end = stretch.to.min(to);
                if !stretch.open {
                    t = end;
                    continue;
                }
                end
            } else {
                to
            };
            let setting = (end - t).min(*setup);
            *setup -= setting;
            self.row(job, t, t + setting, State::Setup, None);
            self.row(job, t + setting, end, State::Working, None);
            t = end;
        }
    }

    fn put(
        &mut self,
        of: Of,
        from: Micros,
        to: Micros,
        state: State,
        cause: Option<u16>,
        in_open: bool,
    ) {
        if in_open {
            self.cut(of, from, to, state, cause);
        } else {
            self.row(of, from, to, state, cause);
        }
    }

    /// When the shop is open again, at the latest `until`.
    fn opened(&mut self, of: Of, at: Micros, until: Micros) -> Micros {
        let mut t = at;
        while t < until {
            let stretch = self.stretch_at(of, t);
            if stretch.open {
                break;
            }
            t = stretch.to.min(until);
        }
        t
    }

    /// A state in open hours only.
    fn cut(&mut self, of: Of, from: Micros, to: Micros, state: State, cause: Option<u16>) {
        let mut t = from;
        while t < to {
            let stretch = self.stretch_at(of, t);
            let end = stretch.to.min(to);
            if stretch.open {
                self.row(of, t, end, state, cause);
            }
            t = end;
        }
    }

    fn stretch_at(&mut self, of: Of, at: Micros) -> Stretch {
        let known = self.stretch[of.unit as usize];
        if known.from <= at && at < known.to {
            return known;
        }
        let hours = &self.roster.hours[self.roster.places[of.place].hours];
        let found = hours.stretch(at);
        self.stretch[of.unit as usize] = found;
        found
    }

    fn row(&mut self, of: Of, from: Micros, to: Micros, state: State, cause: Option<u16>) {
        let (from, to) = (from.max(self.span.0), to.min(self.span.1));
        if from < to {
            self.rehearsal.rows.push(LogRow {
                from,
                to,
                unit: of.unit,
                cause,
                class: of.class,
                state,
                item: of.item,
            });
        }
    }

    pub(super) fn finish(mut self) -> Rehearsal {
        self.rehearsal.rows.sort_by_key(|row| (row.from, row.unit));
        self.rehearsal
            .rejects
            .sort_unstable_by_key(|reject| (reject.1, reject.0));
        self.rehearsal.counts = self
            .counts
            .into_iter()
            .map(|((place, hour), made)| (place, hour, made))
            .collect();
        self.rehearsal
    }
}
