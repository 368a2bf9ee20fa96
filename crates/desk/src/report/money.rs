//! The money of a car as a workbook.

use whole::money::{BetterWay, CarMoney, Case, Exclusive, MakeOrBuy, Returns, RobotHour};

use super::IdeasBy;
use super::sheets::{Cell, Sheet, number, number_if_any, text};
use super::xlsx::{self, WorkbookError};

/// The money of a car as the bytes of an .xlsx file: cost by shop, kind and product,
/// what is missing, lost cars, hours, make or buy, cases.
///
/// # Errors
/// When a table has more rows than a spreadsheet takes.
pub fn money_xlsx(money: &CarMoney) -> Result<Vec<u8>, WorkbookError> {
    let mut sheets = vec![
        cost(money),
        products(money),
        missing(money),
        lost(money),
        hours(money),
        make_or_buy(money),
        cases(money),
        exclusive(money),
    ];
    sheets.retain(|sheet| !sheet.rows.is_empty());
    xlsx::of_sheets(&sheets)
}

/// The cost of a car and what ideas are worth in a few rows, for the printed report;
/// where they were asked for and not added up, that and the way out.
pub(super) fn on_paper(money: Option<&CarMoney>, by: Option<IdeasBy>) -> Vec<Sheet> {
    match (money, by) {
        (Some(money), by) => vec![in_short(money), worth(money, by)],
        (None, Some(by)) => vec![not_added_up(by)],
        (None, None) => Vec::new(),
    }
}

fn not_added_up(by: IdeasBy) -> Sheet {
    let row = vec![
        text("not added up yet"),
        text(by.told()),
        text("open Money on the page, choose this there, and take the report anew"),
    ];
    Sheet::new(
        "Cost of a car",
        &["cost of a car", "what ideas give by", "way out"],
        vec![row],
    )
}

/// What the ideas are worth, and by what that is told.
fn worth(money: &CarMoney, by: Option<IdeasBy>) -> Sheet {
    let row = |case: &Case| {
        let mut row = vec![
            text(&case.idea),
            number(case.investment, 0),
            number(case.cost_per_year, 0),
        ];
        row.extend(cars(case));
        row.extend([number(case.npv.value, 0), number_if_any(case.payback, 2)]);
        row
    };
    let columns = [
        "idea",
        "once",
        "a year",
        "cars a week",
        "± cars",
        "difference shown",
        "value today",
        "back after years",
    ];
    let rows = money.cases.iter().map(row).collect();
    let sheet = Sheet::new("Worth of ideas", &columns, rows);
    match by {
        Some(by) => sheet.note(format!("What ideas give goes by {}.", by.told())),
        None => sheet,
    }
}

/// The cars that an idea brings a week, how sure that is, and whether it is shown.
fn cars(case: &Case) -> [Cell; 3] {
    [
        number(case.cars, 2),
        number_if_any(case.half_width, 2),
        text(match &case.no_car {
            Some(why) => why.as_str(),
            None if case.shown => "yes",
            None => "no",
        }),
    ]
}

/// The cost of a car in a few rows.
fn in_short(money: &CarMoney) -> Sheet {
    let rows = money.kinds.iter().filter(|kind| kind.cost != 0.0);
    let mut rows: Vec<Vec<Cell>> = rows
        .map(|kind| {
            let when = if kind.variable {
                "each car"
            } else {
                "the year"
            };
            vec![
                text(kind.kind.word()),
                text(when),
                number(kind.cost, 2),
                Cell::Share(kind.share),
            ]
        })
        .collect();
    rows.push(vec![
        text("all"),
        text(""),
        number(money.total.value, 2),
        Cell::Share(1.0),
    ]);
    Sheet::new(
        "Cost of a car",
        &["kind", "goes with", "cost", "share"],
        rows,
    )
    .note(note(money))
}

fn note(money: &CarMoney) -> String {
    let lost = money.lost.as_ref().map_or_else(String::new, |lost| {
        format!(
            " A car lost at the constraint costs {}, off it nothing.",
            super::number(lost.at_constraint.value, 0)
        )
    });
    let missing = if money.complete {
        String::new()
    } else {
        format!(
            " Too low: {} kinds of price are missing.",
            money.missing.len()
        )
    };
    format!(
        "{} a mean car at {} cars a week.{lost}{missing}",
        money.currency,
        super::number(money.cars, 0)
    )
}

fn cost(money: &CarMoney) -> Sheet {
    let rows = money.shops.iter().flat_map(|shop| {
        let items = shop.items.iter().map(|item| {
            vec![
                text(&shop.shop),
                text(item.kind.word()),
                text(if item.kind.variable() {
                    "each car"
                } else {
                    "the year"
                }),
                number(item.cost.value, 4),
            ]
        });
        let sum = vec![
            text(&shop.shop),
            text("all"),
            text(""),
            number(shop.cost.value, 4),
        ];
        items.chain([sum])
    });
    let mut rows: Vec<Vec<Cell>> = rows.collect();
    rows.push(vec![
        text("all"),
        text("all"),
        text(""),
        number(money.total.value, 4),
    ]);
    Sheet::new(
        "Cost",
        &["shop", "kind", "goes with", "cost of a car"],
        rows,
    )
    .note(note(money))
}

fn products(money: &CarMoney) -> Sheet {
    let rows = money.products.iter().map(|row| {
        vec![
            text(&row.product),
            number(row.cars, 0),
            number(row.cost, 2),
            number(row.variable, 2),
            number_if_any(row.price, 2),
            number_if_any(row.margin, 2),
            number_if_any(row.profit, 2),
        ]
    });
    let columns = [
        "product",
        "cars a week",
        "cost",
        "one more costs",
        "price",
        "margin",
        "price less cost",
    ];
    Sheet::new("Products", &columns, rows.collect())
}

fn missing(money: &CarMoney) -> Sheet {
    let rows = money.missing.iter().map(|one| {
        vec![
            text(&one.table),
            number_if_any(one.row.map(f64::from), 0),
            text(&one.column),
            text(&one.name),
            number(f64::from(one.more), 0),
            text(&one.what),
            text(&one.mend),
        ]
    });
    let columns = ["table", "row", "column", "for", "and more", "so", "way out"];
    Sheet::new("Missing", &columns, rows.collect())
}

fn lost(money: &CarMoney) -> Sheet {
    let minutes = money.lost.iter().flat_map(|lost| &lost.minutes);
    let rows = minutes.map(|minute| {
        vec![
            text(&minute.place),
            text(&minute.shop),
            Cell::Share(minute.share),
            number(minute.minute.value, 2),
        ]
    });
    let columns = ["lost at", "shop", "never made up", "a minute costs"];
    Sheet::new("Lost minutes", &columns, rows.collect()).note(note(money))
}

fn hours(money: &CarMoney) -> Sheet {
    let row = |row: &RobotHour| {
        vec![
            text(&row.robot),
            number(f64::from(row.count), 0),
            number(row.hours_a_year, 0),
            Cell::Share(row.used),
            number(row.hour.value, 2),
            number(row.person, 2),
            number_if_any(row.pace, 2),
            number_if_any(row.pays_from_h, 0),
            text(if row.robot_cheaper { "robot" } else { "person" }),
        ]
    };
    let columns = [
        "robot",
        "there are",
        "h a year",
        "used",
        "an hour costs",
        "person for the same",
        "by hand over by robot",
        "pays from h a year",
        "cheaper",
    ];
    let rows = money.hours.robots.iter().map(row).collect();
    Sheet::new("Robot or person", &columns, rows)
}

fn verdict(of: BetterWay) -> &'static str {
    match of {
        BetterWay::Make => "make",
        BetterWay::MakeWhileLinesStay => "make while lines stay",
        BetterWay::Buy => "buy",
    }
}

fn make_or_buy(money: &CarMoney) -> Sheet {
    let row = |one: &MakeOrBuy| {
        vec![
            text(&one.name),
            text(if one.assembly { "sub-assembly" } else { "part" }),
            number(one.pieces, 0),
            number(one.make.value, 2),
            number(one.make_saved, 2),
            number(one.buy, 2),
            number(one.freed.iter().map(|freed| freed.hours).sum(), 2),
            number(one.cars_freed, 2),
            number(one.make_days, 2),
            number_if_any(one.buy_days.as_ref().map(|days| days.value), 2),
            text(verdict(one.verdict)),
            number(one.saves_a_year, 0),
            text(&one.why),
        ]
    };
    let columns = [
        "part or line",
        "kind",
        "a week",
        "made",
        "saved at once",
        "bought",
        "h a week free",
        "cars a week",
        "made days",
        "bought days",
        "verdict",
        "saves a year",
        "why",
    ];
    let rows = money.make_or_buy.iter().map(row).collect();
    Sheet::new("Make or buy", &columns, rows)
}

fn rates(of: &Returns) -> Cell {
    if of.rates.is_empty() {
        return text("none");
    }
    let rates: Vec<String> = of
        .rates
        .iter()
        .map(|rate| super::percent(*rate, 2))
        .collect();
    text(rates.join("; "))
}

fn cases(money: &CarMoney) -> Sheet {
    let row = |case: &Case| {
        let mut row = vec![
            text(&case.idea),
            number(case.investment, 0),
            number(case.cost_per_year, 0),
            number(case.weeks, 0),
            number(case.life_years, 1),
        ];
        row.extend(cars(case));
        row.extend([
            number_if_any(case.gain_per_year, 0),
            number(case.npv.value, 0),
            number_if_any(case.npv_half, 0),
            rates(&case.returns),
            number_if_any(case.payback, 2),
            number_if_any(case.discounted_payback, 2),
            number_if_any(case.annual, 0),
            text(case.returns.note.clone().unwrap_or_default()),
        ]);
        row
    };
    let columns = [
        "idea",
        "once",
        "a year",
        "weeks",
        "life years",
        "cars a week",
        "± cars",
        "difference shown",
        "brings a year",
        "value today",
        "± value",
        "rates of return",
        "back after years",
        "with interest",
        "level cost a year",
        "to mind",
    ];
    let rows = money.cases.iter().map(row).collect();
    Sheet::new("Ideas", &columns, rows)
}

fn exclusive(money: &CarMoney) -> Sheet {
    let row = |pair: &Exclusive| {
        vec![
            text(&pair.first),
            text(&pair.second),
            text(&pair.cell),
            number(pair.gain.value, 0),
            rates(&pair.returns),
            text(&pair.verdict),
        ]
    };
    let columns = [
        "cheaper",
        "dearer",
        "cell",
        "worth more by",
        "return on the difference",
        "take",
    ];
    let rows = money.exclusive.iter().map(row).collect();
    Sheet::new("Exclusive ideas", &columns, rows)
}
