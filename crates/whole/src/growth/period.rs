//! Periods of the forecast: what their names say, and that none is left out.

use std::fmt;

use book::{At, Book, Forecast, Problem, Severity};
use serde::{Deserialize, Serialize};
use units::civil;

/// A day of the calendar, counted from 1970-01-01.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(super) struct Day(pub(super) i64);

impl Day {
    /// The first of a month; months beyond 12 are of later years.
    pub(super) fn first_of(year: i64, month: i64) -> Self {
        let (year, month) = (
            year + (month - 1).div_euclid(12),
            (month - 1).rem_euclid(12) + 1,
        );
        Self(civil::days(year, month, 1))
    }

    /// Year, month and day.
    fn civil(self) -> (i64, i64, i64) {
        civil::date(self.0)
    }

    /// So many weeks earlier, begun days counted whole.
    pub(super) fn before(self, weeks: f64) -> Self {
        Self(self.0 - (weeks * 7.0).ceil() as i64)
    }

    /// So many weeks later, begun days counted whole.
    pub(super) fn after(self, weeks: f64) -> Self {
        Self(self.0 + (weeks * 7.0).ceil() as i64)
    }

    /// The number of its quarter, counted from the year 0.
    pub(super) fn quarter(self) -> i64 {
        let (year, month, _) = self.civil();
        year * 4 + (month - 1) / 3
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.civil();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// A quarter's name.
pub(super) fn quarter_name(quarter: i64) -> String {
    format!("{} Q{}", quarter.div_euclid(4), quarter.rem_euclid(4) + 1)
}

/// How long the periods of a forecast are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Length {
    Year,
    Half,
    Quarter,
    Month,
}

impl Length {
    fn months(self) -> i64 {
        match self {
            Self::Year => 12,
            Self::Half => 6,
            Self::Quarter => 3,
            Self::Month => 1,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Year => "years",
            Self::Half => "half years",
            Self::Quarter => "quarters",
            Self::Month => "months",
        }
    }

    /// The name of the period of this number.
    fn name(self, number: i64) -> String {
        let in_year = 12 / self.months();
        let (year, part) = (number.div_euclid(in_year), number.rem_euclid(in_year) + 1);
        match self {
            Self::Year => year.to_string(),
            Self::Half => format!("{year} H{part}"),
            Self::Quarter => format!("{year} Q{part}"),
            Self::Month => format!("{year}-{part:02}"),
        }
    }
}

/// A period with its cars.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Forecasted {
    pub(super) label: String,
    pub(super) starts: Day,
    pub(super) ends: Day,
    /// Cars a week of each product, in the book's order.
    pub(super) cars: Vec<f64>,
}

impl Forecasted {
    pub(super) fn weeks(&self) -> f64 {
        (self.ends.0 - self.starts.0) as f64 / 7.0
    }
}

/// The length and number of a period by its name: `2031`, `2031-H1`, `2031 Q2`,
/// `2031-04`.
fn named(text: &str) -> Option<(Length, i64)> {
    let plain = text.trim().to_uppercase();
    if !plain.is_ascii() || plain.len() < 4 {
        return None;
    }
    let (year, rest) = plain.split_at(4);
    let year: i64 = year
        .parse()
        .ok()
        .filter(|year| (1900..=2999).contains(year))?;
    let rest = rest.trim_start_matches([' ', '-', '/', '.']);
    let (length, part) = match rest.as_bytes() {
        [] => (Length::Year, 1),
        [b'H', part] => (Length::Half, i64::from(part.checked_sub(b'0')?)),
        [b'Q', part] => (Length::Quarter, i64::from(part.checked_sub(b'0')?)),
        [a, b] if a.is_ascii_digit() && b.is_ascii_digit() => (
            Length::Month,
            i64::from(a - b'0') * 10 + i64::from(b - b'0'),
        ),
        _ => return None,
    };
    let in_year = 12 / length.months();
    (1..=in_year)
        .contains(&part)
        .then(|| (length, year * in_year + part - 1))
}

/// A row of the forecast with the length and number of its period.
type Dated<'b> = (Length, i64, &'b Forecast);

/// The periods of the forecast, the earliest first.
///
/// # Errors
/// No forecast, names that are no periods or of unlike length, periods left out,
/// products left out of a period.
pub(super) fn read(book: &Book) -> Result<Vec<Forecasted>, Vec<Problem>> {
    let (length, rows) = dated(book)?;
    let mut problems = periods_left_out(length, &rows);
    problems.extend(products_left_out(book, &rows));
    if !problems.is_empty() {
        return Err(problems);
    }
    let starts = |number: i64| Day::first_of(0, number * length.months() + 1);
    let period = |number: i64| {
        let of = of_number(&rows, number);
        let cars = book.products.iter().map(|product| {
            let row = of.iter().find(|row| row.product == product.product);
            row.map_or(0.0, |row| row.cars_per_week.0)
        });
        Forecasted {
            label: of
                .first()
                .map_or_else(String::new, |row| row.period.clone()),
            starts: starts(number),
            ends: starts(number + 1),
            cars: cars.collect(),
        }
    };
    Ok(numbers(&rows).into_iter().map(period).collect())
}

/// The rows in the order of their periods, all of one length.
fn dated(book: &Book) -> Result<(Length, Vec<Dated<'_>>), Vec<Problem>> {
    let Some(first) = book.forecast.first() else {
        let said = [
            "no row",
            "the cars a week of each product in each period to come",
            "add rows such as `2031 Q1`, a product and its cars a week",
        ];
        return Err(vec![problem(None, "none", None, said)]);
    };
    let mut problems = Vec::new();
    let mut rows: Vec<Dated<'_>> = Vec::new();
    for row in &book.forecast {
        match named(&row.period) {
            Some((length, number)) => rows.push((length, number, row)),
            None => {
                let found = format!("`{}`", row.period);
                let said = [
                    found.as_str(),
                    "a year, half, quarter or month such as 2031, 2031 H1, 2031 Q2 or 2031-04",
                    "write the period so; the weeks to do an idea are counted back from it",
                ];
                problems.push(problem(
                    Some(row.at),
                    "unknown-period",
                    Some("period"),
                    said,
                ));
            }
        }
    }
    let length = rows.first().map_or(Length::Year, |row| row.0);
    if let Some((other, _, row)) = rows.iter().find(|row| row.0 != length) {
        let found = format!("`{}`, which is of {}", row.period, other.word());
        let expected = format!("{} as in row {}", length.word(), first.at.row);
        let said = [
            found.as_str(),
            expected.as_str(),
            "keep to one length of period",
        ];
        problems.push(problem(Some(row.at), "mixed-periods", Some("period"), said));
    }
    rows.sort_by_key(|row| (row.1, row.2.at.row));
    if problems.is_empty() {
        Ok((length, rows))
    } else {
        Err(problems)
    }
}

fn of_number<'b>(rows: &[Dated<'b>], number: i64) -> Vec<&'b Forecast> {
    let own = rows.iter().filter(|row| row.1 == number);
    own.map(|row| row.2).collect()
}

fn numbers(rows: &[Dated<'_>]) -> Vec<i64> {
    let mut numbers: Vec<i64> = rows.iter().map(|row| row.1).collect();
    numbers.dedup();
    numbers
}

/// Periods between two others that have no row.
fn periods_left_out(length: Length, rows: &[Dated<'_>]) -> Vec<Problem> {
    let pairs = rows.windows(2).map(|pair| (&pair[0], &pair[1]));
    let apart = pairs.filter(|(before, after)| after.1 > before.1 + 1);
    let told = apart.map(|(before, after)| {
        let (from, to) = (length.name(before.1 + 1), length.name(after.1 - 1));
        let left_out = if from == to {
            from
        } else {
            format!("{from} to {to}")
        };
        let found = format!("`{}` right after `{}`", after.2.period, before.2.period);
        let expected = format!("{left_out} between them");
        let mend = format!("add rows for {left_out}, one for each product");
        let said = [found.as_str(), expected.as_str(), mend.as_str()];
        problem(Some(after.2.at), "gap", Some("period"), said)
    });
    told.collect()
}

/// Products that a period has no row for, and periods without a car.
fn products_left_out(book: &Book, rows: &[Dated<'_>]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for number in numbers(rows) {
        let here = of_number(rows, number);
        let Some(first) = here.first() else {
            continue;
        };
        let period = &first.period;
        for product in &book.products {
            let product = &product.product;
            if here.iter().any(|row| row.product == *product) {
                continue;
            }
            let found = format!("no row for {product} in {period}");
            let mend = format!(
                "add a row {period}, {product} with its cars a week, or 0 if none is built"
            );
            let said = [found.as_str(), "each product in each period", mend.as_str()];
            problems.push(problem(Some(first.at), "gap", Some("product"), said));
        }
        let all: f64 = here.iter().map(|row| row.cars_per_week.0).sum();
        if all <= 0.0 {
            let found = format!("0 cars a week of all products in {period}");
            let said = [
                found.as_str(),
                "a car to be built",
                "write the need, or end the forecast before the period",
            ];
            let column = Some("cars_per_week");
            problems.push(problem(Some(first.at), "no-cars", column, said));
        }
    }
    problems
}

fn problem(at: Option<At>, what: &str, column: Option<&str>, said: [&str; 3]) -> Problem {
    let [found, expected, mend] = said;
    Problem {
        code: format!("forecast/{what}"),
        severity: Severity::Error,
        table: "forecast".into(),
        row: at.map(|at| at.row),
        column: column.map(Into::into),
        found: found.to_owned(),
        expected: expected.to_owned(),
        mend: mend.to_owned(),
        nearest: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_names_of_periods_are_read_in_the_ways_people_write_them() {
        assert_eq!(named("2031"), Some((Length::Year, 2031)));
        assert_eq!(named("2031 H2"), Some((Length::Half, 4063)));
        for text in ["2031 Q2", "2031-Q2", "2031q2", " 2031/Q2 "] {
            assert_eq!(named(text), Some((Length::Quarter, 8125)), "{text}");
        }
        assert_eq!(named("2031-04"), Some((Length::Month, 24_375)));
        for text in [
            "",
            "next year",
            "2031 Q5",
            "2031-13",
            "Q2 2031",
            "20-31",
            "2031 H0",
        ] {
            assert_eq!(named(text), None, "{text}");
        }
    }

    #[test]
    fn weeks_are_counted_back_from_the_first_day() {
        let quarter = Day::first_of(2027, 4);
        assert_eq!(quarter.to_string(), "2027-04-01");
        // 26 weeks are 182 days; February 2027 has 28.
        assert_eq!(quarter.before(26.0).to_string(), "2026-10-01");
        assert_eq!(
            Day::first_of(2028, 3).before(1.0 / 7.0).to_string(),
            "2028-02-29"
        );
        assert_eq!(Day::first_of(1970, 1), Day(0));
        assert_eq!(quarter_name(Day::first_of(2027, 6).quarter()), "2027 Q2");
    }

    proptest! {
        #[test]
        fn a_day_and_its_date_are_one(day in -200_000i64..400_000) {
            let (year, month, of_month) = Day(day).civil();
            prop_assert_eq!(Day::first_of(year, month).0 + of_month - 1, day);
        }
    }
}
