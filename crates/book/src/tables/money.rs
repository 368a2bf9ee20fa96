//! What could be bettered, and what is to come.

use units::{Days, Money, PerWeek};

use super::table;
use crate::Table;

table! {
    /// A candidate improvement: one cell of the book that would change. Rows of
    /// the same idea belong together.
    Idea in Ideas, key [idea, table, row, column] {
        /// The idea's name.
        idea: String;
        /// The table that would change.
        table: String;
        /// The row that would change: its key, parts joined by ` / `.
        row: String;
        /// The column that would change.
        column: String;
        /// What stands there now; a reminder, checked when given.
        from: Option<String>;
        /// What would stand there.
        to: String;
        /// What it costs once.
        investment: Money, usual("0");
        /// What it costs a year.
        cost_per_year: Money, usual("0");
        /// Weeks until it works.
        weeks: f64, usual("0"), to(1000.0);
        /// Years it is used.
        life_years: f64, usual("8"), above(0.0), to(100.0);
    }
}

table! {
    /// What another would ask for the work of a line: a sub-assembly that comes
    /// in ready.
    Offer in Offers, key [line] {
        /// The line, as `stations` names it.
        line: String;
        /// What one of its sub-assemblies would cost.
        price: Money;
        /// The fewest pieces in an order.
        min_order: u32, usual("1"), from(1.0), to(1e6);
        /// Time from order to delivery.
        lead_time_days: Days, usual("0"), to(10000.0);
    }
}

table! {
    /// The need for a product in a future period.
    Forecast in Forecast, key [period, product] {
        /// The period, in words that sort in time: `2031`, `2031-Q2`.
        period: String;
        /// The product.
        product: String, refers(Table::Products);
        /// Cars needed a week.
        cars_per_week: PerWeek, to(1e6);
    }
}

table! {
    /// The cars of a product in a week of the build plan. A product that a week
    /// does not name is built at its `cars_per_week`.
    Build in Builds, key [week, product] {
        /// The week; the first week of the plan is 1.
        week: u32, from(1.0), to(520.0);
        /// The product.
        product: String, refers(Table::Products);
        /// Cars to be built in the week.
        cars: f64, to(1e6);
    }
}
