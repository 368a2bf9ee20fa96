//! Distances between people and robots, as planning figures.

use book::{Book, Robot};
use formulas::{MetresPerSecond, guarding};
use units::{Millimetres, Seconds};

use super::model::Guard;
use crate::sheet::{Sheet, Stands, cell};

/// Speed of a person on foot (ISO 13855).
const WALKING: MetresPerSecond = MetresPerSecond(1.6);
/// From detection to the signal, where the book gives only the robot's own
/// stopping time (common practice for safety scanners).
const REACTION: Seconds = Seconds(0.1);
/// Detection capability of a usual light curtain.
const RESOLUTION: Millimetres = Millimetres(30.0);
/// Height of a floor scanner's field (common practice).
const FIELD: Millimetres = Millimetres(200.0);
/// An arm's reach into the field before it is seen (ISO 13855, the usual 850).
const INTRUSION: Millimetres = Millimetres(850.0);
/// Of scanner and robot position together (common practice).
const UNCERTAINTY: Millimetres = Millimetres(100.0);

const CAUTION: &str = "planning figures: before anybody works near it, a competent person \
                       validates distances by the stopping time measured on the machine with its \
                       load, under local codes; the 2010 and 2024 editions of ISO 13855 reckon \
                       otherwise and are not mixed";

/// The distances around each kind of robot that was chosen.
pub(super) fn guards(sheet: &mut Sheet, book: &Book, robots: &[String]) -> Vec<Guard> {
    let row = |name: &String| book.robots.iter().find(|row| row.robot == *name);
    let rows = robots.iter().filter_map(row);
    rows.map(|row| match row.stop_s {
        Some(stop) => guard(sheet, row, stop),
        None => Guard {
            robot: row.robot.clone(),
            curtain_mm: None,
            scanner_mm: None,
            separation_mm: None,
            caution: "no distances: the robots table gives no stop_s, its stopping time as \
                      measured"
                .into(),
        },
    })
    .collect()
}

/// The distances around a robot that stops within this time.
fn guard(sheet: &mut Sheet, row: &Robot, stop: Seconds) -> Guard {
    let name = &row.robot;
    let own = |stop: Seconds| cell(stop, row.at, "stop_s");
    // A guard sees before it signals.
    let stopping = own(Seconds(stop.0 + REACTION.0));
    let id = |what: &str| format!("robot.{name}.{what}");
    let title = |what: &str| format!("{what} at {name}");
    let curtain = sheet.add_with(
        Stands::Last,
        id("curtain"),
        title("light curtain"),
        row.at,
        guarding::light_curtain(stopping.clone(), RESOLUTION),
    );
    let scanner = sheet.add_with(
        Stands::Last,
        id("scanner"),
        title("floor scanner"),
        row.at,
        guarding::floor_scanner(stopping, FIELD),
    );
    let separation = row.speed_mm_s.and_then(|speed| {
        let made = guarding::separation(
            WALKING,
            cell(MetresPerSecond(speed / 1_000.0), row.at, "speed_mm_s"),
            REACTION,
            own(stop),
            INTRUSION,
            UNCERTAINTY,
        );
        sheet.add_with(
            Stands::Last,
            id("separation"),
            title("speed and separation"),
            row.at,
            made,
        )
    });
    Guard {
        robot: name.clone(),
        curtain_mm: curtain.map(|made| made.value(|mm| mm.0)),
        scanner_mm: scanner.map(|made| made.value(|scanner| scanner.distance.0)),
        separation_mm: separation.map(|made| made.value(|mm| mm.0)),
        caution: CAUTION.into(),
    }
}
