//! The work timetabled, and the schedule told as the press shop's plan.

use std::collections::BTreeMap;

use book::{Book, Problem, Severity};
use formulas::{Sourced, press as trade};
use lots::model::Checked;
use lots::{Refusal, Schedule, Solution};
use units::{Count, Share};

use super::model::{CycleLot, PartLots, Policy, Press, PressLineLots, PressPart, TooStrong};
use super::work::{Job, Unit, WEEK_DAYS, Work, name};
use super::{Question, Watch, follow, overload, quicker, screen, week};
use crate::sheet::{Sheet, ShopValue, cell, problem};

/// Racks of a part between line and use (common practice: one on its way there
/// and one on its way back).
const RACKS_ON_THE_WAY: Count = Count(2.0);
/// Part more of racks for those in repair (common practice).
const SPARE_RACKS: Share = Share(0.05);

const CAUTION: &str = "Forces and energies are a screen of the lines, not a die design: dies, \
                       presses and their guards are decided by local machine-safety codes and a \
                       licensed engineer (ISO 16092).";

/// What the lines' money and racks are reckoned with.
pub(super) struct Money {
    /// Days of the model in a working year.
    pub(super) days_per_year: f64,
    pub(super) rack_per_year: f64,
}

impl Money {
    fn of(book: &Book) -> Self {
        Self {
            days_per_year: WEEK_DAYS * book.plant.weeks_per_year.value,
            rack_per_year: book.plant.rack_cost_per_year.value.0,
        }
    }
}

pub(super) fn answer(
    question: &Question<'_>,
    mut sheet: Sheet,
    mut work: Work<'_>,
    parts: Vec<PressPart>,
    too_strong: Vec<TooStrong>,
    watch: &Watch<'_>,
) -> Result<Press, Vec<Problem>> {
    let book = question.book;
    let mut notes = screen::notes(&too_strong);
    notes.extend(unscreened(&parts));
    let mut press = Press {
        plant: book.plant.name.value.clone(),
        currency: book.plant.currency.value.clone(),
        holds: too_strong.is_empty(),
        target_days: book.plant.coil_to_car_target_days.value.0,
        after_days: question.after.value.0,
        parts,
        too_strong,
        lots: Vec::new(),
        racks: BTreeMap::new(),
        lines: Vec::new(),
        common_cycle: Policy::none(None),
        best: Policy::none(None),
        lower_bound_per_year: None,
        gap: None,
        complete: true,
        halved: Vec::new(),
        overload: Vec::new(),
        notes,
        caution: CAUTION.into(),
        figures: BTreeMap::new(),
    };
    if !work.jobs.is_empty() {
        let checked = work.problem().check().map_err(|faults| {
            faults
                .iter()
                .map(|fault| faulty(&work, fault))
                .collect::<Vec<_>>()
        })?;
        let failing = timetable(question, &mut sheet, &mut work, &checked, watch, &mut press);
        if !failing.is_empty() {
            rest(
                question,
                &mut sheet,
                work.on_units(|at| !failing.contains(&at)),
                watch,
                &mut press,
            );
        }
    }
    press.racks = racks_by_shop(&press);
    press.figures = sheet.figures;
    if sheet.problems.is_empty() {
        Ok(press)
    } else {
        Err(sheet.problems)
    }
}

/// Racks of all parts by the shop of their line.
fn racks_by_shop(press: &Press) -> BTreeMap<String, f64> {
    let mut by_shop = BTreeMap::new();
    for lot in &press.lots {
        let line = press.lines.iter().find(|line| line.line == lot.line);
        if let Some((line, racks)) = line.zip(lot.racks.as_ref()) {
            *by_shop.entry(line.shop.clone()).or_insert(0.0) += racks.value;
        }
    }
    by_shop
}

/// Parts of which no force can be told, as one note.
fn unscreened(parts: &[PressPart]) -> Option<Problem> {
    let mut unknown = parts.iter().filter(|part| part.unknown.is_some());
    let first = unknown.next()?;
    let more = unknown.count();
    let why = first.unknown.as_deref().unwrap_or_default();
    Some(Problem {
        severity: Severity::Note,
        found: match more {
            0 => format!("no force for `{}`: {why}", first.part),
            _ => format!("no force for `{}` and {more} more parts: {why}", first.part),
        },
        expected: "outline, gauge and strengths, to screen the lines".into(),
        mend: "fill outline, material and gauge_mm, and the material's strengths".into(),
        ..problem("no-force", first.at, Some("outline"))
    })
}

/// A fault of the solver's problem in the words of the book.
fn faulty(work: &Work<'_>, fault: &lots::Fault) -> Problem {
    let inside = |open: &str| -> Option<usize> {
        fault
            .place
            .strip_prefix(open)?
            .split(']')
            .next()?
            .parse()
            .ok()
    };
    let at = match inside("items[").and_then(|at| work.jobs.get(at)) {
        Some(job) => job.part.at,
        None => work.units[inside("lines[").unwrap_or(0)].row.at,
    };
    Problem {
        found: fault.found.clone(),
        expected: fault.expected.clone(),
        mend: fault.mend.clone(),
        ..problem("no-lots", at, None)
    }
}

/// Plans all lines together; the units that stand against it, if any.
fn timetable(
    question: &Question<'_>,
    sheet: &mut Sheet,
    work: &mut Work<'_>,
    checked: &Checked,
    watch: &Watch<'_>,
    press: &mut Press,
) -> Vec<usize> {
    let money = Money::of(question.book);
    let common = lots::common_cycle(checked, question.search.seed);
    let best = follow::timetables(watch, |watch| lots::best(checked, &question.search, watch));
    if let Ok(found) = &best {
        lie_ready(work, &found.schedule);
    }
    let work = &*work;
    press.common_cycle = Policy::of(&common, checked, |schedule| {
        Tally::of(work, schedule, &money)
    });
    press.lines = bare_lines(work);
    match best {
        Ok(Solution {
            schedule,
            lower_bound_per_day,
            complete,
        }) => {
            press.complete = complete;
            press.lower_bound_per_year = Some(lower_bound_per_day * money.days_per_year);
            press.gap = (lower_bound_per_day > 0.0)
                .then(|| (schedule.replay.cost_per_day / lower_bound_per_day - 1.0).max(0.0));
            press.lots = part_lots(sheet, work, &schedule, &money);
            press.notes.extend(moved(work, &press.lots));
            fill_lines(work, checked, &schedule, &mut press.lines);
            press.halved = follow::beside(watch, |watch| {
                quicker::halved(question, work, checked, &schedule, &money, watch)
            });
            press.best = Policy::of(&Ok(schedule), checked, |schedule| {
                Tally::of(work, schedule, &money)
            });
        }
        Err(refusal) => {
            press.holds = false;
            press.overload = overload::told(question.book, work, checked, &refusal, press);
            press.best = Policy::none(Some(overload::why(work, checked, &refusal)));
            return overload::lines(&refusal);
        }
    }
    Vec::new()
}

/// The lines that can keep up, while others cannot: they have their timetable
/// all the same.
fn rest(
    question: &Question<'_>,
    sheet: &mut Sheet,
    mut work: Work<'_>,
    watch: &Watch<'_>,
    press: &mut Press,
) {
    if work.jobs.is_empty() {
        return;
    }
    let Ok(checked) = work.problem().check() else {
        return;
    };
    let best = follow::timetables(watch, |watch| lots::best(&checked, &question.search, watch));
    let Ok(Solution { schedule, .. }) = best else {
        return;
    };
    lie_ready(&mut work, &schedule);
    let money = Money::of(question.book);
    press.lots = part_lots(sheet, &work, &schedule, &money);
    press.notes.extend(moved(&work, &press.lots));
    let mut lines = bare_lines(&work);
    fill_lines(&work, &checked, &schedule, &mut lines);
    for line in lines {
        if let Some(told) = press.lines.iter_mut().find(|told| told.line == line.line) {
            *told = line;
        }
    }
}

/// Blanks for a press lie ready for its longest lot, now that it is known.
fn lie_ready(work: &mut Work<'_>, schedule: &Schedule) {
    let longest: Vec<f64> = schedule
        .replay
        .items
        .iter()
        .map(|item| item.longest_days)
        .collect();
    for at in 0..work.jobs.len() {
        let part = work.jobs[at].part.at;
        let panels = |job: &Job<'_>| !job.blanks && job.part.at == part;
        if let (true, Some(panels)) = (work.jobs[at].blanks, work.jobs.iter().position(panels)) {
            work.jobs[at].safety = work.jobs[at].used * longest[panels] / WEEK_DAYS;
        }
    }
}

/// What a schedule comes to.
struct Tally {
    cost_per_year: f64,
    oldest_days: f64,
    racks: f64,
}

impl Tally {
    fn of(work: &Work<'_>, schedule: &Schedule, money: &Money) -> Self {
        let seen = || work.jobs.iter().zip(&schedule.replay.items);
        Self {
            cost_per_year: schedule.replay.cost_per_day * money.days_per_year,
            oldest_days: seen()
                .map(|(job, item)| item.oldest_days + safety_days(job))
                .fold(0.0, f64::max),
            racks: seen().map(|(job, item)| racks(job, item.peak_stock)).sum(),
        }
    }
}

impl Policy {
    fn none(why: Option<String>) -> Self {
        Self {
            cost_per_year: None,
            cycle_days: None,
            oldest_days: None,
            racks: None,
            why,
        }
    }

    fn of(
        found: &Result<Schedule, Refusal>,
        checked: &Checked,
        tally: impl Fn(&Schedule) -> Tally,
    ) -> Self {
        match found {
            Ok(schedule) => {
                let tally = tally(schedule);
                let cycles = schedule.replay.lines.iter().map(|line| line.cycle_days);
                Self {
                    cost_per_year: Some(tally.cost_per_year),
                    cycle_days: Some(cycles.fold(0.0, f64::max)),
                    oldest_days: Some(tally.oldest_days),
                    racks: Some(tally.racks),
                    why: None,
                }
            }
            Err(refusal) => Self::none(Some(refusal.worded(checked.problem()))),
        }
    }
}

/// Days that the safety stock lasts.
pub(super) fn safety_days(job: &Job<'_>) -> f64 {
    WEEK_DAYS * job.safety / job.used
}

/// Whether a job's pieces lie in racks; blanks before a press lie on stacks.
fn in_racks(job: &Job<'_>) -> bool {
    !job.blanks || job.part.press_line.is_none()
}

/// Racks to own for a job whose lots add so many pieces.
pub(super) fn racks(job: &Job<'_>, highest: f64) -> f64 {
    if in_racks(job) {
        made_racks(job, highest).map_or(0.0, |made| made.value.racks.0)
    } else {
        0.0
    }
}

fn made_racks(
    job: &Job<'_>,
    highest: f64,
) -> Result<formulas::Figure<trade::Racks>, formulas::Refusal> {
    trade::racks(
        Count(highest),
        Sourced::new(Count(job.safety), cell((), job.part.at, "start_below").from),
        cell(Count(f64::from(job.part.rack.max(1))), job.part.at, "rack"),
        RACKS_ON_THE_WAY,
        SPARE_RACKS,
    )
}

fn part_lots(
    sheet: &mut Sheet,
    work: &Work<'_>,
    schedule: &Schedule,
    money: &Money,
) -> Vec<PartLots> {
    let mut all = Vec::new();
    for (job, seen) in work.jobs.iter().zip(&schedule.replay.items) {
        let at = job.part.at;
        let racks: Option<ShopValue> = in_racks(job)
            .then(|| {
                let id = format!("part.{}.racks", job.part.part);
                let title = format!("racks of {}", job.part.part);
                sheet.add(id, title, at, made_racks(job, seen.peak_stock))
            })
            .flatten()
            .map(|made| made.value(|racks| racks.racks.0));
        all.push(PartLots {
            part: job.part.part.clone(),
            at,
            blanks: job.blanks,
            line: work.units[seen.line.at()].name.clone(),
            own_line: job.own().line == work.units[seen.line.at()].position,
            used_per_week: job.used,
            rate_per_hour: job.on_row(work.units[seen.line.at()].position).rate.clone(),
            run_h: job.on_row(work.units[seen.line.at()].position).run_h,
            most_days: job.most_days.clone(),
            most_stock: job.most_stock,
            lot: seen.lot,
            every_days: seen.every_days,
            longest_days: seen.longest_days,
            safety: job.safety,
            oldest_days: seen.oldest_days + safety_days(job),
            peak_stock: seen.peak_stock + job.safety,
            racks,
            cost_per_year: seen.cost_per_day * money.days_per_year,
        });
    }
    all
}

/// Parts that the timetable gives to another line than the book's.
fn moved(work: &Work<'_>, lots: &[PartLots]) -> Vec<Problem> {
    let jobs = work.jobs.iter().zip(lots);
    let elsewhere = jobs.filter(|(_, lot)| !lot.own_line);
    elsewhere
        .map(|(job, lot)| {
            let own = job.line_name().unwrap_or_default();
            let column = if lot.blanks {
                "blank_line"
            } else {
                "press_line"
            };
            Problem {
                severity: Severity::Note,
                found: format!("{} go to `{}`", name(job), lot.line),
                expected: format!("their own line, `{own}`, unless another is better"),
                mend: format!(
                    "write `{}` into {column} if that is to stay, or take it out of {column}s_too",
                    lot.line
                ),
                ..problem("other-line", lot.at, Some(column))
            }
        })
        .collect()
}

/// The lines as far as they are known without a timetable: units share the
/// running of their line.
fn bare_lines(work: &Work<'_>) -> Vec<PressLineLots> {
    let line = |unit: &Unit<'_>| {
        let alike = work
            .units
            .iter()
            .filter(|other| other.row.at == unit.row.at);
        let alike = alike.count().max(1) as f64;
        let own = || {
            let row = unit.row.press_line.as_str();
            work.jobs
                .iter()
                .filter(move |job| job.line_name() == Some(row))
        };
        let running = own().map(|job| job.own().run_h).sum::<f64>() / unit.hours / alike;
        // A lot for each limit on cover, at least.
        let forced: f64 = own()
            .map(|job| WEEK_DAYS / job.longest_days(unit.hours))
            .sum();
        let changing = forced * unit.changeover_min.value / 60.0 / unit.hours / alike;
        PressLineLots {
            line: unit.name.clone(),
            at: unit.row.at,
            shop: unit.row.shop.clone(),
            parts: own().count(),
            hours: unit.hours,
            changeover_min: unit.changeover_min.clone(),
            running,
            changing,
            load: running + changing,
            over: formulas::over(running + changing),
            changeovers_per_week: forced / alike,
            least_cycle_days: None,
            cycle_days: 0.0,
            cycle: Vec::new(),
            week: Vec::new(),
        }
    };
    work.units.iter().map(line).collect()
}

/// The timetables of a schedule's lines, which are the work's units in order.
fn fill_lines(
    work: &Work<'_>,
    checked: &Checked,
    schedule: &Schedule,
    lines: &mut [PressLineLots],
) {
    for (at, line) in lines.iter_mut().enumerate() {
        let (unit, timetable) = (&work.units[at], &schedule.timetables[at]);
        let seen = &schedule.replay.lines[at];
        line.running = seen.running;
        line.changing = seen.changing;
        line.load = seen.running + seen.changing;
        line.over = formulas::over(line.load);
        line.cycle_days = seen.cycle_days;
        let here = schedule
            .replay
            .items
            .iter()
            .filter(|item| item.line.at() == at);
        line.parts = here.count();
        let changes = line.parts as f64 * unit.changeover_min.value / 60.0 / unit.day_h();
        line.least_cycle_days = (seen.running < 1.0).then(|| changes / (1.0 - seen.running));
        line.cycle = timetable
            .lots
            .iter()
            .map(|lot| {
                let job = &work.jobs[lot.item.at()];
                let cover_days = lots::days(lot.cover);
                let run_days = timetable.run_days(lot, checked);
                CycleLot {
                    part: job.part.part.clone(),
                    blanks: job.blanks,
                    start_day: lots::days(lot.start),
                    changeover_days: lots::days(lot.changeover),
                    run_days,
                    lot: cover_days * job.used / WEEK_DAYS,
                    cover_days,
                    peak: (cover_days - run_days) * job.used / WEEK_DAYS,
                }
            })
            .collect();
        line.changeovers_per_week = if line.cycle_days > 0.0 {
            line.cycle.len() as f64 * WEEK_DAYS / line.cycle_days
        } else {
            0.0
        };
        line.week = week::laid(unit, line);
    }
}
