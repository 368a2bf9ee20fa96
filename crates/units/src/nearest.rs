//! The right name nearest to a misspelt one.
//!
//! Every room that takes a name from a person answers a wrong one with the
//! nearest right one, and all should find the same.

/// The candidate nearest to `text`, if it is near enough to be what was meant:
/// at most a third of the letters wrong. Ties go to the candidate met first.
///
/// ```
/// let stations = ["weld 1", "weld 2", "hang doors"];
/// assert_eq!(units::nearest("wedl 2", stations), Some("weld 2"));
/// assert_eq!(units::nearest("paint", stations), None);
/// ```
pub fn nearest<'a>(text: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters: Vec<char> = text.to_lowercase().chars().collect();
    if letters.len() > LONGEST {
        return None;
    }
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let other: Vec<char> = candidate.to_lowercase().chars().take(LONGEST + 1).collect();
        let reach = (letters.len().max(other.len()) / 3).max(1);
        // Lengths further apart than the reach need no look.
        if other.len() > LONGEST || letters.len().abs_diff(other.len()) > reach {
            continue;
        }
        let steps = distance(&letters, &other);
        if steps <= reach && best.is_none_or(|(fewest, _)| steps < fewest) {
            best = Some((steps, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Letters put in, left out, changed or swapped with their neighbour that lie
/// between two names, capitals aside.
///
/// ```
/// assert_eq!(units::slips("Takt", "tatk"), 1);
/// ```
pub fn slips(one: &str, other: &str) -> usize {
    let letters = |text: &str| -> Vec<char> { text.to_lowercase().chars().take(LONGEST).collect() };
    distance(&letters(one), &letters(other))
}

/// Names are short; a pasted novel is not compared with every name.
const LONGEST: usize = 80;

/// The fewest letters put in, left out, changed or swapped with their
/// neighbour that turn one word into the other.
///
/// Optimal string alignment: Damerau, *Commun. ACM* 7 (1964) 171, in the
/// row-by-row form of Wagner and Fischer, *J. ACM* 21 (1974) 168.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = vec![0; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn apart(a: &str, b: &str) -> usize {
        let a: Vec<char> = a.chars().collect();
        let b: Vec<char> = b.chars().collect();
        distance(&a, &b)
    }

    #[test]
    fn words_lie_as_far_apart_as_slips_between_them() {
        for (a, b, steps) in [
            ("weld", "weld", 0),
            ("weld", "wedl", 1),
            ("", "weld", 4),
            ("paint", "plant", 2),
            ("Füge", "Fuge", 1),
        ] {
            assert_eq!(apart(a, b), steps, "{a} to {b}");
        }
    }

    proptest! {
        #[test]
        fn the_way_back_is_as_long(a in ".{0,12}", b in ".{0,12}") {
            prop_assert_eq!(apart(&a, &b), apart(&b, &a));
        }
    }
}
