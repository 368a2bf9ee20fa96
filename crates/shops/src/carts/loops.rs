//! Fleets that follow a loop.

use std::collections::BTreeMap;

use book::{Book, Carrier, Charging, Problem, Severity};
use formulas::{Origin, Sourced, calendar, fleet as trade};
use units::{Count, Metres, Minutes, Seconds, Share};

use super::{CartLoop, LoopNeed, ShopFigure, ShopValue};
use crate::sheet::{Made, Sheet, cell, problem, setting};

/// Charging that leaves less than this is all a cart does.
const LEAST_FIT: f64 = 0.1;
/// Speed that is left in the worst traffic.
const LEAST_TRAFFIC: f64 = 0.02;
/// Half a millimetre on a line's length is no shortage.
const HAIR_M: f64 = 5e-4;

/// The loops' plans, with their figures, and what is wrong with the rest.
#[derive(Clone, Debug, Default)]
pub struct Loops {
    /// The loops, in the order of their needs; those that are refused are left
    /// out.
    pub loops: Vec<CartLoop>,
    /// Every figure with its working, by id.
    pub figures: BTreeMap<String, ShopFigure>,
    /// What is wrong or odd, each with its row.
    pub problems: Vec<Problem>,
}

/// What a fleet of some number does at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InService {
    /// Carriers in service, whole and at least one.
    pub carriers: u32,
    /// Seconds from the car left until the next can be taken, handling and
    /// traffic counted.
    pub return_s: f64,
}

impl CartLoop {
    /// What `count` of this fleet do: those in service, and how they slow each
    /// other on the way back. Only moving ones do: at most as many as takt sends
    /// back, `w = way back / takt / (1 - loss (w - 1))` by Little's law; the
    /// others wait aside for a car to take.
    pub fn in_service(&self, row: &Carrier, count: u32) -> InService {
        let serving = f64::from(count) * self.fit;
        let behind = serving - self.on_line - self.on_move;
        let moving = behind.min(self.on_way_back);
        let traffic = 1.0 - self.traffic_loss * (moving - 1.0).max(0.0);
        let handling = row.load_s.0 + row.unload_s.0;
        InService {
            carriers: (serving.floor() as u32).max(1),
            return_s: handling + self.way_back_s / traffic.max(LEAST_TRAFFIC),
        }
    }
}

/// Plans the loops of a book. What is refused becomes a problem of its row.
pub fn loops(book: &Book, needs: &[LoopNeed]) -> Loops {
    let mut sheet = Sheet::default();
    let found = needs
        .iter()
        .filter_map(|need| one(&mut sheet, book, need))
        .collect();
    Loops {
        loops: found,
        figures: sheet.figures,
        problems: sheet.problems,
    }
}

/// What a loop's number rests on.
struct Round {
    pitch_m: f64,
    line_m: f64,
    speed: ShopValue,
    takt: Made<Seconds>,
    way_back: Sourced<Seconds>,
    travel: Sourced<Seconds>,
    charging: Option<Made<trade::Charging>>,
    fit: Sourced<Share>,
}

fn one(sheet: &mut Sheet, book: &Book, need: &LoopNeed) -> Option<CartLoop> {
    let row = book.carriers.get(need.carrier)?;
    let name = row.carrier.as_str();
    let takt = sheet.add(
        format!("carrier.{name}.takt"),
        format!("time from one {name} taken to the next"),
        row.at,
        calendar::takt(&need.net, &need.jobs),
    )?;
    let (pitch, line_m) = line(sheet, book, row, need)?;
    let speed = sheet.add(
        format!("carrier.{name}.speed"),
        format!("speed of {name} under the cars, were it even"),
        row.at,
        trade::line_speed(&pitch, takt.part(|takt| *takt)),
    )?;
    let way_back = way_back(sheet, row)?;
    let travel = travel(row, need);
    let charging = charging(sheet, row, &round(need, &takt, &travel, &way_back))?;
    let round = Round {
        pitch_m: pitch.value.0,
        line_m,
        speed: speed.value(|speed| speed.0),
        fit: fit(row, charging.as_ref()),
        takt,
        way_back,
        travel,
        charging,
    };
    let mut found = counted(sheet, row, need, &round)?;
    found.in_service = found.in_service(row, row.count).carriers;
    found.starved = starved(&found);
    if let Some(why) = &found.starved {
        sheet.problems.push(Problem {
            severity: Severity::Note,
            found: why.clone(),
            expected: "a carrier for every station on the way and for the way back".into(),
            mend: format!("raise count to {}", found.needed.value),
            ..problem("fewer-than-stations", row.at, Some("count"))
        });
    }
    Some(found)
}

/// How many the loop needs and where they are; none where no number suffices.
fn counted(sheet: &mut Sheet, row: &Carrier, need: &LoopNeed, round: &Round) -> Option<CartLoop> {
    let name = row.carrier.as_str();
    let (takt, fit) = (&round.takt, round.fit.value.0);
    let made = sheet.add(
        format!("carrier.{name}.needed"),
        format!("{name} that the plan needs"),
        row.at,
        trade::loop_carts(
            &need.stations,
            &round.travel,
            &round.way_back,
            takt.part(|takt| *takt),
            &round.fit,
            cell(row.traffic_loss, row.at, "traffic_loss"),
        ),
    )?;
    let carts = &made.value;
    let busy = round.way_back.value.0 / takt.value.0;
    let (Some(needed), Some(exact), Some(traffic)) = (carts.carts, carts.exact, carts.traffic)
    else {
        sheet.problems.push(crowded(row, busy));
        return None;
    };
    let charging = round.charging.as_ref();
    let load = exact.0 / f64::from(row.count.max(1));
    Some(CartLoop {
        carrier: row.carrier.clone(),
        at: row.at,
        count: row.count,
        taken_at: row.taken_at.clone(),
        returned_at: row.returned_at.clone(),
        jobs: need.jobs.value.0,
        takt_s: takt.value(|takt| takt.0),
        pitch_m: round.pitch_m,
        line_m: round.line_m,
        speed_m_min: round.speed.clone(),
        way_back_s: round.way_back.value.0,
        travel_s: round.travel.value.0,
        charging: row.charging,
        charging_share: charging.map_or(0.0, |made| 1.0 - made.value.fit.0),
        fit,
        traffic_loss: row.traffic_loss.0,
        traffic: traffic.0,
        on_line: need.stations.value.0,
        on_move: round.travel.value.0 / takt.value.0,
        on_way_back: busy / traffic.0,
        out_of_service: exact.0 * (1.0 - fit),
        exact: exact.0,
        needed: made.value(|_| needed.0),
        load,
        over: formulas::over(load),
        in_service: 0,
        starved: None,
    })
}

/// Pitch and length of the way under the cars; none where it has no room for
/// its stations.
fn line(
    sheet: &mut Sheet,
    book: &Book,
    row: &Carrier,
    need: &LoopNeed,
) -> Option<(Sourced<Metres>, f64)> {
    let pitch = match row.pitch_m {
        Some(pitch) => cell(pitch, row.at, "pitch_m"),
        None => setting(&book.plant.pitch_m, "pitch_m"),
    };
    let stations = need.stations.value.0;
    let least = stations * pitch.value.0;
    let given = row.line_m.map(|line| line.0);
    if let Some(short) = given.filter(|given| given + HAIR_M < least) {
        sheet.problems.push(Problem {
            found: format!(
                "a way of {short} m under the cars for {stations:.0} places at {} m each",
                pitch.value.0
            ),
            expected: format!("at least {least:.1} m"),
            mend: format!(
                "write line_m from {least:.1} up, or a pitch_m of at most {:.2}",
                short / stations
            ),
            ..problem("loop-shorter-than-line", row.at, Some("line_m"))
        });
        return None;
    }
    Some((pitch, given.unwrap_or(least)))
}

/// The empty way back: given, or by length, speed and curves.
fn way_back(sheet: &mut Sheet, row: &Carrier) -> Option<Sourced<Seconds>> {
    if let Some(back) = row.return_s {
        return Some(cell(back, row.at, "return_s"));
    }
    let Some((length, speed)) = row.loop_m.zip(row.speed_m_min) else {
        return Some(Sourced::usual(Seconds(0.0), "carriers", "return_s"));
    };
    let name = row.carrier.as_str();
    let made = sheet.add(
        format!("carrier.{name}.way_back"),
        format!("empty way back of {name}"),
        row.at,
        trade::way_back(
            cell(length, row.at, "loop_m"),
            cell(formulas::MetresPerMinute(speed), row.at, "speed_m_min"),
            cell(Count(f64::from(row.curves)), row.at, "curves"),
            cell(row.curve_s, row.at, "curve_s"),
        ),
    )?;
    Some(made.part(|back| *back))
}

/// What a round takes on the line beside its stations.
fn travel(row: &Carrier, need: &LoopNeed) -> Sourced<Seconds> {
    let parts = vec![
        need.moves.clone(),
        cell(row.load_s, row.at, "load_s"),
        cell(row.unload_s, row.at, "unload_s"),
    ];
    Sourced::<Vec<Seconds>>::from(parts).map(|parts| Seconds(parts.iter().map(|s| s.0).sum()))
}

/// A round, charging besides not counted: a takt at each station, and the rest.
fn round(
    need: &LoopNeed,
    takt: &Made<Seconds>,
    travel: &Sourced<Seconds>,
    way_back: &Sourced<Seconds>,
) -> Sourced<Minutes> {
    let seconds = need.stations.value.0 * takt.value.0 + travel.value.0 + way_back.value.0;
    let from = vec![
        takt.part(|_| ()).from,
        need.stations.from.clone(),
        travel.from.clone(),
        way_back.from.clone(),
    ];
    Sourced::new(Minutes(seconds / 60.0), Origin::Several(from))
}

/// What charging leaves of the time. The outer none: it cannot be; the inner:
/// the fleet is driven from outside.
fn charging(
    sheet: &mut Sheet,
    row: &Carrier,
    round: &Sourced<Minutes>,
) -> Option<Option<Made<trade::Charging>>> {
    if row.charging == Charging::None {
        return Some(None);
    }
    let name = row.carrier.as_str();
    let standing = if row.charging == Charging::Opportunity {
        let handling = Sourced::<Vec<Seconds>>::from(vec![
            cell(row.load_s, row.at, "load_s"),
            cell(row.unload_s, row.at, "unload_s"),
        ]);
        handling.map(|parts| Minutes(parts.iter().map(|s| s.0).sum::<f64>() / 60.0))
    } else {
        cell(Minutes(0.0), row.at, "charging")
    };
    let moving = round.value.0 - standing.value.0;
    if row.battery_min.0 < moving {
        sheet.problems.push(Problem {
            found: format!("{} min for a round of {moving:.0} min", row.battery_min.0),
            expected: "a battery that lasts a round, since it is filled only between rounds".into(),
            mend: format!(
                "take a battery for {moving:.0} min or more, or drive it from the floor \
                 (charging none)"
            ),
            ..problem("battery-too-short", row.at, Some("battery_min"))
        });
        return None;
    }
    let made = sheet.add(
        format!("carrier.{name}.charging"),
        format!("share of time that charging leaves {name}"),
        row.at,
        trade::charging(
            round,
            &standing,
            cell(row.battery_min, row.at, "battery_min"),
            cell(row.charge_min, row.at, "charge_min"),
        ),
    )?;
    if made.value.fit.0 < LEAST_FIT {
        sheet.problems.push(Problem {
            found: format!(
                "{} min to charge for {} min of work: charging takes {:.0} % of the time",
                row.charge_min.0,
                row.battery_min.0,
                100.0 * (1.0 - made.value.fit.0)
            ),
            expected: "carts that work more than they charge".into(),
            mend: "lower charge_min by a stronger charger or by swapping batteries".into(),
            ..problem("charging-all-the-time", row.at, Some("charge_min"))
        });
        return None;
    }
    Some(Some(made))
}

/// The share of the fleet in service.
fn fit(row: &Carrier, charging: Option<&Made<trade::Charging>>) -> Sourced<Share> {
    let own = cell(row.availability, row.at, "availability");
    match charging {
        None => own,
        Some(made) => {
            let left = made.part(|made| made.fit);
            let both = Share(own.value.0 * left.value.0);
            Sourced::new(both, Origin::Several(vec![own.from, left.from]))
        }
    }
}

/// A way back on which no number suffices.
fn crowded(row: &Carrier, busy: f64) -> Problem {
    let most = 0.25 * (1.0 + row.traffic_loss.0) * (1.0 + row.traffic_loss.0) / busy;
    Problem {
        found: format!(
            "{} lost by each further one on a way back that keeps {busy:.1} busy: no number \
             suffices",
            row.traffic_loss.0
        ),
        expected: "traffic in which the fleet can do its work".into(),
        mend: format!(
            "bring traffic_loss to about {most:.3} by a way of their own, or shorten the way \
             back, or drive faster"
        ),
        ..problem("too-crowded", row.at, Some("traffic_loss"))
    }
}

/// Fewer in service than there are stations under the cars: the line can never
/// be full.
fn starved(fleet: &CartLoop) -> Option<String> {
    let serving = f64::from(fleet.in_service);
    (serving < fleet.on_line).then(|| {
        format!(
            "{serving:.0} of {} in service for {:.0} places at stations under the cars: `{}` waits \
             for empty ones and starves the stations behind it however fast they are",
            fleet.count, fleet.on_line, fleet.taken_at
        )
    })
}
