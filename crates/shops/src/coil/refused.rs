//! Everything for which coils are not planned and that shows without laying a
//! blank: rows that are missing, outlines that are none, webs that cannot be.

use std::sync::atomic::AtomicBool;

use book::{Book, PartSource, Problem};

use super::cutting::{self, Cutting};
use super::lay::{Place, micrometres, request};
use super::price::Spec;
use super::{ROUGH, wrong};

/// What keeps the coils of a book from being planned, as far as it shows without
/// a search; nothing where the book cuts no blanks. Takes some milliseconds.
///
/// A blank that is too large for every strip is found by [`plan`](super::plan()) alone.
pub fn problems(book: &Book) -> Vec<Problem> {
    let cuts = |part: &book::Part| part.source == PartSource::Made && part.blank_line.is_some();
    if !book.parts.iter().any(cuts) {
        return Vec::new();
    }
    let (cut, mut problems) = cutting::gathered(book, &[]);
    let specs: Vec<Spec<'_>> = book.coils.iter().map(Spec::of).collect();
    for (i, part) in cut.iter().enumerate() {
        let own: Vec<f64> = specs
            .iter()
            .filter(|spec| spec.sort == part.sort())
            .map(|spec| spec.width_mm)
            .collect();
        if own.is_empty() {
            problems.push(wrong::no_coil(part));
            continue;
        }
        let taken = own.into_iter().filter(|width| part.takes(*width));
        let Some(widest) = taken.reduce(f64::max) else {
            problems.push(wrong::no_width(part, None, wrong::NARROWER));
            continue;
        };
        for problem in senseless(&cut, i, widest) {
            if !problems.contains(&problem) {
                problems.push(problem);
            }
        }
    }
    problems
}

/// What the strip refuses before it lays anything, alone and beside another.
fn senseless(cut: &[Cutting<'_>], cutting: usize, width_mm: f64) -> Vec<Problem> {
    // A search that is stopped before it begins still looks at what it is asked.
    let stopped = AtomicBool::new(true);
    let watch = strip::Watch {
        cancel: &stopped,
        progress: &|_| {},
    };
    let of = |mixed| {
        let place = Place {
            cutting,
            width: Some(micrometres(width_mm)),
            mixed,
        };
        let request = request(cut, &place, ROUGH)?;
        strip::lay(&request, &watch).err()
    };
    let refusals = [false, true].into_iter().filter_map(of).flatten();
    refusals
        .map(|refusal| wrong::refused(&cut[cutting], &refusal))
        .collect()
}
