//! Numbers as a person reads them: rounded on show, never before.

/// A number with so many decimals and a comma between thousands.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let mut grouped = String::new();
    for (n, digit) in whole.chars().enumerate() {
        if n > 0 && (whole.len() - n).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let is_zero = !text.contains(|digit: char| ('1'..='9').contains(&digit));
    let sign = if value < 0.0 && !is_zero { "-" } else { "" };
    format!("{sign}{grouped}{rest}")
}

/// A share as a percentage.
pub fn percent(share: f64, decimals: usize) -> String {
    format!("{} %", number(share * 100.0, decimals))
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
    }
}
