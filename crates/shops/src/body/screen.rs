//! Which methods a stack allows, and which rule refuses the others.

use book::{Access, JoinMethod, JoinRule};
use formulas::joining::{SheetStack, spot_pitch};
use units::Millimetres;

use super::method::{Methods, name};
use super::model::BrokenLimit;
use super::stack::Stack;

/// A row's value that a rule is held against.
enum Seen {
    /// At least the limit.
    Least(f64),
    /// At most the limit.
    Most(f64),
    /// A need of the method against what the row has: refused where the limit
    /// is 1 and the row lacks it.
    Lacks(bool),
    /// Something that the row asks for: refused where the limit is 0.
    Asks(bool),
}

/// Every rule that the stack breaks with this method.
pub(super) fn broken(
    methods: &Methods<'_>,
    stack: &Stack<'_>,
    sheets: &SheetStack,
    method: JoinMethod,
    reach: Option<(f64, f64)>,
) -> Vec<BrokenLimit> {
    let mut broken = Vec::new();
    for rule in RULES {
        let Some(limited) = methods.limit(method, *rule) else {
            continue;
        };
        let Some(seen) = seen(methods, stack, sheets, method, *rule) else {
            continue;
        };
        let limit = limit_of(*rule, limited.limit, sheets);
        let (value, breaks) = match seen {
            Seen::Least(value) => (value, value < limit - 1e-9),
            Seen::Most(value) => (value, value > limit + 1e-9),
            Seen::Lacks(lacks) => (0.0, lacks && limited.limit > 0.0),
            Seen::Asks(asks) => (1.0, asks && limited.limit == 0.0),
        };
        if breaks {
            broken.push(BrokenLimit {
                rule: rule.word().to_owned(),
                limit,
                value,
                source: limited.source,
                told: told(*rule, method, limit, value),
                mend: mend(*rule, limit),
            });
        }
    }
    if let Some((needs, reaches)) = reach {
        broken.push(BrokenLimit {
            rule: "reach_mm".to_owned(),
            limit: reaches,
            value: needs,
            source: "the robots of the book".to_owned(),
            told: format!("a reach of {needs} mm, and its robots reach {reaches} mm at most"),
            mend: "give a robot with its tool a longer reach, or bring the base nearer".to_owned(),
        });
    }
    // What cannot be comes before what the product does not want.
    if !stack.allowed(method) {
        broken.push(not_allowed(stack));
    }
    broken
}

/// The rules in the order in which they are told: access and sheets before
/// flange and pitch.
const RULES: &[JoinRule] = &[
    JoinRule::BothSides,
    JoinRule::Visible,
    JoinRule::MixedMetals,
    JoinRule::SheetsLeast,
    JoinRule::SheetsMost,
    JoinRule::TotalLeast,
    JoinRule::TotalMost,
    JoinRule::GaugeLeast,
    JoinRule::RatioMost,
    JoinRule::DieSideLeast,
    JoinRule::DieSideShareLeast,
    JoinRule::ThinIntoThick,
    JoinRule::FlangeLeast,
    JoinRule::EdgeLeast,
    JoinRule::PitchLeast,
    JoinRule::PitchGaugesLeast,
    JoinRule::GapLeast,
    JoinRule::GapMost,
    JoinRule::GapGaugesMost,
    JoinRule::AdhesiveLeast,
    JoinRule::SpreadShareMost,
];

/// A limit in the unit of the value that it is held against.
fn limit_of(rule: JoinRule, limit: f64, sheets: &SheetStack) -> f64 {
    match rule {
        JoinRule::PitchGaugesLeast => {
            // The guideline's own factor is the sheet's formula.
            let guideline = spot_pitch(Millimetres(sheets.thinnest.0));
            let by_formula = guideline.map(|pitch| pitch.value.minimum.0 / 10.0);
            limit * by_formula.unwrap_or(sheets.thinnest.0)
        }
        JoinRule::GapGaugesMost => limit * sheets.thinnest.0,
        _ => limit,
    }
}

/// What the row has for a rule; none where it does not say.
fn seen(
    methods: &Methods<'_>,
    stack: &Stack<'_>,
    sheets: &SheetStack,
    method: JoinMethod,
    rule: JoinRule,
) -> Option<Seen> {
    let row = stack.row;
    let count = stack.gauges.len() as f64;
    Some(match rule {
        JoinRule::SheetsLeast => Seen::Least(count),
        JoinRule::SheetsMost => Seen::Most(count),
        JoinRule::TotalLeast => Seen::Least(sheets.total.0),
        JoinRule::TotalMost => Seen::Most(sheets.total.0),
        JoinRule::GaugeLeast => Seen::Least(sheets.thinnest.0),
        JoinRule::RatioMost => Seen::Most(sheets.ratio.0),
        JoinRule::DieSideLeast => Seen::Least(sheets.die_side.0),
        JoinRule::DieSideShareLeast => Seen::Least(sheets.die_share.0),
        JoinRule::ThinIntoThick => {
            Seen::Lacks(stack.gauges.first().copied().unwrap_or(0.0) > sheets.die_side.0)
        }
        JoinRule::FlangeLeast => Seen::Least(row.flange_mm?.0),
        JoinRule::EdgeLeast => Seen::Least(row.edge_mm?.0),
        JoinRule::PitchLeast | JoinRule::PitchGaugesLeast => Seen::Least(row.pitch_mm?.0),
        JoinRule::GapLeast => Seen::Least(row.gap_mm?.0),
        JoinRule::GapMost | JoinRule::GapGaugesMost => Seen::Most(row.gap_mm?.0),
        JoinRule::AdhesiveLeast => Seen::Least(row.adhesive_mm?.0),
        JoinRule::SpreadShareMost => {
            let bead = methods.bead(row, method);
            let (flange, gap) = (row.flange_mm?.0, row.gap_mm?.0);
            let spread = std::f64::consts::FRAC_PI_4 * bead * bead / gap;
            Seen::Most((gap > 0.0).then_some(spread / flange)?)
        }
        JoinRule::BothSides => Seen::Lacks(row.access == Access::One),
        JoinRule::Visible => Seen::Asks(row.visible),
        JoinRule::MixedMetals => Seen::Asks(stack.mixed),
    })
}

fn not_allowed(stack: &Stack<'_>) -> BrokenLimit {
    let row = stack.row;
    let allowed = match row.methods.is_empty() {
        true => vec![name(row.method)],
        false => row.methods.iter().map(|method| name(*method)).collect(),
    };
    BrokenLimit {
        rule: "methods".to_owned(),
        limit: 1.0,
        value: 0.0,
        source: "the product".to_owned(),
        told: format!("the product allows {}", allowed.join(", ")),
        mend: "add it to methods, once strength and corrosion are shown".to_owned(),
    }
}

fn told(rule: JoinRule, method: JoinMethod, limit: f64, value: f64) -> String {
    let method = name(method);
    let (limit, value) = (shown(limit), shown(value));
    match rule {
        JoinRule::SheetsLeast => format!("{value} sheets, and it joins {limit} at least"),
        JoinRule::SheetsMost => format!("{value} sheets, and it joins {limit} at most"),
        JoinRule::TotalLeast => format!("a stack of {value} mm, and it takes {limit} mm at least"),
        JoinRule::TotalMost => format!("a stack of {value} mm, and it takes {limit} mm at most"),
        JoinRule::GaugeLeast => {
            format!("a sheet of {value} mm, and it takes {limit} mm at least")
        }
        JoinRule::RatioMost => {
            format!("sheets of {value} to 1, and it takes {limit} to 1 at most")
        }
        JoinRule::DieSideLeast => {
            format!("{value} mm on the die, and it needs {limit} mm at least")
        }
        JoinRule::DieSideShareLeast => {
            format!("{value} of the stack on the die, and it needs {limit} at least")
        }
        JoinRule::ThinIntoThick => "the thicker sheet opposite the die".to_owned(),
        JoinRule::FlangeLeast => {
            format!("a flange of {value} mm, and it needs {limit} mm at least")
        }
        JoinRule::EdgeLeast => {
            format!("{value} mm to the edge, and it needs {limit} mm at least")
        }
        JoinRule::PitchLeast | JoinRule::PitchGaugesLeast => {
            format!("a pitch of {value} mm, and it needs {limit} mm at least")
        }
        JoinRule::GapLeast => format!("a gap of {value} mm, and it needs {limit} mm at least"),
        JoinRule::GapMost | JoinRule::GapGaugesMost => {
            format!("a gap of {value} mm, and it bears {limit} mm at most")
        }
        JoinRule::AdhesiveLeast => {
            format!("{value} mm from uncured adhesive, and its heat needs {limit} mm at least")
        }
        JoinRule::SpreadShareMost => {
            format!("the bead spreads over {value} of the flange, and {limit} at most stays inside")
        }
        JoinRule::BothSides => format!("access from one side, and {method} needs both"),
        JoinRule::Visible => format!("a joint that is seen, and {method} leaves a mark"),
        JoinRule::MixedMetals => format!("different metals, and {method} joins like ones only"),
    }
}

fn mend(rule: JoinRule, limit: f64) -> String {
    let limit = shown(limit);
    match rule {
        JoinRule::SheetsLeast | JoinRule::SheetsMost => {
            format!("change the stack to {limit} sheets where it is joined")
        }
        JoinRule::TotalLeast | JoinRule::TotalMost => {
            format!("change gauges so that the stack is {limit} mm")
        }
        JoinRule::GaugeLeast => format!("make the thinnest sheet {limit} mm"),
        JoinRule::RatioMost => format!("bring the gauges within {limit} to 1"),
        JoinRule::DieSideLeast => format!("put a sheet of {limit} mm on the die"),
        JoinRule::DieSideShareLeast | JoinRule::ThinIntoThick => {
            "turn the stack round so that the thicker sheet lies on the die".to_owned()
        }
        JoinRule::FlangeLeast => format!("widen the flange to {limit} mm"),
        JoinRule::EdgeLeast => format!("keep {limit} mm to the edge"),
        JoinRule::PitchLeast | JoinRule::PitchGaugesLeast => {
            format!("space the joints {limit} mm apart")
        }
        JoinRule::GapLeast => format!("hold a gap of {limit} mm with embossed dimples or beads"),
        JoinRule::GapMost | JoinRule::GapGaugesMost => {
            format!("clamp so that the gap is {limit} mm")
        }
        JoinRule::AdhesiveLeast => format!("stop the bead {limit} mm before the joint"),
        JoinRule::SpreadShareMost => "lay a thinner bead or widen the flange".to_owned(),
        JoinRule::BothSides => "make an access hole, or open the section".to_owned(),
        JoinRule::Visible => "cover the joint, or move it out of sight".to_owned(),
        JoinRule::MixedMetals => "use sheets of one metal here".to_owned(),
    }
}

/// A number as a sentence shows it.
fn shown(value: f64) -> String {
    let hundredths = (value * 100.0).round() / 100.0;
    format!("{hundredths}")
}
