//! The sheets of the run's course: shops, days, times.

use whole::findings::{Answer, Day, ShopOutput};

use super::curves;
use super::sheets::{Cell, Sheet, text};

const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
/// Stations named in a cell.
const NAMED: usize = 4;

pub(super) fn shops(answer: &Answer) -> Sheet {
    let row = |shop: &ShopOutput| {
        let more = shop.last.len().saturating_sub(NAMED);
        let mut counted = shop.last.iter().take(NAMED).cloned().collect::<Vec<_>>();
        if more > 0 {
            counted.push(format!("{more} more"));
        }
        vec![
            text(&shop.shop),
            Cell::Interval(shop.made, 1),
            text(counted.join("; ")),
        ]
    };
    Sheet::new(
        "Shops in the flow",
        &["shop", "cars a week sent on", "counted at"],
        answer.shops.iter().map(row).collect(),
    )
    .note(
        "Good work that left each shop, in cars of the planned mix; what it differs from the \
         plant's cars went into its stock or came from it.",
    )
}

pub(super) fn days(answer: &Answer) -> Sheet {
    let row = |day: &Day| {
        vec![
            text(day_name(day)),
            Cell::Interval(day.cars, 1),
            Cell::Interval(day.jobs, 1),
        ]
    };
    Sheet::new(
        "Day by day",
        &["day", "cars finished", "in the plant"],
        answer.days.iter().map(row).collect(),
    )
    .note(format!(
        "Means over {} replications, the warm-up left out; in the plant are cars, \
         sub-assemblies and pieces.",
        answer.run.replications
    ))
    .picture(curves::course(&answer.days))
}

/// `Mon, week 2`: weeks count from the start of the run.
fn day_name(day: &Day) -> String {
    let week = (day.from_h / 168.0).floor() + 1.0;
    format!("{}, week {week}", weekday(day))
}

pub(super) fn weekday(day: &Day) -> &'static str {
    let days = (day.from_h / 24.0).floor().max(0.0);
    WEEKDAYS[days as usize % WEEKDAYS.len()]
}

pub(super) fn spread(answer: &Answer) -> Sheet {
    let spread = &answer.coil_to_car.spread;
    let steps = spread.days.len().saturating_sub(1).max(1) as f64;
    let row = |(step, days): (usize, &f64)| {
        vec![Cell::Share(step as f64 / steps), Cell::Number(*days, 2)]
    };
    let within = spread.within_target.map_or_else(String::new, |share| {
        format!(
            " {} of them keep the target of {} days.",
            super::percent(share, 1),
            super::number(answer.coil_to_car.target_days, 1)
        )
    });
    Sheet::new(
        "How long the cars take",
        &["share of the cars", "take at most, days"],
        spread.days.iter().enumerate().map(row).collect(),
    )
    .note(format!(
        "From coil to car, {} cars of all replications together.{within}",
        super::number(spread.cars as f64, 0)
    ))
    .picture(curves::spread(&answer.coil_to_car))
}

#[cfg(test)]
mod tests {
    use flow::statistics::Interval;
    use whole::findings::Day;

    use super::day_name;

    #[test]
    fn a_run_begins_on_a_monday() {
        let day = |from_h: f64| Day {
            from_h,
            to_h: from_h + 24.0,
            cars: Interval::of(&[1.0, 2.0], 0.95),
            jobs: Interval::of(&[1.0, 1.0], 0.95),
        };
        assert_eq!(day_name(&day(0.0)), "Mon, week 1");
        assert_eq!(day_name(&day(6.0 * 24.0)), "Sun, week 1");
        assert_eq!(day_name(&day(120.0 + 168.0)), "Sat, week 2");
    }
}
