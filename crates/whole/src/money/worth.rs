//! What one more car brings: the book's own figure, else its price less what
//! building it costs.

use std::collections::BTreeMap;

use book::{Book, Problem};
use formulas::Origin;
use serde::{Deserialize, Serialize};
use shops::carts::ShopFigure;
use shops::coil::{Holding, NoPlan, Shelf, Watch};

use super::{Known, begun, lost, named, shop_figure, stack};
use crate::plan::sheet::Sheet;

/// The figure that holds what a car brings.
const FIGURE: &str = "lost.car";

/// What one more car brings, as ideas are weighed with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CarWorth {
    /// Money for each car: the setting `margin_per_car`, else the mean price less
    /// metal, bought parts, consumables and energy.
    pub value: f64,
    /// Whether the setting says so.
    pub given: bool,
    /// Prices that are missing; with any the worth is too high.
    pub missing: u32,
    /// The figure among [`CarWorth::figures`].
    pub figure: String,
    /// The figure and those that it is made of, with their workings, by id; none
    /// once read back.
    #[serde(skip_deserializing)]
    pub figures: BTreeMap<String, ShopFigure>,
}

/// What ideas are weighed with.
#[derive(Debug, Default)]
pub(crate) struct Weights {
    /// What a car more brings; none where the book has neither the setting
    /// `margin_per_car` nor a price for every product.
    pub(crate) car: Option<CarWorth>,
    /// The coils to hold, where blanks were laid.
    pub(crate) coils: Option<Holding>,
}

/// What one more car of a checked book brings. Only without the setting
/// `margin_per_car` blanks are laid on their coils, for the metal.
///
/// # Errors
/// Problems of the plan, or that it was cancelled.
pub(crate) fn weights(book: &Book, shelf: &Shelf, watch: &Watch<'_>) -> Result<Weights, NoPlan> {
    if book.plant.margin_per_car.value.is_some() {
        let mut sheet = Sheet::default();
        let made = lost::given(&mut sheet, book);
        let figures = sheet.finish().map_err(NoPlan::Problems)?;
        let figures = figures.into_iter();
        let car = made.map(|made| CarWorth {
            value: made.value.0,
            given: true,
            missing: 0,
            figure: FIGURE.to_owned(),
            figures: figures.map(|(id, one)| (id, shop_figure(one))).collect(),
        });
        return Ok(Weights { car, coils: None });
    }
    if book.products.iter().any(|row| row.price.is_none()) {
        return Ok(Weights::default());
    }
    let metal = super::metal(book, shelf, watch)?;
    let known = Known {
        book,
        metal: metal.as_ref().map_err(String::as_str),
        run: None,
        gains: &[],
    };
    Ok(Weights {
        car: by_price(&known).map_err(NoPlan::Problems)?,
        coils: metal.ok().map(|coil| coil.holding),
    })
}

fn by_price(known: &Known<'_>) -> Result<Option<CarWorth>, Vec<Problem>> {
    begun(known, |sheet, basis, pieces, machines| {
        let stack = stack::build(sheet, basis, pieces, machines)?;
        let made = lost::margin(sheet, basis, &stack);
        let own = std::mem::take(sheet).finish()?;
        let mut all = basis.with_borrowed(own);
        let lacking = std::mem::take(&mut basis.lacking).finish();
        Ok(made.map(|made| CarWorth {
            value: made.value.0,
            given: false,
            missing: lacking.len() as u32,
            figure: FIGURE.to_owned(),
            figures: reached(&mut all),
        }))
    })
}

/// The figure and those that its working points to, taken out.
fn reached(all: &mut BTreeMap<String, ShopFigure>) -> BTreeMap<String, ShopFigure> {
    let (mut open, mut found) = (vec![FIGURE.to_owned()], BTreeMap::new());
    while let Some(id) = open.pop() {
        let Some(figure) = all.remove(&id) else {
            continue;
        };
        let inputs = figure.working.inputs.iter();
        let origins = inputs.filter_map(|term| term.from.as_ref());
        origins.for_each(|from: &Origin| named(from, &mut open));
        found.insert(id, figure);
    }
    found
}
