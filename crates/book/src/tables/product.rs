//! What is built: products, options, colours.

use units::{Money, PerWeek, Seconds, Share};

use super::table;
use crate::Table;

table! {
    /// A model or body style and its weekly need.
    Product in Products, key [product] {
        /// The product's name.
        product: String;
        /// Cars needed a week.
        cars_per_week: PerWeek, to(1e6);
        /// What one brings.
        price: Option<Money>;
    }

}

table! {
    /// An option of one product or of all. Shares of options stand each for
    /// itself and need not add to 1.
    OptionRow in Options, key [option, product] {
        /// The option's name.
        option: String;
        /// The product that can have it; empty for all.
        product: Option<String>, refers(Table::Products);
        /// The part of the product's cars that have it.
        share: Share;
        /// Spacing: at most so many ...
        at_most: Option<u32>;
        /// ... in every so many cars in a row.
        in_every: Option<u32>, from(1.0);
        /// Whether the build order must keep that spacing; else a break of it
        /// costs its weight.
        must: bool, usual("no");
        /// What a run of cars that breaks the spacing weighs in the build order.
        weight: u32, usual("10"), to(10000.0);
    }
}

table! {
    /// A colour. The shares of all colours add to 1.
    Colour in Colours, key [colour] {
        /// The colour's name.
        colour: String;
        /// The part of all cars painted so.
        share: Share;
        /// Time lost when the next car has another colour.
        change_s: Seconds, usual("0");
        /// Paint and solvent lost at a colour change.
        purge_l: f64, usual("0"), unit("l"), to(1e6);
    }
}

table! {
    /// A car ordered, for the build order. Of the week's cars those that are not
    /// listed are filled in by the shares of options and colours.
    OrderRow in Orders, key [order] {
        /// The order's name or number.
        order: String;
        /// What is ordered.
        product: String, refers(Table::Products);
        /// All options that it has.
        options: Vec<String>, refers(Table::Options);
        /// Its colour; empty for one by the shares of the colours.
        colour: Option<String>, refers(Table::Colours);
        /// Promised to be built by the end of this working day of the week, the
        /// first being 1.
        due_day: Option<u32>, from(1.0), to(7.0);
        /// Promised to be among the first so many cars of the week.
        due_place: Option<u32>, from(1.0);
        /// Whether the promise must be kept; else being late costs the plant's
        /// `promise_weight`.
        must: bool, usual("yes");
        /// Its place in the part of the order that was frozen before, where it
        /// stays; the week's first car has place 1.
        frozen_place: Option<u32>, from(1.0);
        /// Whether the car is on hold, out of the order.
        on_hold: bool, usual("no");
        /// The working day from whose start on a car on hold may come back;
        /// empty for not this week.
        back_day: Option<u32>, from(1.0), to(7.0);
        /// The week that builds it; all places and days above are that week's.
        week: u32, usual("1"), from(1.0), to(520.0);
        /// Built already, at the end of the week before: 1 for its last car, 2
        /// for the one before that. Rules and colours reach back to such cars,
        /// which are not built again.
        built_before: Option<u32>, from(1.0);
    }
}
