//! What each station has from its step or its repair: its cycle and its robots.

use book::{Severity, Station};
use formulas::{Sourced, paint as trade};
use units::{Seconds, Share};

use super::film::{count, flow, plain_cycle, shared};
use super::{Colours, PaintStation, PaintStep, Work, said};
use crate::sheet::{ShopValue, cell};

impl<'a> Work<'a> {
    /// The stations of all steps, then those of the repairs.
    pub(super) fn stations(
        &mut self,
        steps: &[PaintStep],
        colours: Option<&Colours>,
    ) -> Vec<PaintStation> {
        let mut found = Vec::new();
        for (position, step) in steps.iter().enumerate() {
            let applicators = step
                .film
                .as_ref()
                .and_then(|film| film.applicators.as_ref());
            let placed = applicators.map_or(0, |applicators| applicators.placed);
            let robots = shared(placed, step.stations.len().max(1));
            for (name, robots) in step.stations.iter().zip(robots) {
                let Some(row) = self.row(name) else { continue };
                let robots = applicators.map(|_| robots);
                found.extend(self.station(row, position, step, (robots, placed), colours));
            }
        }
        let book = self.question.book;
        for repair in &book.repairs {
            let row = repair.station.as_deref().and_then(|name| self.row(name));
            let Some(row) = row else { continue };
            let minutes = cell(repair.time_min.seconds(), repair.at, "time_min");
            let cycle = plain_cycle(
                self,
                format!("paint.station.{}.cycle", row.station),
                format!("time of a repair at {}", row.station),
                row.at,
                minutes,
            );
            found.extend(cycle.map(|cycle| PaintStation {
                station: row.station.clone(),
                at: row.at,
                step: repair.repair.clone(),
                cycle_s: cycle,
                measured_s: row.cycle_s.map(|cycle| cycle.0),
                robots: None,
                robots_given: row.robots,
                path_s: None,
                change_s: None,
            }));
        }
        found
    }

    fn row(&self, name: &str) -> Option<&'a Station> {
        let stations = &self.question.book.stations;
        stations.iter().find(|row| row.station == name)
    }

    fn station(
        &mut self,
        row: &Station,
        position: usize,
        step: &PaintStep,
        (robots, placed): (Option<u32>, u32),
        colours: Option<&Colours>,
    ) -> Option<PaintStation> {
        let mut made = PaintStation {
            station: row.station.clone(),
            at: row.at,
            step: step.coat.clone(),
            cycle_s: step.cycle_s.clone(),
            measured_s: row.cycle_s.map(|cycle| cycle.0),
            robots,
            robots_given: row.robots,
            path_s: None,
            change_s: None,
        };
        if let Some(robots) = robots.filter(|robots| *robots > 0) {
            let part = f64::from(robots) / f64::from(placed);
            self.sprays(&mut made, position, step, (robots, part), colours)?;
            self.fewer(&made, robots);
        }
        if row.units > 1 {
            made.cycle_s = self.side_by_side(row, &made.cycle_s)?;
        }
        Some(made)
    }

    /// A station with applicators: the conveyor's cycle, or longer where they
    /// are too few, with what colour changes take beyond the gap.
    fn sprays(
        &mut self,
        made: &mut PaintStation,
        position: usize,
        step: &PaintStep,
        (robots, part): (u32, f64),
        colours: Option<&Colours>,
    ) -> Option<()> {
        let row = self.steps[position].row;
        let film = step.film.as_ref()?;
        let colours = colours.filter(|_| row.coloured);
        let change = colours.map_or(0.0, |colours| colours.change_s);
        let often = colours.map_or(0.0, Colours::often);
        let figure = self.sheet.add(
            format!("paint.station.{}.cycle", made.station),
            format!("cycle of {}", made.station),
            made.at,
            trade::spray_cycle(
                film.part(row, part),
                flow(row)?,
                cell(row.trigger, row.at, "trigger"),
                cell(row.access, row.at, "access"),
                Sourced::figure(
                    count(robots),
                    format!("paint.{}.{}.applicators", row.step, row.coat),
                ),
                Sourced::figure(Seconds(step.cycle_s.value), step.cycle_s.figure.clone()),
                Seconds(change),
                Share(often),
            ),
        )?;
        made.cycle_s = figure.value(|made| made.cycle.0);
        made.path_s = Some(figure.value.path.0);
        made.change_s = colours.map(|_| figure.value.lost.0);
        Some(())
    }

    /// Robots that the book gives and that are too few.
    fn fewer(&mut self, made: &PaintStation, robots: u32) {
        if made.robots_given == 0 || made.robots_given >= robots {
            return;
        }
        self.notes.push(said(
            Severity::Note,
            (made.at, "too-few-robots", "robots"),
            format!("{} at `{}`", made.robots_given, made.station),
            format!("{robots} for `{}`", made.step),
            "empty the cell for those of the applicators, or correct the step's flow",
        ));
    }

    /// A body stays longer at each of several like places.
    fn side_by_side(&mut self, row: &Station, cycle: &ShopValue) -> Option<ShopValue> {
        let places = f64::from(row.units);
        plain_cycle(
            self,
            format!("paint.station.{}.place_cycle", row.station),
            format!("time at one of the {} places of {}", row.units, row.station),
            row.at,
            Sourced::figure(Seconds(cycle.value * places), cycle.figure.clone()),
        )
    }
}

impl Colours {
    /// Chance of a change at the book's block.
    #[must_use]
    pub fn often(&self) -> f64 {
        let block = f64::from(self.block.max(1));
        self.change_probability.value.min(1.0 / block)
    }
}
