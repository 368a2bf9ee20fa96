//! The tables of what a car costs.

use whole::money::{BetterWay, CarMoney, Case, MakeOrBuy, Returns};

use crate::figure::{number, percent};
use crate::grid::{Grid, Side};

pub(super) fn by_shop(money: &CarMoney) -> Grid {
    let kinds: Vec<_> = money.kinds.iter().filter(|kind| kind.cost != 0.0).collect();
    let mut heads = vec![("shop", Side::Left)];
    heads.extend(kinds.iter().map(|kind| (kind.kind.word(), Side::Right)));
    heads.push(("all", Side::Right));
    let mut grid = Grid::of(&heads);
    for shop in &money.shops {
        let mut row = vec![shop.shop.clone()];
        row.extend(kinds.iter().map(|kind| {
            let item = shop.items.iter().find(|item| item.kind == kind.kind);
            item.map_or_else(dash, |item| number(item.cost.value, 2))
        }));
        row.push(number(shop.cost.value, 2));
        grid.cells(row);
    }
    let mut row = vec!["all".to_owned()];
    row.extend(kinds.iter().map(|kind| number(kind.cost, 2)));
    row.push(number(money.total.value, 2));
    grid.cells(row);
    grid
}

pub(super) fn metal(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([("", Side::Left), (&money.currency, Side::Right)]);
    let Some(metal) = money.metal else {
        return grid;
    };
    let builds = if metal.builds < 0.0 {
        "its mean week of the builds has fewer cars than are planned"
    } else {
        "its mean week of the builds has more cars than are planned"
    };
    for (what, cost) in [
        (
            "metal by the coil plan, the strips' scrap credited",
            metal.coils,
        ),
        (builds, -metal.builds),
        (
            "credited at the presses, at the same scrap price",
            -metal.offal,
        ),
        (
            "gauges delivered otherwise than drawn, and the like",
            -metal.rest,
        ),
        ("metal of the cars", metal.cars),
    ] {
        // What rounds to nothing is no row.
        if cost.abs() >= 0.5 {
            grid.row([what.to_owned(), number(cost, 0)]);
        }
    }
    grid
}

fn dash() -> String {
    "-".to_owned()
}

fn if_any(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(dash, |value| number(value, decimals))
}

pub(super) fn by_product(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([
        ("product", Side::Left),
        ("cars a week", Side::Right),
        ("cost", Side::Right),
        ("one more costs", Side::Right),
        ("price", Side::Right),
        ("margin", Side::Right),
        ("price less cost", Side::Right),
    ]);
    for row in &money.products {
        grid.row([
            row.product.clone(),
            number(row.cars, 0),
            number(row.cost, 2),
            if row.variable > 0.0 {
                number(row.variable, 2)
            } else {
                dash()
            },
            if_any(row.price, 2),
            if_any(row.margin, 2),
            if_any(row.profit, 2),
        ]);
    }
    grid
}

pub(super) fn hours(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([
        ("robot", Side::Left),
        ("there are", Side::Right),
        ("h a year", Side::Right),
        ("used", Side::Right),
        ("an hour costs", Side::Right),
        ("person for the same", Side::Right),
        ("by hand / robot", Side::Right),
        ("pays from h a year", Side::Right),
        ("cheaper", Side::Left),
    ]);
    for row in &money.hours.robots {
        grid.row([
            row.robot.clone(),
            row.count.to_string(),
            number(row.hours_a_year, 0),
            if row.count > 0 {
                percent(row.used, 0)
            } else {
                dash()
            },
            number(row.hour.value, 2),
            number(row.person, 2),
            if_any(row.pace, 2),
            row.pays_from_h
                .map_or_else(|| "never".to_owned(), |hours| number(hours, 0)),
            if row.robot_cheaper { "robot" } else { "person" }.to_owned(),
        ]);
    }
    grid
}

fn verdict(one: &MakeOrBuy) -> &'static str {
    match one.verdict {
        BetterWay::Make => "make",
        BetterWay::MakeWhileLinesStay => "make while lines stay",
        BetterWay::Buy => "BUY",
    }
}

pub(super) fn make_or_buy(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([
        ("part or line", Side::Left),
        ("a week", Side::Right),
        ("made", Side::Right),
        ("saved at once", Side::Right),
        ("bought", Side::Right),
        ("h a week free", Side::Right),
        ("cars a week", Side::Right),
        ("made, days", Side::Right),
        ("bought, days", Side::Right),
        ("saves a year", Side::Right),
        ("", Side::Left),
    ]);
    for one in &money.make_or_buy {
        grid.row([
            one.name.clone(),
            number(one.pieces, 0),
            number(one.make.value, 2),
            number(one.make_saved, 2),
            number(one.buy, 2),
            number(one.freed.iter().map(|freed| freed.hours).sum(), 1),
            number(one.cars_freed, 1),
            number(one.make_days, 1),
            if_any(one.buy_days.as_ref().map(|days| days.value), 1),
            number(one.saves_a_year, 0),
            verdict(one).to_owned(),
        ]);
    }
    grid
}

/// All rates, or that there is none.
fn rates(of: &Returns) -> String {
    let rates: Vec<String> = of.rates.iter().map(|rate| percent(*rate, 1)).collect();
    match rates.is_empty() {
        true => "none".to_owned(),
        false => rates.join("; "),
    }
}

/// Whether the worth of an idea says something: a plan that does not see its cars,
/// or runs that show no difference, tell nothing of it.
pub(super) fn told(case: &Case) -> bool {
    case.shown && case.no_car.is_none()
}

pub(super) fn cases(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([
        ("idea", Side::Left),
        ("once", Side::Right),
        ("a year", Side::Right),
        ("weeks", Side::Right),
        ("cars a week", Side::Right),
        ("value today", Side::Right),
        ("return", Side::Right),
        ("back after years", Side::Right),
        ("with interest", Side::Right),
        ("", Side::Left),
    ]);
    let never = |years: Option<f64>| years.map_or_else(|| "never".into(), |y| number(y, 2));
    for case in &money.cases {
        let told = told(case);
        let worth = |text: String| if told { text } else { dash() };
        grid.row([
            case.idea.clone(),
            number(case.investment, 0),
            number(case.cost_per_year, 0),
            number(case.weeks, 0),
            match (case.half_width, case.cars_later) {
                (Some(half), _) => format!("{} ± {}", number(case.cars, 1), number(half, 1)),
                (None, _) if case.no_car.is_some() => dash(),
                (None, Some(later)) => {
                    format!("{} to {}", number(case.cars, 1), number(later, 1))
                }
                (None, None) => number(case.cars, 1),
            },
            worth(match case.npv_half {
                Some(half) => format!("{} ± {}", number(case.npv.value, 0), number(half, 0)),
                None => number(case.npv.value, 0),
            }),
            worth(rates(&case.returns)),
            worth(never(case.payback)),
            worth(never(case.discounted_payback)),
            match &case.no_car {
                Some(why) => why.clone(),
                None if case.shown => String::new(),
                None => "no difference shown".to_owned(),
            },
        ]);
    }
    grid
}

pub(super) fn exclusive(money: &CarMoney) -> Grid {
    let mut grid = Grid::new([
        ("cheaper", Side::Left),
        ("dearer", Side::Left),
        ("worth more by", Side::Right),
        ("return on the difference", Side::Right),
        ("take", Side::Left),
    ]);
    for pair in &money.exclusive {
        grid.row([
            pair.first.clone(),
            pair.second.clone(),
            number(pair.gain.value, 0),
            rates(&pair.returns),
            pair.verdict.clone(),
        ]);
    }
    grid
}
