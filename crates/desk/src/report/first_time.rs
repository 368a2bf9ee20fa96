//! The sheets of first time right: by plan, in the run, and where it is lost.

use whole::findings::{Answer, FirstTimeLoss};
use whole::plan::RatePlan;

use super::sheets::{Cell, Sheet, text, verdict};

/// Target, plan and run.
pub(super) fn measured(answer: &Answer) -> Sheet {
    let right = &answer.first_time_right;
    let shares = |share: Option<f64>| share.map_or(Cell::Empty, Cell::Share);
    let row = vec![
        shares(right.target),
        shares(right.planned),
        Cell::ShareInterval(right.made),
        right.verdict.map_or(Cell::Empty, |of| text(verdict(of))),
    ];
    let columns = ["target", "by plan", "in the run", "target kept"];
    let sheet = Sheet::new("First time right", &columns, vec![row]);
    let meaning = "Of the cars finished or scrapped, the share that passed every check on its way \
                   at the first try";
    match &right.differs {
        Some(differs) => sheet.note(format!("{meaning}; {differs}.")),
        None => sheet.note(format!("{meaning}.")),
    }
}

/// The checks that lose most of it.
pub(super) fn losses(answer: &Answer) -> Sheet {
    let row = |loss: &FirstTimeLoss| {
        vec![
            text(&loss.station),
            Cell::ShareInterval(loss.lost),
            Cell::Share(loss.of_loss),
            Cell::Share(loss.if_right),
        ]
    };
    let columns = [
        "check",
        "first to stop, of all cars",
        "of the loss",
        "first time right without it",
    ];
    let losses = &answer.first_time_right.losses;
    Sheet::new(
        "Where first time right is lost",
        &columns,
        losses.iter().map(row).collect(),
    )
}

/// What the plan expects, product by product.
pub(super) fn planned(plan: &RatePlan) -> Sheet {
    let row = |what: &str, id: &str| {
        let figure = plan.figures.get(id)?;
        Some(vec![
            text(what),
            Cell::Share(figure.value),
            text(&figure.title),
        ])
    };
    let products = plan.products.iter().filter_map(|row_of| {
        let id = format!("product.{}.first_time_right", row_of.product);
        row(&row_of.product, &id)
    });
    let rows = products.chain(row("all", "plant.first_time_right"));
    let columns = ["product", "right first time", "what it is"];
    Sheet::new("Planned first time right", &columns, rows.collect())
}
