//! Numbers of things in words.

/// So many of something: `1 car`, `2 cars`, `3 entries`, `4 classes`.
pub(crate) fn some(count: usize, one: &str) -> String {
    if count == 1 {
        return format!("1 {one}");
    }
    match one.strip_suffix('y') {
        Some(stem) => format!("{count} {stem}ies"),
        None if one.ends_with('s') => format!("{count} {one}es"),
        None => format!("{count} {one}s"),
    }
}

/// `is` for one, `are` for others.
pub(crate) const fn are(count: u32) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

#[cfg(test)]
mod tests {
    use super::some;

    #[test]
    fn one_car_is_a_car_and_two_are_cars() {
        let told = [(0, "place"), (1, "car"), (2, "open place"), (3, "entry")];
        let told = told.map(|(count, one)| some(count, one));
        assert_eq!(told, ["0 places", "1 car", "2 open places", "3 entries"]);
        assert_eq!(some(4, "class"), "4 classes");
        assert_eq!(some(5, "body"), "5 bodies");
    }
}
