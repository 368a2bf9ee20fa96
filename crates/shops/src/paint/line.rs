//! The line: how fast each conveyor runs, how long each step is, and what a stop
//! does in its ovens.

use book::{Coat, CoatKind, Severity};
use formulas::{
    MetresPerMinute, Origin, Sourced, calendar, fleet,
    paint::{self as trade, ConveyorLength},
};
use units::{Count, Metres, Minutes, Seconds};

use super::repair::Chain;
use super::{BakeWindow, CoatAge, PaintStep, StopIn, Work, said, told};
use crate::sheet::{Made, cell, setting};

/// Stops whose effect is told beside the plant's own, minutes.
const STOPS: [f64; 4] = [5.0, 15.0, 30.0, 60.0];
/// A time that differs from its length by more is told.
const APART: f64 = 0.05;
/// Slack of lengths and times typed with a few digits.
const HAIR: f64 = 1e-3;

/// How fast a step's conveyor runs.
struct Pace {
    takt: Made<Seconds>,
    cycle: Made<Seconds>,
    pitch: Sourced<Metres>,
    speed: Sourced<MetresPerMinute>,
}

impl Work<'_> {
    /// The steps one behind the other.
    pub(super) fn line(&mut self, chain: &Chain) -> Option<Vec<PaintStep>> {
        let mut from = 0.0;
        let mut steps = Vec::new();
        for position in 0..self.steps.len() {
            let passes = chain.passes(&self.question.book.repairs, position);
            let mut step = self.step(position, passes)?;
            step.from_m = from;
            from += step.length_m;
            steps.push(step);
        }
        self.twice(chain, &mut steps);
        Some(steps)
    }

    fn step(&mut self, position: usize, passes: f64) -> Option<PaintStep> {
        let row = self.steps[position].row;
        let kind = self.steps[position].kind;
        let pace = self.pace(row, passes)?;
        let id = format!("paint.{}.{}", row.step, row.coat);
        let process = cell(row.process_s.minutes(), row.at, "process_s");
        let plain = self.sheet.add_with(
            crate::sheet::Stands::First,
            format!("{id}.conveyor"),
            format!("conveyor through {}", row.coat),
            row.at,
            trade::conveyor_length(&pace.pitch, pace.cycle.part(|cycle| *cycle), process),
        )?;
        let length = match row.length_m {
            Some(length) => cell(length, row.at, "length_m"),
            None => plain.part(|made: &ConveyorLength| made.length),
        };
        let dwell = length.value.0 / pace.speed.value.0;
        let needed = self.needed(row, &pace, &plain)?;
        let window = match kind {
            CoatKind::Oven => Some(self.window(row, &pace, &length)?),
            _ => None,
        };
        self.slow(row, &pace);
        self.apart(row, dwell);
        Some(PaintStep {
            coat: row.coat.clone(),
            at: row.at,
            kind,
            stations: row.stations.clone(),
            temperature_c: row.temperature_c,
            passes,
            bodies: passes * self.question.bodies.value.0,
            takt_s: pace.takt.value(|takt| takt.0),
            cycle_s: pace.cycle.value(|cycle| cycle.0),
            speed_m_min: pace.speed.value.0,
            speed_given: row.speed_m_min.is_some(),
            pitch_m: pace.pitch.value.0,
            dwell_min: dwell,
            from_m: 0.0,
            length_m: length.value.0,
            needed_m: needed,
            length_given: row.length_m.is_some(),
            inside: dwell * 60.0 / pace.cycle.value.0,
            window,
            film: None,
            age: None,
        })
    }

    /// The speed that the book gives, or the one that the rate needs.
    fn pace(&mut self, row: &Coat, passes: f64) -> Option<Pace> {
        let id = format!("paint.{}.{}", row.step, row.coat);
        let plant = &self.question.book.plant;
        let bodies = Sourced::new(
            Count(self.question.bodies.value.0 * passes),
            Origin::Figure("paint.visits".into()),
        );
        let takt = self.sheet.add(
            format!("{id}.takt"),
            format!("time from body to body at {}", row.coat),
            row.at,
            calendar::takt(&self.question.net, bodies),
        )?;
        let pitch = match row.pitch_m {
            Some(pitch) => cell(pitch, row.at, "pitch_m"),
            None => setting(&plant.paint_pitch_m, "paint_pitch_m"),
        };
        let title = format!("cycle of the conveyor at {}", row.coat);
        if let Some(speed) = row.speed_m_min {
            let speed = cell(MetresPerMinute(speed), row.at, "speed_m_min");
            let cycle = self.sheet.add(
                format!("{id}.cycle"),
                title,
                row.at,
                trade::conveyor_cycle(&pitch, &speed),
            )?;
            return Some(Pace {
                takt,
                cycle,
                pitch,
                speed,
            });
        }
        let efficiency = setting(&plant.paint_efficiency, "paint_efficiency");
        let cycle = self.sheet.add(
            format!("{id}.cycle"),
            title,
            row.at,
            calendar::design_cycle(takt.part(|takt| *takt), efficiency),
        )?;
        let speed = self.sheet.add(
            format!("{id}.speed"),
            format!("speed of the conveyor at {}", row.coat),
            row.at,
            fleet::line_speed(&pitch, cycle.part(|cycle| *cycle)),
        )?;
        Some(Pace {
            takt,
            cycle,
            pitch,
            speed: speed.part(|speed| *speed),
        })
    }

    /// The length that the step needs: of an oven by the least time at metal
    /// temperature, not from the door.
    fn needed(
        &mut self,
        row: &Coat,
        pace: &Pace,
        plain: &Made<ConveyorLength>,
    ) -> Option<crate::sheet::ShopValue> {
        let Some(least) = row.least_min else {
            return Some(plain.value(|made| made.length.0));
        };
        let made = self.sheet.add(
            format!("paint.{}.{}.length", row.step, row.coat),
            format!("length that {} needs", row.coat),
            row.at,
            trade::oven_length(
                &pace.speed,
                cell(row.heat_up_min, row.at, "heat_up_min"),
                cell(least, row.at, "least_min"),
            ),
        )?;
        Some(made.value(|made| made.length.0))
    }

    fn window(&mut self, row: &Coat, pace: &Pace, length: &Sourced<Metres>) -> Option<BakeWindow> {
        let id = format!("paint.{}.{}", row.step, row.coat);
        let heat_up = cell(row.heat_up_min, row.at, "heat_up_min");
        let metal = self.sheet.add(
            format!("{id}.at_metal"),
            format!("time at metal temperature in {}", row.coat),
            row.at,
            trade::time_at_metal(length, &pace.speed, heat_up),
        )?;
        let at_metal = metal.value.at_metal.0;
        let dwell = metal.value.dwell;
        let mut window = BakeWindow {
            heat_up_min: row.heat_up_min.0,
            at_metal_min: metal.value(|made| made.at_metal.0),
            least_min: row.least_min.map(|least| least.0),
            most_min: row.most_min.map(|most| most.0),
            allowance_min: None,
            bodies: 0,
            room: row.empty_places,
            stop_min: None,
            stops: Vec::new(),
            twice_min: None,
        };
        self.outside(row, pace, at_metal);
        let Some(most) = row.most_min else {
            let bodies = dwell.seconds() / pace.cycle.value;
            window.bodies = (bodies - 1e-9).ceil() as u32;
            return Some(window);
        };
        let stop = self.sheet.add(
            format!("{id}.stop"),
            format!("stop that {} bears", row.coat),
            row.at,
            trade::stop_allowance(
                metal.part(|made| made.at_metal),
                cell(most, row.at, "most_min"),
                metal.part(|made| made.dwell),
                pace.cycle.part(|cycle| *cycle),
                cell(Count(f64::from(row.empty_places)), row.at, "empty_places"),
            ),
        )?;
        window.bodies = stop.value.bodies.0 as u32;
        window.allowance_min = Some(stop.value(|made| made.allowance.0));
        window.stop_min = stop.value.stop.map(|stop| stop.0);
        window.stops = self.stops(&window, pace.cycle.value.minutes(), most);
        self.unborne(row, &window);
        Some(window)
    }

    /// What stops of some lengths do to the bodies in an oven.
    fn stops(&self, window: &BakeWindow, cycle: Minutes, most: Minutes) -> Vec<StopIn> {
        let own = self.question.book.plant.paint_stop_min.value.0;
        let mut lengths: Vec<f64> = STOPS.to_vec();
        lengths.push(own);
        lengths.sort_by(f64::total_cmp);
        lengths.dedup();
        let stop = |minutes: f64| {
            // The oven runs on until the places behind it are full.
            let emptied = (minutes / cycle.0).floor().min(f64::from(window.room));
            let caught = (f64::from(window.bodies) - emptied).max(0.0);
            let stands = (minutes - f64::from(window.room) * cycle.0).max(0.0);
            let longer = if caught > 0.0 { stands } else { 0.0 };
            let at_metal = window.at_metal_min.value + longer;
            StopIn {
                minutes,
                caught: if longer > 0.0 { caught as u32 } else { 0 },
                at_metal_min: at_metal,
                over_min: (at_metal - most.0).max(0.0),
            }
        };
        lengths.into_iter().filter(|m| *m > 0.0).map(stop).collect()
    }

    /// A conveyor that cannot hold the rate, or has nothing left for stops.
    fn slow(&mut self, row: &Coat, pace: &Pace) {
        let Some(speed) = row.speed_m_min else { return };
        let plant = &self.question.book.plant;
        let (takt, cycle) = (pace.takt.value.0, pace.cycle.value.0);
        let efficiency = plant.paint_efficiency.value.0;
        let found = format!(
            "{speed} m/min at `{}`, a body each {} s",
            row.coat,
            told(cycle)
        );
        let least = |takt: f64| (pace.pitch.value.0 / takt * 60.0 * 100.0).ceil() / 100.0;
        let at = (row.at, "speed-too-slow", "speed_m_min");
        if cycle > takt + HAIR {
            self.broken.push(said(
                Severity::Error,
                at,
                found,
                format!("a body each {} s at most, for the rate", told(takt)),
                format!(
                    "run at {} m/min or faster, or bring the pitch below {} m",
                    least(takt * efficiency),
                    told(takt / 60.0 * speed)
                ),
            ));
        } else if cycle > takt * efficiency + HAIR {
            self.notes.push(said(
                Severity::Note,
                (row.at, "speed-without-reserve", "speed_m_min"),
                found,
                format!(
                    "a body each {} s, so that stops fit",
                    told(takt * efficiency)
                ),
                format!("run at {} m/min", least(takt * efficiency)),
            ));
        }
    }

    /// A length that is not that of the step's time.
    fn apart(&mut self, row: &Coat, dwell: f64) {
        let process = row.process_s.0 / 60.0;
        if row.length_m.is_none() || (dwell - process).abs() <= APART * process.max(HAIR) {
            return;
        }
        self.notes.push(said(
            Severity::Note,
            (row.at, "length-apart", "process_s"),
            format!(
                "{} min, where the length and speed give {} min",
                told(process),
                told(dwell)
            ),
            "the time from door to door",
            "correct the time, the length or the speed; the length counts",
        ));
    }

    /// An oven outside its window.
    fn outside(&mut self, row: &Coat, pace: &Pace, at_metal: f64) {
        let (heat_up, speed) = (row.heat_up_min.0, pace.speed.value.0);
        let (column, given) = match row.length_m {
            Some(length) => ("length_m", format!("{length} in `{}`", row.coat)),
            None => (
                "process_s",
                format!(
                    "{} min from door to door in `{}`",
                    told(row.process_s.0 / 60.0),
                    row.coat
                ),
            ),
        };
        let found = format!(
            "{given}, of which the metal has its temperature for {} min",
            told(at_metal)
        );
        let dwell = |metal: f64| heat_up + metal;
        let way_out = |metal: f64, word: &str, speed_word: &str| match row.length_m {
            Some(length) => format!(
                "make it {word} {} m, or run at {speed_word} {} m/min",
                told(dwell(metal) * speed),
                told(length.0 / dwell(metal))
            ),
            None => format!("make it {word} {} s", told(dwell(metal) * 60.0)),
        };
        if let Some(least) = row.least_min.filter(|least| at_metal < least.0 - HAIR) {
            self.broken.push(said(
                Severity::Error,
                (row.at, "oven-too-short", column),
                found,
                format!(
                    "{least} at least, after {} min of heating up",
                    told(heat_up)
                ),
                way_out(least.0, "at least", "most"),
            ));
        } else if let Some(most) = row.most_min.filter(|most| at_metal > most.0 + HAIR) {
            self.broken.push(said(
                Severity::Error,
                (row.at, "oven-too-long", column),
                found,
                format!("{most} at most"),
                way_out(most.0, "at most", "least"),
            ));
        }
    }

    /// An oven that does not bear the plant's stop.
    fn unborne(&mut self, row: &Coat, window: &BakeWindow) {
        let plant = &self.question.book.plant;
        let own = plant.paint_stop_min.value.0;
        let Some(stop) = window.stop_min.filter(|stop| *stop < own - HAIR) else {
            return;
        };
        self.notes.push(said(
            Severity::Note,
            (row.at, "stop-not-borne", "most_min"),
            format!("room for a stop of {} min in `{}`", told(stop), row.coat),
            format!("{own} min, the plant's paint_stop_min"),
            format!(
                "keep {} places empty behind it to empty it wholly, cool it down when the \
                 conveyor stands, or plan what is done with {} bodies",
                window.bodies, window.bodies
            ),
        ));
    }

    /// Ovens that a repaired body goes through again: its minutes count again.
    fn twice(&mut self, chain: &Chain, steps: &mut [PaintStep]) {
        let rows = &self.question.book.repairs;
        let back = rows.iter().filter_map(|row| row.back_to.as_deref());
        let Some(first) = back.filter_map(|coat| self.step_of(coat)).min() else {
            return;
        };
        if first > chain.inspection {
            return;
        }
        for step in &mut steps[first..=chain.inspection] {
            let Some(window) = &mut step.window else {
                continue;
            };
            let twice = 2.0 * window.at_metal_min.value;
            window.twice_min = Some(twice);
            let Some(most) = window.most_min.filter(|most| twice > *most) else {
                continue;
            };
            self.notes.push(said(
                Severity::Note,
                (step.at, "repair-bake", "most_min"),
                format!(
                    "{} min at metal temperature in `{}` after one repair, which bakes again",
                    told(twice),
                    step.coat
                ),
                format!("{} min at most", told(most)),
                "ask the paint's maker for the limit with repairs, or bake repairs shorter",
            ));
        }
    }

    /// Steps before which a body may wait only so long.
    pub(super) fn ages(&mut self, steps: &mut [PaintStep]) {
        let shut_h = self.question.shut.0;
        for (step, at) in steps.iter_mut().zip(self.steps) {
            let Some(most) = at.row.age_most_h else {
                continue;
            };
            step.age = Some(CoatAge {
                most_h: most.0,
                shut_h,
            });
            if shut_h > most.0 {
                self.notes.push(said(
                    Severity::Note,
                    (step.at, "age-over-shut", "age_most_h"),
                    format!("{} h before `{}`", told(most.0), step.coat),
                    format!(
                        "{} h, as long as the shop is shut at a stretch",
                        told(shut_h)
                    ),
                    "empty the line before it shuts, or sand what waited longer",
                ));
            }
        }
    }
}
