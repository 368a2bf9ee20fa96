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
    fn one_thing_has_another_noun_than_many() {
        assert_eq!(things(1, "error", "errors"), "1 error");
        assert_eq!(things(1_400, "car", "cars"), "1,400 cars");
    }
}
