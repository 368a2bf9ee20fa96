//! Answers of solvers to questions asked before.
//!
//! A change to one shop leaves the others' questions as they were, and a plan asks
//! all of them. Solvers give the same answer to the same question, so that keeping
//! it changes nothing but the time.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// Questions kept: all lines of a plant at a few rates.
const MOST: usize = 48;

/// Questions with their answers, the latest asked last.
pub(crate) struct Known<Q, A> {
    kept: Mutex<Vec<(Q, A)>>,
}

impl<Q: Clone + PartialEq, A: Clone> Known<Q, A> {
    pub(crate) const fn new() -> Self {
        Self {
            kept: Mutex::new(Vec::new()),
        }
    }

    /// The answer known, or the one that `solve` gives; what was cut short is
    /// not kept.
    pub(crate) fn ask(&self, question: &Q, cancel: &AtomicBool, solve: impl FnOnce() -> A) -> A {
        if let Some(answer) = self.recall(question) {
            return answer;
        }
        let answer = solve();
        if !cancel.load(Ordering::Relaxed) {
            let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
            if kept.len() >= MOST {
                kept.remove(0);
            }
            kept.push((question.clone(), answer.clone()));
        }
        answer
    }

    fn recall(&self, question: &Q) -> Option<A> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|(known, _)| known == question)?;
        let found = kept.remove(at);
        let answer = found.1.clone();
        kept.push(found);
        Some(answer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_is_solved_once_and_one_cut_short_again() {
        let known: Known<u32, u32> = Known::new();
        let calm = AtomicBool::new(false);
        let stop = AtomicBool::new(true);
        assert_eq!(known.ask(&1, &stop, || 5), 5);
        assert_eq!(known.ask(&1, &calm, || 7), 7);
        assert_eq!(known.ask(&1, &calm, || 9), 7);
        assert_eq!(known.ask(&2, &calm, || 9), 9);
    }

    #[test]
    fn the_one_not_asked_for_longest_is_dropped() {
        let known: Known<usize, usize> = Known::new();
        let calm = AtomicBool::new(false);
        for question in 0..MOST {
            known.ask(&question, &calm, || question);
        }
        known.ask(&0, &calm, || MOST);
        known.ask(&MOST, &calm, || MOST);
        assert_eq!(known.recall(&0), Some(0));
        assert_eq!(known.recall(&1), None);
    }
}
