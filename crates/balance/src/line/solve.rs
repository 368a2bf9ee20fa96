//! Fewest stations for a line's takt.

use super::beam::Beam;
use super::clash::{clash, pushed};
use super::fill::Load;
use super::frame::Frame;
use super::model::{Line, LineBalance, Placed, Post, Side, Station};
use super::search::{Search, Spell};
use crate::fault::Fault;
use crate::simple::fewest_stations;
use crate::watch::{Least, Limits, Progress, Watch};
use crate::work::Work;

/// The fewest stations (on a two-sided line: pairs of them) that do all the
/// work within takt and within the rules.
///
/// The search is that of [`crate::fewest_stations`], over loads for which the
/// posts of a station have a timetable: a task waits for what it follows at the
/// other side (Li, Kucukkoc & Zhang 2020 for two-sided lines). Each measure
/// (the mean over the mix, each model) is scheduled and bounded on its own.
///
/// ```
/// use balance::line::{Line, Side, balance_line};
/// use balance::{Limits, Watch, Work};
///
/// let work = Work { ticks: vec![4, 4, 3], after: vec![vec![], vec![], vec![0, 1]] };
/// let mut line = Line::plain(work);
/// line.sides = vec![Side::Left, Side::Right, Side::Either];
/// let limits = Limits { memory_mb: 100, steps: None };
/// let found = balance_line(&line, 7, &limits, &Watch::none()).map_err(|f| f[0].to_string())?;
/// assert_eq!(found.stations.len(), 1);
/// // On either side the last task waits for the other side's first.
/// assert_eq!(found.stations[0].tasks(), [0, 1, 2]);
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
///
/// Every fault of the line, and proof that no number of stations will do.
pub fn balance_line(
    line: &Line,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<LineBalance, Vec<Fault>> {
    balance(line, takt, limits, watch, Bounds::Sharp)
}

/// As [`balance_line`], but without the bounds that take longer than most
/// searches for a balance: for one of many trials, of which only the balance
/// counts.
pub(crate) fn balance_as_a_trial(
    line: &Line,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
) -> Result<LineBalance, Vec<Fault>> {
    balance(line, takt, limits, watch, Bounds::Quick)
}

fn balance(
    line: &Line,
    takt: u32,
    limits: &Limits,
    watch: &Watch<'_>,
    bounds: Bounds,
) -> Result<LineBalance, Vec<Fault>> {
    if line.is_plain() {
        let found = fewest_stations(&line.work, takt, limits, watch)?;
        return Ok(LineBalance {
            stations: found
                .stations
                .iter()
                .map(|tasks| plain(&line.work, tasks))
                .collect(),
            bound: found.bound,
            proven: found.proven,
            steps: found.steps,
        });
    }
    let faults = line.faults(takt);
    if !faults.is_empty() {
        return Err(faults);
    }
    if line.work.ticks.is_empty() {
        return Ok(LineBalance {
            stations: Vec::new(),
            bound: 0,
            proven: true,
            steps: 0,
        });
    }
    let most = most_stations(line);
    let asked = Asked {
        line,
        takt,
        limits,
        watch,
        most_steps: limits.steps.unwrap_or(u64::MAX),
    };
    sized!(line.work.ticks.len(), fewest(&asked, most, bounds))
}

/// What may be spent on bounds before the search.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bounds {
    /// Prices on tasks too.
    Sharp,
    Quick,
}

/// Beams broader than this find little that the search does not.
const BROADEST: usize = 256;

/// A question as its parts see it.
pub(crate) struct Asked<'a> {
    pub(crate) line: &'a Line,
    pub(crate) takt: u32,
    pub(crate) limits: &'a Limits,
    pub(crate) watch: &'a Watch<'a>,
    pub(crate) most_steps: u64,
}

/// A station of one post that does its tasks one after the other.
pub(crate) fn plain(work: &Work, tasks: &[usize]) -> Station {
    let mut end = 0;
    let placed = tasks.iter().map(|task| {
        let start = end;
        end += u64::from(work.ticks[*task]);
        Placed {
            task: *task,
            start,
            end,
        }
    });
    Station {
        posts: vec![Post {
            side: Side::Either,
            work: placed.collect(),
        }],
    }
}

/// More than these never help.
fn most_stations(line: &Line) -> u32 {
    let fixed = line
        .rules
        .fixed
        .iter()
        .map(|(_, station)| *station as u32 + 1)
        .max();
    let far: u32 = line
        .rules
        .distance
        .iter()
        .map(|(_, _, stations)| *stations)
        .sum();
    (line.work.ticks.len() as u32 + far).max(1) + fixed.unwrap_or(0)
}

/// Both directions of a line, ready for search.
pub(crate) struct Ends<const W: usize> {
    ahead: End<W>,
    /// The line from its end; none where tasks are fixed to stations counted
    /// from the start.
    behind: Option<End<W>>,
    /// No balance has fewer stations.
    pub(crate) bound: u32,
    order: Vec<usize>,
}

struct End<const W: usize> {
    frame: Frame<W>,
    earliest: Vec<u32>,
    behind: Vec<u32>,
}

impl<const W: usize> End<W> {
    fn of(line: &Line, order: &[usize], takt: u32) -> Self {
        let frame = Frame::of(line, order, takt);
        Self {
            earliest: frame.earliest(order),
            behind: frame.behind(order),
            frame,
        }
    }

    /// Where tasks can stand, with what the frame's prices say.
    fn look_again(&mut self, order: &[usize]) {
        self.earliest = self.frame.earliest(order);
        self.behind = self.frame.behind(order);
    }

    fn search(&self, stations: u32, memory_mb: u32) -> Search<'_, W> {
        Search::new(
            &self.frame,
            &self.earliest,
            &self.behind,
            stations,
            memory_mb,
        )
    }
}

impl<const W: usize> Ends<W> {
    /// Of a line without faults.
    pub(crate) fn of(line: &Line, takt: u32) -> Result<Self, Vec<Fault>> {
        let line = with_distances(line);
        let order = line.work.order().map_err(|circle| vec![circle])?;
        let ahead = End::of(&line, &order, takt);
        let mut faults = Vec::new();
        for (task, station) in &line.rules.fixed {
            if ahead.earliest[*task] as usize > *station {
                faults.push(Fault::NoRoom {
                    task: *task,
                    earliest: ahead.earliest[*task] as usize,
                    latest: *station,
                    pushed: pushed(&line, *task, *station),
                });
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let behind = line.rules.fixed.is_empty().then(|| {
            let back: Vec<usize> = order.iter().rev().copied().collect();
            End::of(&reversed(&line), &back, takt)
        });
        let fixed = line.rules.fixed.iter();
        let fixed = fixed.map(|(_, station)| *station as u32 + 1).max();
        let mut ends = Self {
            ahead,
            behind,
            bound: fixed.unwrap_or(1).max(1),
            order,
        };
        ends.raise();
        Ok(ends)
    }

    /// Raises the bound to what the frame says.
    fn raise(&mut self) {
        let ahead = &self.ahead;
        let through = ahead.earliest.iter().zip(&ahead.behind);
        let through = through.map(|(earliest, behind)| earliest + behind + 1);
        let bound = self.bound.max(ahead.frame.needs(&ahead.frame.all));
        self.bound = through.fold(bound, u32::max);
    }

    /// Sharper bounds, which take some time.
    pub(crate) fn price(&mut self) {
        self.ahead.frame.price(self.bound);
        self.ahead.look_again(&self.order);
        if let Some(behind) = &mut self.behind {
            let back: Vec<usize> = self.order.iter().rev().copied().collect();
            behind.frame.weights.clone_from(&self.ahead.frame.weights);
            behind.look_again(&back);
        }
        self.raise();
    }

    /// A balance to start from, by beams from both ends of the line, broader as
    /// long as they find better ones and steps are left.
    fn start(&self, asked: &Asked<'_>, most: u32, steps: &mut u64) -> Option<Vec<Load<W>>> {
        let mut best: Option<Vec<Load<W>>> = None;
        let mut beam = Beam {
            width: 2,
            samples: 8,
            seed: 1,
        };
        let share = asked.most_steps / 4;
        while *steps < share && beam.width <= BROADEST && !asked.watch.cancelled() {
            let above = best.as_ref().map_or(most, |loads| loads.len() as u32 - 1);
            if above < self.bound {
                break;
            }
            let run = |end: &End<W>| {
                let mut search = end.search(above, 1);
                let found = search.beam(beam, asked.watch);
                (found, search.steps)
            };
            let (ahead, behind) = rayon::join(
                || run(&self.ahead),
                || self.behind.as_ref().map_or((None, 0), run),
            );
            *steps += ahead.1 + behind.1 + 1;
            let found = [ahead.0, behind.0.map(turned)].into_iter().flatten();
            match found.min_by_key(Vec::len) {
                Some(loads) => best = Some(loads),
                None => {
                    beam.width *= 2;
                    beam.samples += 2;
                }
            }
            beam.seed += 1;
        }
        best
    }

    /// Looks for a balance of so many stations; see the plain line's search.
    pub(crate) fn decide(
        &self,
        asked: &Asked<'_>,
        stations: u32,
        most: u64,
        steps: &mut u64,
    ) -> Spell<W> {
        let memory = asked.limits.memory_mb / 2;
        let mut ahead = self.ahead.search(stations, memory);
        let behind = self.behind.as_ref();
        let mut behind = behind.map(|end| end.search(stations, memory));
        let mut spell = 4_000;
        let mut spent = 0;
        loop {
            spell = spell.min(asked.most_steps.saturating_sub(*steps));
            if spent >= most || spell == 0 || asked.watch.cancelled() {
                return Spell::Open;
            }
            let so_far = |a: &Search<'_, W>, b: &Option<Search<'_, W>>| {
                a.steps + b.as_ref().map_or(0, |b| b.steps)
            };
            let before = so_far(&ahead, &behind);
            let (one, other) = rayon::join(
                || ahead.spell(spell, asked.watch),
                || {
                    behind
                        .as_mut()
                        .map_or(Spell::Open, |b| b.spell(spell, asked.watch))
                },
            );
            let taken = so_far(&ahead, &behind) - before;
            spent += taken.max(1);
            *steps += taken.max(1);
            match (one, other) {
                (Spell::Found(loads), _) => return Spell::Found(loads),
                (_, Spell::Found(loads)) => return Spell::Found(turned(loads)),
                (Spell::Refuted, _) | (_, Spell::Refuted) => return Spell::Refuted,
                (Spell::Open, Spell::Open) => spell = (spell * 2).min(2_000_000),
            }
        }
    }

    /// The posts' work for the loads of stations, in time.
    pub(crate) fn timetables(&self, loads: &[Load<W>]) -> Vec<Station> {
        loads.iter().map(|load| self.timetable(load)).collect()
    }

    fn timetable(&self, load: &Load<W>) -> Station {
        let frame = &self.ahead.frame;
        let mut posts: Vec<Post> = frame
            .posts
            .iter()
            .map(|side| Post {
                side: *side,
                work: Vec::new(),
            })
            .collect();
        let mut ended: Vec<(usize, u64)> = Vec::new();
        for (task, post) in &load.order {
            let task = usize::from(*task);
            let work = &mut posts[usize::from(*post)].work;
            let free = work.last().map_or(0, |placed| placed.end);
            let start = ended
                .iter()
                .filter(|(before, _)| frame.before_set[task].has(*before))
                .fold(free, |start, (_, end)| start.max(*end));
            let end = start + frame.measures[0].ticks[task];
            ended.push((task, end));
            work.push(Placed { task, start, end });
        }
        Station { posts }
    }
}

/// Loads of a line from its end as loads from its start: what can be worked off
/// backwards can be forwards.
fn turned<const W: usize>(mut loads: Vec<Load<W>>) -> Vec<Load<W>> {
    loads.reverse();
    for load in &mut loads {
        load.order.reverse();
    }
    loads
}

/// The distance rules as order too: the second of a pair never comes first.
fn with_distances(line: &Line) -> Line {
    let mut line = line.clone();
    for (one, other, _) in &line.rules.distance {
        if !line.work.after[*other].contains(one) {
            line.work.after[*other].push(*one);
        }
    }
    line
}

/// The line from its end. Times at a station run backwards too, so a timetable
/// for one is one for the other.
fn reversed(line: &Line) -> Line {
    let mut back = line.clone();
    back.work.after = vec![Vec::new(); line.work.ticks.len()];
    for (task, befores) in line.work.after.iter().enumerate() {
        for before in befores {
            back.work.after[*before].push(task);
        }
    }
    for (one, other, _) in &mut back.rules.distance {
        std::mem::swap(one, other);
    }
    back
}

fn fewest<const W: usize>(
    asked: &Asked<'_>,
    most: u32,
    bounds: Bounds,
) -> Result<LineBalance, Vec<Fault>> {
    let mut ends = Ends::<W>::of(asked.line, asked.takt)?;
    let mut steps = 0;
    let mut best = ends.start(asked, most, &mut steps);
    let is_open = best
        .as_ref()
        .is_none_or(|loads| loads.len() > ends.bound as usize);
    if is_open && bounds == Bounds::Sharp {
        ends.price();
    }
    let mut spend = 100_000;
    let report = |best: &Option<Vec<Load<W>>>, bound: u32| {
        (asked.watch.progress)(Progress {
            least: Least::Stations,
            best: best.as_ref().map(|loads| loads.len() as u64),
            bound: u64::from(bound),
        });
    };
    loop {
        let is_over = |best: &Option<Vec<Load<W>>>, bound: u32| {
            best.as_ref()
                .is_some_and(|loads| loads.len() <= bound as usize)
        };
        // First at the bound, where a find is the end of it; then just below
        // the best, to have something to show.
        let mut tried = 0;
        while !is_over(&best, ends.bound) && tried < 2 {
            let above = best.as_ref().map_or(most, |loads| loads.len() as u32 - 1);
            let stations = if tried == 0 { ends.bound } else { above };
            if ends.bound > most {
                return Err(vec![unable::<W>(asked, most)]);
            }
            match ends.decide(asked, stations, spend, &mut steps) {
                Spell::Found(loads) => best = Some(loads),
                Spell::Refuted if stations == most && best.is_none() => {
                    return Err(vec![unable::<W>(asked, most)]);
                }
                Spell::Refuted => ends.bound = ends.bound.max(stations + 1),
                Spell::Open => tried += 1,
            }
            report(&best, ends.bound);
        }
        let ended = asked.watch.cancelled() || steps >= asked.most_steps;
        if is_over(&best, ends.bound) || ended {
            break;
        }
        spend *= 4;
    }
    let loads = best.unwrap_or_default();
    let stations = ends.timetables(&loads);
    Ok(LineBalance {
        proven: !stations.is_empty() && stations.len() <= ends.bound as usize,
        stations,
        bound: u64::from(ends.bound),
        steps,
    })
}

fn unable<const W: usize>(asked: &Asked<'_>, most: u32) -> Fault {
    let rules = clash::<W>(asked.line, asked.takt, most, asked.watch);
    rules.unwrap_or_else(|| Fault::NoAssignment {
        shown: format!(
            "no number of stations up to {most} meets all rules of place at this takt; \
             more stations would not help, so drop a rule or raise takt"
        ),
    })
}
