//! The ramp of a start: stops settle and work gets shorter, each at its own rate.

use std::collections::BTreeMap;

use book::{Book, Problem, Severity};
use formulas::{Sourced, cost, money};
use shops::carts::{ShopFigure, ShopValue};
use units::{Count, Hours, PerWeek, Share};

use super::learning::Learning;
use super::model::{Ramp, RampWeek};
use crate::lots::Timetabled;
use crate::plan::sheet::{Sheet, cell, setting};
use crate::plan::{self, RatePlan};

/// The most weeks that are followed: two years.
const WEEKS: u32 = 104;
/// The part of the plan's cars at which a ramp is over.
const FULL: f64 = 0.99;

type Made = (Ramp, BTreeMap<String, ShopFigure>);

/// The ramp of the book's plan; inside, why there is none.
///
/// # Errors
/// Problems of the plan, or a first car that takes less work than the plan's.
pub(super) fn ramp(book: &Book) -> Result<Result<Made, String>, Vec<Problem>> {
    let plant = &book.plant;
    let (Some(model), Some(first)) = (plant.learning_model.value, plant.first_car_hours.value)
    else {
        return Ok(Err(
            "the plant table has no learning_model (unit or average) or no first_car_hours; with \
             both the ramp of a start is told"
                .to_owned(),
        ));
    };
    let plan = plan::plan_with(book, &Timetabled::default())?;
    let posts = posts(&plan);
    if posts <= 0.0 || plan.cars <= 0.0 {
        return Ok(Err(
            "no station has people, so that there is no work in a car to learn; write heads"
                .to_owned(),
        ));
    }
    let settled = posts / plan.cars;
    if first < settled {
        return Err(vec![too_little(book, first, settled)]);
    }
    let learning = Learning {
        model,
        first,
        rate: plant.learning_rate.value.0,
        settled,
    };
    let mut sheet = Sheet::default();
    let told = told(&mut sheet, book, &plan, posts);
    let ramp = weeks(&mut sheet, book, &plan, learning, posts, told);
    let figures = sheet.finish()?;
    let figures = figures.into_iter().map(|(id, figure)| {
        let figure = ShopFigure {
            id: figure.id,
            title: figure.title,
            value: figure.value,
            unit: figure.unit,
            working: figure.working,
        };
        (id, figure)
    });
    Ok(Ok((ramp, figures.collect())))
}

/// Hours a week of all filled posts.
fn posts(plan: &RatePlan) -> f64 {
    let shops = plan.shops.iter();
    let hours = shops.map(|shop| {
        let positions = shop.positions.as_ref().map_or(0.0, |posts| posts.value);
        positions * shop.net_time_h.value
    });
    hours.sum()
}

fn too_little(book: &Book, first: f64, settled: f64) -> Problem {
    Problem {
        code: "plant/first-car".into(),
        severity: Severity::Error,
        table: "plant".into(),
        row: book.plant.first_car_hours.at.map(|at| at.row),
        column: Some("value".into()),
        found: format!("{first} hours of work in the first car"),
        expected: format!("at least the {settled:.1} that a car takes in the plan"),
        mend: "write first_car_hours above that, or empty learning_model for no ramp".into(),
        nearest: None,
    }
}

/// The figure of a settled car's hours.
fn told(sheet: &mut Sheet, book: &Book, plan: &RatePlan, posts: f64) -> ShopValue {
    let cars = book.products.iter();
    let cells = cars.map(|row| cell((), row.at, "cars_per_week").from);
    let origin = formulas::Origin::Several(cells.collect());
    let made = cost::work_of_car(Hours(posts), Sourced::new(PerWeek(plan.cars), origin));
    let title = "hours of work in a car once settled";
    let made = sheet.add("ramp.settled", title, None, made);
    made.map_or(
        ShopValue {
            value: posts / plan.cars,
            figure: String::new(),
        },
        |made| made.told(|hours| hours.0),
    )
}

fn weeks(
    sheet: &mut Sheet,
    book: &Book,
    plan: &RatePlan,
    learning: Learning,
    posts: f64,
    settled_hours: ShopValue,
) -> Ramp {
    let people = people(plan);
    let course = course(book, plan.cars, learning, (posts, people));
    figures(sheet, book, &course.weeks, learning);
    let most = course.weeks.iter().map(|week| week.people);
    Ramp {
        model: learning.model,
        rate: learning.rate,
        first_hours: learning.first,
        settled_with: learning.settled_with(),
        settled_hours,
        cars: plan.cars,
        people,
        most_people: most.fold(people, f64::max),
        weeks: course.weeks,
        full_in: course.full_in,
        cars_lost: course.lost,
        cars_lost_manned: course.lost_manned,
        manning_cost: course.beyond_h * book.plant.person_cost_per_hour.value.0,
    }
}

/// The weeks of a ramp and what they sum to.
#[derive(Default)]
struct Course {
    weeks: Vec<RampWeek>,
    full_in: Option<u32>,
    /// Cars fewer than the plan's, with the settled people and with as many as the
    /// stops let work.
    lost: f64,
    lost_manned: f64,
    /// Hours of people beyond the settled ones.
    beyond_h: f64,
}

/// Week by week until the plan's cars are made.
fn course(book: &Book, cars: f64, learning: Learning, (posts, people): (f64, f64)) -> Course {
    let plant = &book.plant;
    let (start, settling) = (
        plant.ramp_availability.value.0,
        plant.ramp_settling_weeks.value,
    );
    let hours_each = posts / people;
    let (mut built, mut manned) = (0.0, 0.0);
    let mut course = Course::default();
    for week in 1..=WEEKS {
        let since = f64::from(week - 1);
        let availability = 1.0 - (1.0 - start) * libm::exp(-since / settling);
        let most = cars * availability;
        let made = learning.cars(built, posts, most);
        built += made;
        let needed = learning.work(manned, most) / hours_each;
        manned += most;
        course.lost += cars - made;
        course.lost_manned += cars - most;
        course.beyond_h += (needed - people).max(0.0) * hours_each;
        course.weeks.push(RampWeek {
            week,
            availability,
            cars: made,
            built,
            hours: learning.hours(built.ceil().max(1.0)),
            by_work: made < most * (1.0 - 1e-9),
            cars_manned: most,
            people: needed,
        });
        if made >= cars * FULL {
            course.full_in = Some(week);
            break;
        }
    }
    course
}

/// People at work on the mean over the week's open hours of their shops, crews
/// counted each.
fn people(plan: &RatePlan) -> f64 {
    let shops = plan.shops.iter();
    let posts = shops.filter_map(|shop| {
        let positions = shop.positions.as_ref()?.value;
        Some(positions * (shop.net_time_h.value / CREW_HOURS).round().max(1.0))
    });
    posts.sum::<f64>().max(1.0)
}

/// Hours a week of one crew (common practice).
const CREW_HOURS: f64 = 40.0;

/// The first week's availability and the last week's learning, with workings.
fn figures(sheet: &mut Sheet, book: &Book, weeks: &[RampWeek], learning: Learning) {
    let plant = &book.plant;
    let Some(last) = weeks.last() else {
        return;
    };
    let made = cost::ramp_availability(
        setting(&plant.ramp_availability, "ramp_availability"),
        Share(1.0),
        setting(&plant.ramp_settling_weeks, "ramp_settling_weeks").map(Count),
        Count(f64::from(last.week - 1)),
    );
    let title = format!(
        "part of the rate that stops let through in week {}",
        last.week
    );
    sheet.add("ramp.availability", title, None, made);
    let first = plant.first_car_hours.at.map_or_else(
        || Sourced::from(Hours(learning.first)),
        |at| cell(Hours(learning.first), at, "value"),
    );
    let rate = setting(&plant.learning_rate, "learning_rate");
    let pieces = Count(last.built.ceil().clamp(1.0, 1e6));
    let title = format!(
        "work in car {:.0} of the start, before the plan's hours hold",
        pieces.0
    );
    match learning.model {
        book::LearningModel::Unit => {
            let made = money::learning_unit(first, rate, pieces);
            sheet.add("ramp.learning", title, None, made);
        }
        book::LearningModel::Average => {
            let made = money::learning_average(first, rate, pieces);
            sheet.add("ramp.learning", title, None, made);
        }
    }
}
