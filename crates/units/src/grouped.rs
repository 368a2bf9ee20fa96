//! Counts as a person reads them.

/// A count with a comma between thousands.
///
/// ```
/// assert_eq!(units::grouped(999), "999");
/// assert_eq!(units::grouped(1_400), "1,400");
/// assert_eq!(units::grouped(1_000_000), "1,000,000");
/// ```
pub fn grouped(count: usize) -> String {
    let digits = count.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (n, digit) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
