//! How long a station takes a car.

use book::Cycle;
use units::Seconds;

/// The cycle of a car at a station with its own cycle and its rows of the
/// cycles table. The row that says most about the car wins: product and option,
/// then option, then product, then the station's own; of rows that say as much,
/// the longest cycle.
pub fn cycle_of(own: Seconds, rows: &[&Cycle], product: &str, options: &[String]) -> Seconds {
    let mut chosen: Option<(u8, Seconds)> = None;
    for row in rows {
        let of_product = row.product.as_ref().map(|own| *own == product);
        let of_option = row.option.as_ref().map(|option| options.contains(option));
        let says = match (of_product, of_option) {
            (Some(false), _) | (_, Some(false)) => continue,
            (Some(true), Some(true)) => 3,
            (None, Some(true)) => 2,
            (Some(true), None) => 1,
            (None, None) => 0,
        };
        if chosen.is_none_or(|before| (says, row.cycle_s) > before) {
            chosen = Some((says, row.cycle_s));
        }
    }
    chosen.map_or(own, |(_, cycle)| cycle)
}
