//! What each car takes: metal, bought parts, joints, paint.

use book::{At, Book, Coat, Join, JoinMethod, Part, PartSource};
use formulas::{Litres, Micrometres, MoneyPerKilogram, Sourced, SquareMetres, cost};
use shops::coil::{Coil, StripPart};
use units::{Count, Kilograms, Millimetres, Money};

use super::Basis;
use super::model::{CostKind, MetalBridge};
use crate::plan::sheet::{Sheet, cell};

/// Pieces of one kind with their price.
pub(super) struct Piece {
    pub(super) shop: String,
    pub(super) kind: CostKind,
    pub(super) name: String,
    /// The station where it goes into the car.
    pub(super) goes_to: Option<usize>,
    /// For a car of each product.
    pub(super) per_car: Vec<f64>,
    /// Where the number comes from.
    pub(super) counted: At,
    pub(super) column: &'static str,
    pub(super) price: Sourced<Money>,
}

/// Everything that the cars take.
pub(super) fn all(sheet: &mut Sheet, basis: &mut Basis<'_>) -> Vec<Piece> {
    let mut pieces = metal(sheet, basis);
    pieces.extend(bought(basis));
    pieces.extend(joints(basis));
    pieces.extend(paint(sheet, basis));
    pieces
}

/// Good pieces of a part in a car of each product.
pub(super) fn per_car(basis: &Basis<'_>, part: &Part) -> Vec<f64> {
    let joined_at = part.to.as_deref().and_then(|to| basis.station(to));
    let products = basis.need.products.iter();
    products
        .map(|need| {
            if !part.products.is_empty() && !part.products.contains(&need.product) {
                return 0.0;
            }
            let jobs = joined_at.map_or(1.0, |station| need.per_car.fresh[station]);
            jobs * f64::from(part.per_car)
        })
        .collect()
}

/// The figure of a part's metal.
pub(super) fn metal_figure(part: &str) -> String {
    format!("metal.{part}")
}

fn metal(sheet: &mut Sheet, basis: &mut Basis<'_>) -> Vec<Piece> {
    let book = basis.book;
    let mut pieces = Vec::new();
    let made = |part: &&Part| part.source == PartSource::Made;
    let Some(coil) = basis.metal else {
        if let Some(part) = book.parts.iter().find(made) {
            basis
                .lacking
                .cell(part.at, "outline", &part.part, &basis.no_metal);
        }
        return pieces;
    };
    for part in book.parts.iter().filter(made) {
        let Some(strip) = coil.parts.iter().find(|strip| strip.part == part.part) else {
            basis.lacking.cell(
                part.at,
                "outline",
                &part.part,
                "the cost of metal leaves out parts that are cut from no coil",
            );
            continue;
        };
        if let Some(price) = metal_of(sheet, basis, coil, part, strip) {
            pieces.push(Piece {
                shop: line_shop(book, part),
                kind: CostKind::Metal,
                name: part.part.clone(),
                goes_to: part.to.as_deref().and_then(|to| basis.station(to)),
                per_car: per_car(basis, part),
                counted: part.at,
                column: "per_car",
                price,
            });
        }
    }
    pieces
}

/// The shop that cuts a part's blanks.
fn line_shop(book: &Book, part: &Part) -> String {
    let line = part.blank_line.as_ref().or(part.press_line.as_ref());
    let line = line.and_then(|line| book.press_lines.iter().find(|row| row.press_line == *line));
    line.map_or_else(|| super::PLANT.to_owned(), |line| line.shop.clone())
}

fn metal_of(
    sheet: &mut Sheet,
    basis: &mut Basis<'_>,
    coil: &Coil,
    part: &Part,
    strip: &StripPart,
) -> Option<Sourced<Money>> {
    let material = basis.book.materials.iter();
    let material = material
        .into_iter()
        .find(|row| row.material == strip.material)?;
    let Some(price) = material.price_per_kg.filter(|price| price.0 > 0.0) else {
        basis.lacking.cell(
            material.at,
            "price_per_kg",
            &material.material,
            "the cost of metal leaves out its parts",
        );
        return None;
    };
    let layout = strip.layouts.first()?;
    let bought = Kilograms(layout.gross_cost / price.0);
    let bought = match &layout.figure {
        Some(figure) => {
            basis.of_coil(coil, figure);
            Sourced::figure(bought, figure.clone())
        }
        None => Sourced::from(bought),
    };
    let kept = match part.net_kg {
        Some(_) => cell(kept(part, strip), part.at, "net_kg"),
        None => Sourced::from(kept(part, strip)),
    };
    let scrap_price = material.scrap_price_per_kg.map_or_else(
        || Sourced::from(MoneyPerKilogram(0.0)),
        |price| cell(MoneyPerKilogram(price.0), material.at, "scrap_price_per_kg"),
    );
    let made = cost::metal_of_part(
        cell(Count(1.0 / (1.0 - part.scrap.0)), part.at, "scrap"),
        bought,
        cell(MoneyPerKilogram(price.0), material.at, "price_per_kg"),
        kept,
        scrap_price,
    );
    let title = format!("metal of {}", part.part);
    let made = sheet.add(metal_figure(&part.part), title, Some(part.at), made)?;
    Some(made.part(|metal| metal.cost))
}

/// From the coil plan's metal to that of the pieces, a week: part by part the blanks
/// that the builds take beyond the planned cars, and what the presses give back.
pub(super) fn bridge(basis: &Basis<'_>, pieces: &[Piece]) -> Option<MetalBridge> {
    let coil = basis.metal?;
    let (mut cars, mut builds, mut offal) = (0.0, 0.0, 0.0);
    for piece in pieces.iter().filter(|one| one.kind == CostKind::Metal) {
        let part = basis
            .book
            .parts
            .iter()
            .find(|part| part.part == piece.name)?;
        let strip = coil.parts.iter().find(|strip| strip.part == piece.name)?;
        let needs = piece.per_car.iter().zip(&basis.need.products);
        let good: f64 = needs.map(|(per_car, need)| per_car * need.cars).sum();
        let begun = good / (1.0 - part.scrap.0);
        let blank = strip.layouts.first()?.cost;
        let mut materials = basis.book.materials.iter();
        let material = materials.find(|row| row.material == strip.material)?;
        let scrap_price = material.scrap_price_per_kg.map_or(0.0, |price| price.0);
        cars += good * piece.price.value.0;
        builds += (strip.blanks_a_week - begun) * blank;
        offal += (begun * strip.net_kg - good * kept(part, strip).0) * scrap_price;
    }
    let coils = coil.metal.cost;
    (cars > 0.0).then_some(MetalBridge {
        coils,
        builds,
        offal,
        rest: coils - builds - offal - cars,
        cars,
    })
}

/// Metal that leaves with a good part.
fn kept(part: &Part, strip: &StripPart) -> Kilograms {
    let cut = Kilograms(strip.net_kg);
    part.net_kg.map_or(cut, |net| Kilograms(net.0.min(cut.0)))
}

fn bought(basis: &mut Basis<'_>) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let parts = basis.book.parts.iter();
    for part in parts.filter(|part| part.source == PartSource::Bought) {
        let Some(price) = part.price else {
            basis.lacking.cell(
                part.at,
                "price",
                &part.part,
                "the cost of bought parts leaves it out",
            );
            continue;
        };
        pieces.push(Piece {
            shop: basis.shop_of(part.to.as_deref()),
            kind: CostKind::BoughtParts,
            name: part.part.clone(),
            goes_to: part.to.as_deref().and_then(|to| basis.station(to)),
            per_car: per_car(basis, part),
            counted: part.at,
            column: "per_car",
            price: cell(price, part.at, "price"),
        });
    }
    pieces
}

fn joints(basis: &mut Basis<'_>) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut told = Vec::new();
    for join in &basis.book.joins {
        let plant = &basis.book.plant;
        let (setting, name) = match join.method {
            JoinMethod::Rivet => (&plant.rivet_cost, "rivet_cost"),
            JoinMethod::Spot => (&plant.spot_cost, "spot_cost"),
            JoinMethod::TapeSpot => (&plant.tape_spot_cost, "tape_spot_cost"),
            JoinMethod::Arc => (&plant.arc_cost_per_m, "arc_cost_per_m"),
            JoinMethod::Adhesive => (&plant.adhesive_cost_per_m, "adhesive_cost_per_m"),
        };
        let by_length = matches!(join.method, JoinMethod::Arc | JoinMethod::Adhesive);
        let (Some(price), Some(at)) = (setting.value, setting.at) else {
            if !told.contains(&name) {
                told.push(name);
                let what = "the cost of consumables leaves out such joints";
                basis.lacking.setting(name, what);
            }
            continue;
        };
        let (amount, column) = if by_length {
            (
                join.length_mm.map(|length: Millimetres| length.0 / 1_000.0),
                "length_mm",
            )
        } else {
            (join.count.map(f64::from), "count")
        };
        let Some(amount) = amount else {
            basis.lacking.cell(
                join.at,
                column,
                &join.join,
                "the cost of consumables leaves it out",
            );
            continue;
        };
        pieces.push(Piece {
            shop: basis.shop_of(join.station.as_deref()),
            kind: CostKind::Consumables,
            name: join.join.clone(),
            goes_to: join.station.as_deref().and_then(|to| basis.station(to)),
            per_car: of_products(basis, join, amount),
            counted: join.at,
            column,
            price: cell(price, at, "value"),
        });
    }
    pieces
}

/// Paint or other material that a body takes in a step; none where it takes none.
fn litres(sheet: &mut Sheet, coat: &Coat) -> Option<Litres> {
    let (Some(film), Some(transfer), Some(solids), Some(area)) = (
        coat.film_um,
        coat.transfer_efficiency,
        coat.solids_share,
        coat.area_m2,
    ) else {
        return coat.wet_l.map(Litres);
    };
    let made = cost::paint_volume(
        cell(SquareMetres(area), coat.at, "area_m2"),
        cell(Micrometres(film), coat.at, "film_um"),
        cell(solids, coat.at, "solids_share"),
        cell(transfer, coat.at, "transfer_efficiency"),
    );
    let id = format!("paint.{}.{}", coat.coat, coat.step);
    let title = format!("litres of {} on a car", coat.coat);
    let made = sheet.add(id, title, Some(coat.at), made)?;
    Some(made.value)
}

/// A joint is on the cars that have all parts of its stack.
fn of_products(basis: &Basis<'_>, join: &Join, amount: f64) -> Vec<f64> {
    let parts = &basis.book.parts;
    let stack = join.stack.iter();
    let stack: Vec<&Part> = stack
        .filter_map(|name| parts.iter().find(|part| part.part == *name))
        .collect();
    let station = join.station.as_deref().and_then(|name| basis.station(name));
    let products = basis.need.products.iter();
    products
        .map(|need| {
            let has =
                |part: &&Part| part.products.is_empty() || part.products.contains(&need.product);
            if !stack.iter().all(has) {
                return 0.0;
            }
            amount * station.map_or(1.0, |station| need.per_car.fresh[station])
        })
        .collect()
}

fn paint(sheet: &mut Sheet, basis: &mut Basis<'_>) -> Vec<Piece> {
    let book = basis.book;
    let mut pieces = Vec::new();
    for coat in &book.coats {
        let Some(litres) = litres(sheet, coat) else {
            continue;
        };
        let Some(price) = coat.price_per_l else {
            basis.lacking.cell(
                coat.at,
                "price_per_l",
                &coat.coat,
                "the cost of consumables leaves out this paint",
            );
            continue;
        };
        pieces.push(Piece {
            shop: coat.shop.clone().unwrap_or_else(|| super::PLANT.to_owned()),
            kind: CostKind::Consumables,
            name: coat.coat.clone(),
            goes_to: None,
            per_car: vec![litres.0; basis.need.products.len()],
            counted: coat.at,
            column: if coat.film_um.is_some() {
                "film_um"
            } else {
                "wet_l"
            },
            price: cell(price, coat.at, "price_per_l"),
        });
    }
    pieces
}
