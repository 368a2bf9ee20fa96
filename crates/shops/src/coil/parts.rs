//! Each part on its strip: the layout used, the runner-up and why it lost.

use book::{Book, PressKind, Problem};
use strip::Kind;

use super::clients::{self, Client, Share, weekly};
use super::cutting::Cutting;
use super::figures::Figures;
use super::lay::{Laid, Place, micrometres};
use super::lost;
use super::model::{Placed, StripLayout, StripPart, Unlaid};
use super::price::{Priced, Spec, alone, together};
use super::wrong;

/// A layout with its coil.
pub(super) struct On {
    pub(super) spec: usize,
    pub(super) priced: Priced,
}

/// What all parts are shown with.
pub(super) struct Shown<'a, 'b> {
    pub(super) book: &'a Book,
    pub(super) cut: &'b [Cutting<'a>],
    pub(super) laid: &'b Laid,
    pub(super) specs: &'b [Spec<'a>],
}

/// What keeps a part off every coil of the book: none of its alloy and gauge,
/// none wide enough, a web or margin that cannot be.
pub(super) fn problems(shown: &Shown<'_, '_>) -> Vec<Problem> {
    let mut problems: Vec<Problem> = Vec::new();
    for (i, part) in shown.cut.iter().enumerate() {
        let own: Vec<&Spec<'_>> = shown
            .specs
            .iter()
            .filter(|s| s.sort == part.sort())
            .collect();
        if own.is_empty() {
            problems.push(wrong::no_coil(part));
            continue;
        }
        let widths = own.iter().map(|spec| spec.width_mm);
        let widest = widths.filter(|width| part.takes(*width)).reduce(f64::max);
        let Some(widest) = widest else {
            problems.push(wrong::no_width(part, None, wrong::NARROWER));
            continue;
        };
        let mut refused = false;
        for place in places_of(shown, i, &own) {
            if let Some(Err(refusals)) = shown.laid.at(&place) {
                refused = true;
                for refusal in refusals {
                    let problem = wrong::refused(part, refusal);
                    if !problems.contains(&problem) {
                        problems.push(problem);
                    }
                }
            }
        }
        let fits = own
            .iter()
            .any(|spec| !alone(shown.cut, shown.laid, i, spec).is_empty());
        if !refused && !fits {
            let why = why_not(shown, i, widest);
            problems.push(wrong::no_width(part, Some(widest), &why));
        }
    }
    problems
}

fn places_of(shown: &Shown<'_, '_>, cutting: usize, own: &[&Spec<'_>]) -> Vec<Place> {
    let mixed = [false, true];
    own.iter()
        .filter(|spec| shown.cut[cutting].takes(spec.width_mm))
        .flat_map(|spec| {
            mixed.map(|mixed| Place {
                cutting,
                width: Some(micrometres(spec.width_mm)),
                mixed,
            })
        })
        .collect()
}

/// Why a part has no layout on the widest coil, in the words of the strip.
fn why_not(shown: &Shown<'_, '_>, cutting: usize, widest: f64) -> String {
    let place = Place {
        cutting,
        width: Some(micrometres(widest)),
        mixed: false,
    };
    match shown.laid.at(&place) {
        Some(Ok(outcome)) => outcome.without.first().map_or_else(
            || "a coil shorter than one pitch: order longer coils".to_owned(),
            |none| none.why.clone(),
        ),
        _ => "hold a wider coil".to_owned(),
    }
}

/// All parts, in the order in which they are cut; `used` has each part's share
/// of its client.
pub(super) fn all(
    figures: &mut Figures,
    shown: &Shown<'_, '_>,
    clients: &[Client],
    used: &[(usize, Share)],
    to_cut_from: &[String],
) -> Vec<StripPart> {
    (0..shown.cut.len())
        .filter_map(|part| {
            let client = clients.iter().find(|client| client.parts.contains(&part))?;
            let (spec, share) = used.iter().find(|(_, share)| share.part == part)?;
            let layouts = layouts(shown, client, part, (*spec, share));
            Some(one(figures, shown, client, part, &layouts, to_cut_from))
        })
        .collect()
}

/// The layouts of a part on all coils of its sort: the one used first, the
/// others by the cost of a blank.
fn layouts(
    shown: &Shown<'_, '_>,
    client: &Client,
    part: usize,
    (used, share): (usize, &Share),
) -> Vec<On> {
    let own = |spec: &&(usize, &Spec<'_>)| {
        spec.1.sort == shown.cut[part].sort() && shown.cut[part].takes(spec.1.width_mm)
    };
    let mut found: Vec<On> = Vec::new();
    for (s, spec) in shown
        .specs
        .iter()
        .enumerate()
        .collect::<Vec<_>>()
        .iter()
        .filter(own)
    {
        let mut priced = alone(shown.cut, shown.laid, part, spec);
        // A pair that lost is shown as one that won is.
        let pair = match client.parts.as_slice() {
            [first, second] => Some((*first, *second)),
            _ => lost::tried(shown, client, part),
        };
        if let Some(pair) = pair
            && let Some([one, two]) = together(shown.cut, shown.laid, pair, spec)
        {
            priced.push(if part == pair.0 { one } else { two });
        }
        found.extend(priced.into_iter().map(|priced| On { spec: *s, priced }));
    }
    let is_used = |on: &On| {
        on.spec == used
            && on.priced.layout.kind == share.priced.layout.kind
            && (on.priced.layout.kind == Kind::MixedPair) == share.mixed
    };
    found.sort_by(|one, other| {
        let first = is_used(other).cmp(&is_used(one));
        first.then(one.priced.blank().total_cmp(&other.priced.blank()))
    });
    found
}

fn one(
    figures: &mut Figures,
    shown: &Shown<'_, '_>,
    client: &Client,
    part: usize,
    found: &[On],
    to_cut_from: &[String],
) -> StripPart {
    let cutting = &shown.cut[part];
    let layouts: Vec<StripLayout> = found
        .iter()
        .enumerate()
        .map(|(n, on)| {
            // Workings are kept of what a reader compares.
            let figure = (n < 2)
                .then(|| workings(figures, shown, cutting, on))
                .flatten();
            layout(shown, on, figure)
        })
        .collect();
    let delivered = found
        .first()
        .map_or(cutting.gauge_mm, |on| shown.specs[on.spec].delivered_mm);
    let mixed = found
        .first()
        .is_some_and(|on| on.priced.layout.kind == Kind::MixedPair);
    let paired = client.parts.iter().find(|other| **other != part);
    let beside =
        lost::tried(shown, client, part).map(|pair| lost::beside(shown, pair, part, found));
    let mut without = without(shown, part, found);
    without.extend(lost::without_pair(shown, client, part, beside.as_ref()));
    StripPart {
        part: cutting.part.part.clone(),
        at: cutting.part.at,
        material: cutting.material.material.clone(),
        gauge_mm: cutting.gauge_mm,
        outline: cutting.outline_name.to_owned(),
        paths: paths(cutting),
        line: cutting.line.press_line.clone(),
        laser: cutting.line.kind == PressKind::Laser,
        clearance_mm: cutting.cut.clearance_mm(),
        margin_mm: cutting.cut.margin_mm(),
        with: paired
            .filter(|_| mixed)
            .map(|other| shown.cut[*other].part.part.clone()),
        blanks_a_week: cutting.mean(),
        net_kg: cutting.net_kg(delivered),
        cut_mm: cutting.own.cut_length_mm(),
        runner_up: lost::runner_up(shown, part, found, beside.as_ref()),
        layouts,
        without,
        beside,
        to_cut_from: to_cut_from.get(part).cloned().unwrap_or_default(),
    }
}

/// The blank's paths as points with bulges.
fn paths(cutting: &Cutting<'_>) -> Vec<Vec<[f64; 3]>> {
    let paths = cutting.own.vertices();
    let point = |v: &strip::Vertex| [v.x_mm, v.y_mm, v.bulge];
    paths
        .iter()
        .map(|path| path.iter().map(point).collect())
        .collect()
}

/// The workings of a layout's cost; the id of the cost.
fn workings(
    figures: &mut Figures,
    shown: &Shown<'_, '_>,
    cutting: &Cutting<'_>,
    on: &On,
) -> Option<String> {
    let spec = &shown.specs[on.spec];
    let (part, kind) = (&cutting.part.part, on.priced.layout.kind);
    let id = format!("blank.{part}.{}.{kind}", spec.name);
    let pieces = format!("{id}.pieces");
    let mut cost = on.priced.cost.clone();
    if let Some(blanks) = cost
        .working
        .inputs
        .iter_mut()
        .find(|term| term.symbol == "good_blanks")
    {
        blanks.from = Some(formulas::Origin::Figure(pieces.clone()));
    }
    let place = cutting.part.at;
    let title = format!("blanks of {part} from a coil {}", spec.name);
    figures.add(&pieces, title, place, Ok(on.priced.pieces.clone()))?;
    let title = format!("metal cost of a blank of {part} from {}", spec.name);
    figures.add(&id, title, place, Ok(cost))?;
    Some(id)
}

fn layout(shown: &Shown<'_, '_>, on: &On, figure: Option<String>) -> StripLayout {
    let laid = &on.priced.layout;
    let place = |place: &strip::Placement| Placed {
        part: u32::from(place.part > 0),
        x_mm: place.x_mm,
        y_mm: place.y_mm,
        rot_deg: place.rot_deg,
        mirrored: place.mirrored,
    };
    StripLayout {
        kind: laid.kind.word().to_owned(),
        coil: shown.specs[on.spec].name.clone(),
        width_mm: laid.width_mm,
        needed_width_mm: laid.needed_width_mm,
        angle_deg: turned(laid.angle_deg),
        pitch_mm: laid.pitch_mm,
        blanks_per_pitch: on.priced.per_pitch.0,
        utilisation: laid.utilisation,
        bound: laid.bound,
        clearance_mm: laid.clearance_mm,
        edge_clearance_mm: laid.edge_clearance_mm,
        placements: laid.placements.iter().map(place).collect(),
        blanks_of_a_coil: on.priced.pieces.value.good_blanks.0,
        cost: on.priced.blank(),
        gross_cost: on.priced.cost.value.gross_cost.0,
        figure,
    }
}

/// An angle as a person says it: more than -180 degrees, 180 at most.
fn turned(angle_deg: f64) -> f64 {
    let angle = angle_deg.rem_euclid(360.0);
    if angle > 180.0 { angle - 360.0 } else { angle }
}

/// Kinds that no coil of the book takes.
fn without(shown: &Shown<'_, '_>, part: usize, found: &[On]) -> Vec<Unlaid> {
    let cutting = &shown.cut[part];
    let widths = shown
        .specs
        .iter()
        .filter(|spec| spec.sort == cutting.sort());
    let widest = widths
        .map(|spec| spec.width_mm)
        .filter(|width| cutting.takes(*width));
    let Some(widest) = widest.reduce(f64::max) else {
        return Vec::new();
    };
    let place = Place {
        cutting: part,
        width: Some(micrometres(widest)),
        mixed: false,
    };
    let Some(Ok(outcome)) = shown.laid.at(&place) else {
        return Vec::new();
    };
    outcome
        .without
        .iter()
        .filter(|none| !found.iter().any(|on| on.priced.layout.kind == none.kind))
        .map(|none| Unlaid {
            kind: none.kind.word().to_owned(),
            why: none.why.clone(),
        })
        .collect()
}

/// Pairs whose parts are not needed in their ratio: what is beyond is scrap.
pub(super) fn notes(shown: &Shown<'_, '_>, clients: &[Client]) -> Vec<Problem> {
    let mut notes = Vec::new();
    for (first, second) in clients::pairs(shown.cut) {
        let (one, two) = (&shown.cut[first], &shown.cut[second]);
        let paired = clients.iter().any(|client| client.parts == [first, second]);
        if paired && !clients::balanced(one, two) {
            notes.push(wrong::note(wrong::at(
                one.part.at,
                "unlike-needs",
                "strip_with",
                format!(
                    "`{}` beside `{}`: {:.0} and {:.0} blanks a week",
                    one.part.part,
                    two.part.part,
                    one.mean(),
                    two.mean()
                ),
                "parts needed in the ratio of their per_car",
                "what is cut beyond the need is counted as bought; empty strip_with to cut them \
                 apart"
                    .to_owned(),
            )));
        }
    }
    notes
}

/// What the shares cost in a year.
pub(super) fn yearly(shares: &[Share], weeks_per_year: f64) -> f64 {
    weekly(shares) * weeks_per_year
}
