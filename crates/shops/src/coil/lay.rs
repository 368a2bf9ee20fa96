//! Blanks laid on strips: every width that matters, each laid once.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;
use strip::{Kind, Outcome, Partner, Refusal, Request};
use units::SoFar;

use super::cutting::Cutting;
use super::so_far::Way;
use super::{NoPlan, Progress, Watch};

/// The kinds of layout of one part.
const OWN: [Kind; 4] = [
    Kind::Single,
    Kind::OpposedPair,
    Kind::TwoRow,
    Kind::ThreeRow,
];

/// What came of one request.
pub(super) type Answer = Result<Outcome, Vec<Refusal>>;

/// Layouts found before, by what they were asked with. A face that keeps one
/// from plan to plan has only those parts laid anew that have changed.
#[derive(Debug, Default)]
pub struct Shelf {
    known: Mutex<BTreeMap<String, Arc<Answer>>>,
}

impl Shelf {
    /// An empty one.
    pub fn new() -> Self {
        Self::default()
    }

    /// How many layouts it holds.
    pub fn len(&self) -> usize {
        self.locked(|known| known.len())
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    fn find(&self, key: &str) -> Option<Arc<Answer>> {
        self.locked(|known| known.get(key).cloned())
    }

    fn keep(&self, key: String, answer: Arc<Answer>) {
        self.locked(|known| known.insert(key, answer));
    }

    fn locked<T>(&self, with: impl FnOnce(&mut BTreeMap<String, Arc<Answer>>) -> T) -> T {
        // A thread that died while it held the shelf left whole entries.
        with(&mut self.known.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// A blank to be laid on a strip of one width, or of any.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    /// The part, by its place among those cut.
    pub(super) cutting: usize,
    /// The width in micrometres; none for any width.
    pub(super) width: Option<i64>,
    /// With the part that it names to lie beside.
    pub(super) mixed: bool,
}

/// A width as a key.
pub(super) fn micrometres(width_mm: f64) -> i64 {
    (width_mm * 1e3).round() as i64
}

/// Everything laid so far.
#[derive(Default)]
pub(super) struct Laid {
    by_place: BTreeMap<Place, Arc<Answer>>,
}

impl Laid {
    /// What came of a place.
    pub(super) fn at(&self, place: &Place) -> Option<&Answer> {
        self.by_place.get(place).map(Arc::as_ref)
    }

    /// Lays all places that are not laid yet, each different request once, in rounds
    /// between which the cheapest way so far is found and told.
    pub(super) fn add(
        &mut self,
        cut: &[Cutting<'_>],
        places: &BTreeSet<Place>,
        effort: usize,
        stage: Stage<'_>,
        way: &mut Option<Way>,
    ) -> Result<(), NoPlan> {
        let asked = self.asked(cut, places, effort);
        let of = asked.len();
        let done = AtomicUsize::new(0);
        for round in asked.chunks(EACH * rayon::current_num_threads()) {
            let told = way.as_ref().map_or(&[][..], |way| &way.told);
            let answers: Vec<Option<Arc<Answer>>> = round
                .par_iter()
                .map(|asked| {
                    let answer = answer(stage.shelf, asked, stage.watch.cancel)?;
                    let done = done.fetch_add(1, Ordering::Relaxed) + 1;
                    stage.tell(done as f64 / of as f64, told);
                    Some(answer)
                })
                .collect();
            for (asked, answer) in round.iter().zip(answers) {
                let answer = answer.ok_or(NoPlan::Cancelled)?;
                for place in &asked.places {
                    self.by_place.insert(*place, Arc::clone(&answer));
                }
            }
            *way = Way::cheaper(way.take(), (stage.find)(self));
        }
        Ok(())
    }

    /// The requests of the places that are not laid yet: of every part one before any
    /// has its next, so that all are soon laid somewhere.
    fn asked(&self, cut: &[Cutting<'_>], places: &BTreeSet<Place>, effort: usize) -> Vec<Asked> {
        let mut asked: BTreeMap<String, Asked> = BTreeMap::new();
        let mut of_part = vec![0; cut.len()];
        for place in places {
            if self.by_place.contains_key(place) {
                continue;
            }
            let Some(request) = request(cut, place, effort) else {
                continue;
            };
            let key = format!("{request:?}");
            let before = of_part[place.cutting];
            of_part[place.cutting] += 1;
            let new = || Asked {
                key: key.clone(),
                request,
                before,
                places: Vec::new(),
            };
            asked
                .entry(key.clone())
                .or_insert_with(new)
                .places
                .push(*place);
        }
        let mut asked: Vec<Asked> = asked.into_values().collect();
        asked.sort_by_key(|asked| asked.before);
        asked
    }
}

/// Requests that each thread answers before what they gave is looked at.
const EACH: usize = 16;

/// A request, and the places that it answers.
struct Asked {
    /// What it is known by.
    key: String,
    request: Request,
    /// Requests of the same part before it.
    before: usize,
    places: Vec<Place>,
}

/// A stretch of the laying: its part of the whole progress.
#[derive(Clone, Copy)]
pub(super) struct Stage<'a> {
    pub(super) shelf: &'a Shelf,
    pub(super) watch: &'a Watch<'a>,
    /// Share of the whole at its start and at its end.
    pub(super) from: f64,
    pub(super) to: f64,
    /// Finds the cheapest way in what is laid; none while there is none.
    pub(super) find: &'a (dyn Fn(&Laid) -> Option<Way> + Sync),
}

/// Parts of the whole progress.
const PARTS: f64 = 1_000.0;

impl Stage<'_> {
    fn tell(&self, share: f64, best: &[SoFar]) {
        let done = self.from + (self.to - self.from) * share;
        (self.watch.progress)(&Progress {
            doing: "laying blanks".to_owned(),
            done: (done * PARTS) as u64,
            of: PARTS as u64,
            best: best.to_vec(),
        });
    }
}

/// Asks the shelf, else the strip; none if cancelled before the answer was whole.
fn answer(shelf: &Shelf, asked: &Asked, cancel: &AtomicBool) -> Option<Arc<Answer>> {
    if let Some(known) = shelf.find(&asked.key) {
        return Some(known);
    }
    if cancel.load(Ordering::Relaxed) {
        return None;
    }
    let watch = strip::Watch {
        cancel,
        progress: &|_| {},
    };
    let answer = strip::lay(&asked.request, &watch);
    if answer.as_ref().is_ok_and(|outcome| outcome.cancelled) {
        return None;
    }
    let answer = Arc::new(answer);
    shelf.keep(asked.key.clone(), Arc::clone(&answer));
    Some(answer)
}

/// The request of a place; none for a mixed one whose part names no other.
pub(super) fn request(cut: &[Cutting<'_>], place: &Place, effort: usize) -> Option<Request> {
    let cutting = cut.get(place.cutting)?;
    let partner = match place.mixed {
        true => Some(partner(cutting, partner_of(cut, cutting)?)),
        false => None,
    };
    Some(Request {
        // A mixed strip is laid with the parts as they are; alone a part that is
        // turned over is the mirror image of the one that is not.
        blank: match place.mixed {
            true => cutting.own.clone(),
            false => cutting.drawn.clone(),
        },
        kinds: match place.mixed {
            true => vec![Kind::MixedPair],
            false => OWN.to_vec(),
        },
        partner,
        cut: cutting.cut,
        grain: match place.mixed {
            true => own_grain(cutting),
            false => cutting.grain.clone(),
        },
        widths_mm: place.width.map(|width| vec![width as f64 * 1e-3]),
        max_pitch_mm: cutting.line.bed_x_mm.map(|bed| bed.0),
        mirror_allowed: cutting.part.either_side_up,
        effort,
    })
}

/// The part that lies beside another, if it names one.
pub(super) fn partner_of<'c, 'a>(
    cut: &'c [Cutting<'a>],
    cutting: &Cutting<'_>,
) -> Option<&'c Cutting<'a>> {
    let name = cutting.part.strip_with.as_ref()?;
    cut.iter().find(|other| other.part.part == *name)
}

fn partner(cutting: &Cutting<'_>, other: &Cutting<'_>) -> Partner {
    Partner {
        outline: other.own.clone(),
        grain: own_grain(other),
        ratio: ratio(cutting.part.per_car, other.part.per_car),
    }
}

/// The angles for the outline as the part is.
fn own_grain(cutting: &Cutting<'_>) -> Vec<strip::Window> {
    let turned = |window: &strip::Window| strip::Window {
        from_deg: -window.to_deg,
        to_deg: -window.from_deg,
    };
    match cutting.part.mirrored {
        true => cutting.grain.iter().map(turned).collect(),
        false => cutting.grain.clone(),
    }
}

/// The ratio of two numbers in small numbers, four blanks a pitch at most.
pub(super) fn ratio(first: u32, second: u32) -> (u32, u32) {
    let wanted = f64::from(first.max(1)) / f64::from(second.max(1));
    [(1, 1), (2, 1), (1, 2), (3, 1), (1, 3)]
        .into_iter()
        .min_by(|one, other| {
            let off = |(a, b): &(u32, u32)| libm::log(f64::from(*a) / f64::from(*b) / wanted).abs();
            off(one).total_cmp(&off(other))
        })
        .unwrap_or((1, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_sills_for_each_floor_are_laid_two_to_one() {
        assert_eq!(ratio(2, 1), (2, 1));
        assert_eq!(ratio(4, 4), (1, 1));
        assert_eq!(ratio(1, 9), (1, 3));
    }
}
