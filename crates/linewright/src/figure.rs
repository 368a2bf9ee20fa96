//! Numbers as a person reads them: rounded on show, never before.

pub(crate) use desk::report::{number, percent};

/// A number of things, with the right form of its noun.
pub(crate) fn things(count: usize, one: &str, many: &str) -> String {
    let noun = if count == 1 { one } else { many };
    format!("{} {noun}", number(count as f64, 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_grouped_and_rounded() {
        assert_eq!(number(1_343.61, 0), "1,344");
        assert_eq!(number(1_343.61, 1), "1,343.6");
        assert_eq!(number(999.0, 0), "999");
        assert_eq!(number(1_000_000.0, 0), "1,000,000");
        assert_eq!(number(-27.4, 0), "-27");
        assert_eq!(number(-0.2, 0), "0");
        assert_eq!(percent(0.9336, 1), "93.4 %");
        assert_eq!(things(1, "error", "errors"), "1 error");
        assert_eq!(things(1_400, "car", "cars"), "1,400 cars");
    }
}
