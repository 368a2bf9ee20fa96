//! What is built: products, options, colours.

use units::{PerWeek, Seconds, Share};

use super::table;
use crate::Table;

table! {
    /// A model or body style and its weekly need.
    Product in Products, key [product] {
        /// The product's name.
        product: String;
        /// Cars needed a week.
        cars_per_week: PerWeek, to(1e6);
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
