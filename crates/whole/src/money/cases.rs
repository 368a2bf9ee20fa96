//! Investment cases of ideas, and ideas that exclude each other.

use std::collections::BTreeMap;

use book::raw::Workbook;
use book::{At, Book, Idea, Problem};
use formulas::{Sourced, cost, money};
use shops::carts::ShopValue;
use units::{Money, Share};

use super::Basis;
use super::model::{Case, Exclusive, Returns};
use super::needs::{self, Need, YEAR_WEEKS};
use crate::change::{Costs, carried_out, costs, names, rows};
use crate::findings::NoAnswer;
use crate::improve::{self, IdeaKind, Improve, ImproveSettings, Memory, RankedIdea, Unrun};
use crate::lots::Timetabled;
use crate::plan;
use crate::plan::sheet::{Sheet, setting};

/// Cars a week that an idea gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// The idea.
    pub idea: String,
    /// Cars a week more today.
    pub cars: f64,
    /// To each side of it, where runs tell; none where the plan does.
    pub half_width: Option<f64>,
    /// Cars a week more in each period to come, as far as the period asks for
    /// them, the earliest first.
    pub spans: Vec<Span>,
    /// Why it gives none by the plan, in words.
    pub no_car: Option<String>,
}

/// What an idea gives until a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Years from today.
    pub until: f64,
    /// Cars a week more.
    pub cars: f64,
    /// To each side of it.
    pub half_width: f64,
}

/// Cars a week that each idea gives by the rate plan: what the weakest of the
/// changed plant allows more than now, in each period as far as it asks for them.
/// An idea that gives none says why: what holds the plant back before it, that
/// the plan does not see it, or that no period asks for more.
///
/// # Errors
/// The problems of the plan or of an idea that makes the book wrong.
pub fn gains_by_plan(workbook: &Workbook, book: &Book) -> Result<Vec<Gain>, Vec<Problem>> {
    if book.ideas.is_empty() {
        return Ok(Vec::new());
    }
    let needs = needs::of(book);
    let now = Able::of(book)?;
    names(book)
        .into_iter()
        .map(|idea| {
            let (_, changed) = carried_out(workbook, &rows(book, &idea))?;
            let then = Able::of(&changed)?;
            let more = |need: f64| then.cars.min(need) - now.cars.min(need);
            let spans = needs.iter().map(|need| Span {
                until: need.until,
                cars: more(need.cars),
                half_width: 0.0,
            });
            let spans: Vec<Span> = spans.collect();
            let none = spans.iter().all(|span| span.cars.abs() < LEAST);
            Ok(Gain {
                idea,
                cars: spans.first().map_or(0.0, |span| span.cars),
                half_width: None,
                no_car: none.then(|| then.no_car(&now)),
                spans,
            })
        })
        .collect()
}

/// Cars a week below which two rates are one.
const LEAST: f64 = 1e-6;

/// What a plant is able to do by its rate plan.
struct Able {
    cars: f64,
    /// Each station, line and fleet alone.
    alone: BTreeMap<String, f64>,
}

impl Able {
    fn of(book: &Book) -> Result<Self, Vec<Problem>> {
        let plan = plan::plan_with(book, &Timetabled::default())?;
        let stations = plan.stations.iter().map(|row| (&row.station, &row.alone));
        let lines = plan.press_lines.iter();
        let lines = lines.map(|row| (&row.press_line, &row.alone));
        let fleets = plan.carriers.iter().map(|row| (&row.carrier, &row.alone));
        let all = stations.chain(lines).chain(fleets);
        let told = all.filter_map(|(place, alone)| Some((place.clone(), alone.as_ref()?.value)));
        Ok(Self {
            cars: plan
                .capable
                .as_ref()
                .map_or(f64::INFINITY, |rate| rate.value),
            alone: told.collect(),
        })
    }

    /// Why it makes no car more than before.
    fn no_car(&self, before: &Self) -> String {
        if self.cars > before.cars + LEAST {
            return format!(
                "no period asks for more than the {} cars a week that the plan allows already",
                before.cars.round()
            );
        }
        let quicker = |(place, cars): (&String, &f64)| {
            let known = before.alone.get(place);
            known.is_some_and(|known| *cars > known + LEAST)
        };
        let weakest = before.alone.iter().min_by(|a, b| a.1.total_cmp(b.1));
        match weakest.filter(|_| self.alone.iter().any(quicker)) {
            Some((place, _)) => format!("hidden behind {place}"),
            None => "not seen by the plan, which counts no waiting; a run can tell".to_owned(),
        }
    }
}

/// Cars a week that each idea of the book gives by its ranking. One that the run
/// does not see gives none; one that does what another does gives what that gives.
///
/// # Errors
/// Problems of the book or of an idea, or that it was cancelled.
pub fn gains_by_run(
    workbook: &Workbook,
    settings: &ImproveSettings,
    memory: &Memory,
    watch: &flow::Watch,
) -> Result<Vec<Gain>, NoAnswer> {
    let found = improve::rank(workbook, settings, memory, watch, &|_| {})?;
    if found.stopped {
        return Err(NoAnswer::Cancelled);
    }
    gains_by_ranking(&found, &book::check(workbook).book)
}

/// Cars a week that each idea of the book gives by a ranking that was found before.
///
/// # Errors
/// Problems of an idea.
pub fn gains_by_ranking(found: &Improve, book: &Book) -> Result<Vec<Gain>, NoAnswer> {
    let needs = needs::of(book);
    let made = found.as_it_is.made.mean;
    let of = |name: &str| {
        let mut ideas = found.ideas.iter();
        ideas.find(|ranked| ranked.idea.name == name)
    };
    let ranked = found.ideas.iter();
    let ranked = ranked.filter(|ranked| ranked.idea.kind == IdeaKind::Yours);
    let mut gains: Vec<Gain> = ranked
        .map(|ranked| gain(&ranked.idea.name, ranked, made, &needs))
        .collect();
    for one in &found.unrun {
        let name = &one.idea.name;
        match &one.why {
            _ if one.idea.kind != IdeaKind::Yours => {}
            Unrun::Refused { problems } => return Err(NoAnswer::Problems(problems.clone())),
            Unrun::Same { other } => {
                gains.extend(of(other).map(|ranked| gain(name, ranked, made, &needs)));
            }
            Unrun::Stands
            | Unrun::Unseen
            | Unrun::Little { .. }
            | Unrun::Many { .. }
            | Unrun::Worse { .. } => {
                gains.push(Gain {
                    idea: name.clone(),
                    cars: 0.0,
                    half_width: Some(0.0),
                    spans: Vec::new(),
                    no_car: None,
                });
            }
        }
    }
    Ok(gains)
}

fn gain(idea: &str, ranked: &RankedIdea, made: f64, needs: &[Need]) -> Gain {
    let (mean, half) = (ranked.cars.mean, ranked.cars.half_width);
    let spans = needs.iter().map(|need| {
        let more = |cars: f64| (made + cars).min(need.cars.max(made)) - made;
        Span {
            until: need.until,
            cars: more(mean),
            half_width: 0.5 * (more(mean + half) - more(mean - half)),
        }
    });
    Gain {
        idea: idea.to_owned(),
        cars: mean,
        half_width: Some(half),
        spans: spans.collect(),
        no_car: None,
    }
}

/// All rates of return of a stream of money, with what to mind: that there is
/// none and why, or that there are several and none means anything alone.
///
/// ```
/// let none = whole::money::returns(&[-100.0, -5.0, -5.0]);
/// assert!(none.rates.is_empty());
/// assert!(none.note.unwrap().contains("no money comes in"));
///
/// let two = whole::money::returns(&[-100.0, 230.0, -132.0]);
/// assert_eq!(two.rates.len(), 2);
/// assert!(two.note.unwrap().contains("2 rates"));
/// ```
pub fn returns(flows: &[f64]) -> Returns {
    let flows: Vec<Money> = flows.iter().map(|flow| Money(*flow)).collect();
    match money::irr(flows.clone()) {
        Ok(found) => noted(&flows, &found.value),
        Err(refusal) => Returns {
            rates: Vec::new(),
            note: Some(format!("no rate of return was sought: {refusal}")),
        },
    }
}

fn noted(flows: &[Money], rates: &[Share]) -> Returns {
    let any = |sign: f64| flows.iter().any(|flow| flow.0 * sign > 0.0);
    let note = match rates {
        [_] => None,
        [] => Some(
            match (any(1.0), any(-1.0)) {
                (false, true) => "there is no rate of return: no money comes in",
                (true, false) => "there is no rate of return: no money goes out",
                (false, false) => "there is no rate of return: no money flows",
                (true, true) => {
                    "there is no rate of return: no rate makes the stream worth nothing; go by \
                     the net present value"
                }
            }
            .to_owned(),
        ),
        several => Some(format!(
            "there are {} rates of return, and none of them means anything alone; go by the net \
             present value",
            several.len()
        )),
    };
    Returns {
        rates: rates.iter().map(|rate| rate.0).collect(),
        note,
    }
}

/// Money out and in by year from today: the investment now, and from when the
/// idea works until its life is over what it brings less what it costs. What it
/// brings a year holds until the time beside it, the last as long as it lives.
pub(crate) fn flows(of: &Costs, brings: &[(f64, f64)]) -> Vec<f64> {
    let start = of.weeks / YEAR_WEEKS;
    let end = start + of.life_years;
    let mut flows = vec![-of.investment];
    let mut year = 0.0;
    while year < end - 1e-9 {
        let (from, to) = (start.max(year), end.min(year + 1.0).max(start.max(year)));
        let mut flow = -(to - from) * of.cost_per_year;
        let mut since = 0.0;
        for (at, (until, yearly)) in brings.iter().enumerate() {
            let until = if at + 1 == brings.len() { end } else { *until };
            flow += (to.min(until) - from.max(since)).max(0.0) * yearly;
            since = until;
        }
        flows.push(flow);
        year += 1.0;
    }
    flows
}

/// What yearly amounts over an idea's life are worth today.
fn worth_of(basis: &Basis<'_>, of: &Costs, brings: &[(f64, f64)]) -> f64 {
    let free = Costs {
        investment: 0.0,
        cost_per_year: 0.0,
        ..*of
    };
    let rate = basis.book.plant.hurdle_rate.value.0;
    let flows = flows(&free, brings);
    flows
        .iter()
        .rev()
        .fold(0.0, |later, flow| later / (1.0 + rate) + flow)
}

/// The case of each idea, the most valuable first, those that the plan does not
/// tell last.
pub(super) fn cases(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    gains: &[Gain],
    margin: Option<&ShopValue>,
) -> Vec<Case> {
    let names = names(basis.book).into_iter();
    let mut cases: Vec<Case> = names
        .filter_map(|idea| {
            let none = Gain {
                idea: idea.clone(),
                cars: 0.0,
                half_width: None,
                spans: Vec::new(),
                no_car: None,
            };
            let gain = gains.iter().find(|gain| gain.idea == idea);
            case(sheet, basis, gain.unwrap_or(&none), margin)
        })
        .collect();
    let first = |case: &Case| case.no_car.is_some();
    cases.sort_by(|a, b| {
        let worth = || b.npv.value.total_cmp(&a.npv.value);
        first(a).cmp(&first(b)).then_with(worth)
    });
    cases
}

fn case(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    gained: &Gain,
    margin: Option<&ShopValue>,
) -> Option<Case> {
    let (idea, cars) = (gained.idea.as_str(), gained.cars);
    let rows = rows(basis.book, idea);
    let at = rows.first()?.at;
    let of = costs(&rows);
    let weeks = basis.book.plant.weeks_per_year.value;
    let gain = margin.map(|margin| margin.value * cars * weeks);
    let a_year = margin.map_or(0.0, |margin| margin.value * weeks);
    let brings = |part: fn(&Span) -> f64| -> Vec<(f64, f64)> {
        let spans = gained.spans.iter();
        spans
            .map(|span| (span.until, part(span) * a_year))
            .collect()
    };
    let spread = gained.half_width.zip(margin);
    let spread = spread.map(|_| worth_of(basis, &of, &brings(|span| span.half_width)));
    let flows = flows(&of, &brings(|span| span.cars));
    let most = gained.spans.iter().map(|span| span.cars);
    let most = most.fold(f64::NEG_INFINITY, f64::max);
    let worked = worked(sheet, basis, (idea, at), &flows, margin)?;
    let money: Vec<Money> = flows.iter().map(|flow| Money(*flow)).collect();
    // What never earns is never paid back, even where nothing was paid out first.
    let earns = flows.iter().any(|flow| *flow > 0.0);
    Some(Case {
        idea: idea.to_owned(),
        at,
        investment: of.investment,
        cost_per_year: of.cost_per_year,
        life_years: of.life_years,
        weeks: of.weeks,
        cars,
        cars_later: (gained.half_width.is_none() && most > cars + LEAST).then_some(most),
        no_car: gained.no_car.clone(),
        half_width: gained.half_width,
        shown: gained.half_width.is_none_or(|half| cars.abs() > half),
        gain_per_year: gain,
        npv_half: spread,
        returns: noted(&money, &worked.returns),
        payback: worked.payback.filter(|_| earns),
        discounted_payback: worked.discounted.filter(|_| earns),
        annual: Some(worked.annual),
        figures: FIGURES.map(|what| figure_of(idea, what)).to_vec(),
        npv: worked.npv,
        flows,
    })
}

/// The figures of a case.
const FIGURES: [&str; 5] = ["npv", "returns", "payback", "discounted", "annual"];

fn figure_of(idea: &str, what: &str) -> String {
    format!("case.{idea}.{what}")
}

/// What a stream of money comes to.
struct Worked {
    npv: ShopValue,
    returns: Vec<Share>,
    payback: Option<f64>,
    discounted: Option<f64>,
    annual: f64,
}

fn worked(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    (idea, at): (&str, At),
    flows: &[f64],
    margin: Option<&ShopValue>,
) -> Option<Worked> {
    let stream = || {
        let money: Vec<Money> = flows.iter().map(|flow| Money(*flow)).collect();
        match margin {
            Some(margin) => Sourced::figure(money, margin.figure.clone()),
            None => Sourced::from(money),
        }
    };
    let rate = || setting(&basis.book.plant.hurdle_rate, "hurdle_rate");
    let id = |what: &str| figure_of(idea, what);
    let npv = money::npv(rate(), stream());
    let npv = sheet.add(id("npv"), format!("value of {idea}"), Some(at), npv)?;
    let found = money::irr(stream());
    let title = format!("rates of return of {idea}");
    let found = sheet.add(id("returns"), title, Some(at), found)?;
    let payback = money::payback(stream());
    let title = format!("years until {idea} is paid back");
    let payback = sheet.add(id("payback"), title, Some(at), payback)?;
    let discounted = money::discounted_payback(rate(), stream());
    let title = format!("years until {idea} is paid back with interest");
    let discounted = sheet.add(id("discounted"), title, Some(at), discounted)?;
    let annual = cost::equivalent_annual_cost(rate(), stream());
    let title = format!("level yearly cost of {idea}");
    let annual = sheet.add(id("annual"), title, Some(at), annual)?;
    Some(Worked {
        npv: npv.told(|money| money.0),
        returns: found.value,
        payback: payback.value.map(|years| years.0),
        discounted: discounted.value.map(|years| years.0),
        annual: annual.value.0,
    })
}

/// Ideas that change one cell, two by two, by the value of what the dearer one
/// costs more.
pub(super) fn exclusive(sheet: &mut Sheet, basis: &Basis<'_>, cases: &[Case]) -> Vec<Exclusive> {
    let mut found = Vec::new();
    for (i, first) in cases.iter().enumerate() {
        for second in &cases[i + 1..] {
            let Some(cell) = shared_cell(basis.book, &first.idea, &second.idea) else {
                continue;
            };
            let (cheap, dear) = if first.investment <= second.investment {
                (first, second)
            } else {
                (second, first)
            };
            found.extend(pair(sheet, basis, cheap, dear, cell));
        }
    }
    found
}

fn shared_cell(book: &Book, first: &str, second: &str) -> Option<String> {
    let others = rows(book, second);
    let same = |row: &&Idea| {
        others.iter().any(|other| {
            (&other.table, &other.row, &other.column) == (&row.table, &row.row, &row.column)
        })
    };
    let row = rows(book, first).into_iter().find(same)?;
    Some(format!("{}, {}, {}", row.table, row.row, row.column))
}

fn pair(
    sheet: &mut Sheet,
    basis: &Basis<'_>,
    first: &Case,
    second: &Case,
    cell: String,
) -> Option<Exclusive> {
    let years = first.flows.len().max(second.flows.len());
    let padded = |case: &Case| -> Vec<Money> {
        let flows = case.flows.iter().copied().chain(std::iter::repeat(0.0));
        flows.take(years).map(Money).collect()
    };
    let (one, other) = (padded(first), padded(second));
    let rate = setting(&basis.book.plant.hurdle_rate, "hurdle_rate");
    let made = money::exclusive_options(rate, one.clone(), other.clone());
    let id = format!("exclusive.{}.{}", first.idea, second.idea);
    let title = format!("{} against {}", second.idea, first.idea);
    let made = sheet.add(id, title, Some(first.at), made)?;
    let difference: Vec<Money> = one.iter().zip(&other).map(|(a, b)| *b - *a).collect();
    let gain = made.told(|options| options.gain.0);
    let better = if gain.value > 0.0 { second } else { first };
    let verdict = if let (Some(why), Some(_)) = (&first.no_car, &second.no_car) {
        format!("not told: {why}")
    } else if better.npv.value < 0.0 {
        "neither: both are worth less than nothing".to_owned()
    } else {
        better.idea.clone()
    };
    Some(Exclusive {
        first: first.idea.clone(),
        second: second.idea.clone(),
        cell,
        returns: noted(&difference, &made.value.rates),
        gain,
        verdict,
    })
}
