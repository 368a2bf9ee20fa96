//! Reading a typed quantity into a symbol's unit.
//!
//! `units` knows the plain units; a formula also meets quotients of two
//! (`cur/kg`, `ml/s`). Those convert when numerator and denominator each
//! convert, so no second table of sizes is kept here.

use units::{Unit, UnitError};

use crate::value::Value;

/// Longest text of one number with its unit; more is no quantity.
const LONGEST: usize = 80;

/// Reads `2.5 min` into the unit `wanted`; without a unit it is in it already.
pub(crate) fn number(text: &str, wanted: &'static str) -> Result<f64, UnitError> {
    let (number, symbol) = split(text)?;
    if symbol.is_empty() {
        return Ok(number);
    }
    convert(number, symbol, wanted)
}

/// Reads `0.6; 0.3; 0.1` or `200; 240; 300 s` into the unit `wanted`: a unit
/// behind the last member alone counts for all.
pub(crate) fn list(text: &str, wanted: &'static str) -> Result<Value, UnitError> {
    let members: Vec<(f64, &str)> = text
        .split(';')
        .filter(|member| !member.trim().is_empty())
        .map(split)
        .collect::<Result<_, _>>()?;
    let Some(((_, common), before)) = members.split_last() else {
        return Err(UnitError::NotANumber(text.trim().to_owned()));
    };
    let shared = before.iter().all(|(_, symbol)| symbol.is_empty());
    members
        .iter()
        .map(|(number, symbol)| match (shared, symbol.is_empty()) {
            _ if common.is_empty() && symbol.is_empty() => Ok(*number),
            (true, _) => convert(*number, common, wanted),
            (false, false) => convert(*number, symbol, wanted),
            // `200 s; 240; 5 min`: no telling what the 240 is.
            (false, true) => Err(UnitError::UnknownUnit(format!("{number} without a unit"))),
        })
        .collect::<Result<_, _>>()
        .map(Value::List)
}

/// Parts a text into its leading number and the unit's symbol behind it.
fn split(text: &str) -> Result<(f64, &str), UnitError> {
    let text = text.trim();
    if text.len() > LONGEST {
        let start: String = text.chars().take(20).collect();
        return Err(UnitError::NotANumber(format!("{start}...")));
    }
    let longest_number = text
        .char_indices()
        .map(|(start, _)| start)
        .chain([text.len()])
        .rev()
        .find_map(|end| text[..end].parse::<f64>().ok().map(|number| (number, end)));
    let Some((number, end)) = longest_number else {
        return Err(UnitError::NotANumber(text.to_owned()));
    };
    if !number.is_finite() {
        return Err(UnitError::NotFinite(text.to_owned()));
    }
    Ok((number, text[end..].trim()))
}

/// A number told in the unit `from` becomes one told in the unit `wanted`.
pub(crate) fn convert(number: f64, from: &str, wanted: &'static str) -> Result<f64, UnitError> {
    if from == wanted {
        return Ok(number);
    }
    if let (Some(found), Some(target)) = (Unit::find(from), Unit::find(wanted)) {
        if found.dimension == target.dimension {
            return Ok(target.from_base(found.to_base(number)));
        }
        return Err(UnitError::WrongDimension {
            found: found.symbol,
            wanted: target.symbol,
        });
    }
    let unknown = || UnitError::UnknownUnit(from.to_owned());
    let (found, target) = match (quotient(from), quotient(wanted)) {
        (Some(found), Some(target)) => (found, target),
        // The symbol's own unit is always readable, so what is known here
        // is a plain unit where a quotient is wanted.
        (None, _) => {
            let found = Unit::find(from).ok_or_else(unknown)?.symbol;
            return Err(UnitError::WrongDimension { found, wanted });
        }
        (Some(_), None) => return Err(UnitError::UnknownUnit(format!("{from} (for {wanted})"))),
    };
    let fits = found.0.dimension == target.0.dimension && found.1.dimension == target.1.dimension;
    if !fits {
        return Err(UnitError::UnknownUnit(format!("{from} (for {wanted})")));
    }
    let above = target.0.from_base(found.0.to_base(number));
    Ok(target.1.to_base(found.1.from_base(above)))
}

/// Numerator and denominator of `cur/kg`; `1/min` has the plain number above.
fn quotient(symbol: &str) -> Option<(Unit, Unit)> {
    let (above, below) = symbol.split_once('/')?;
    let above = if above.trim() == "1" { "" } else { above };
    Some((Unit::find(above)?, Unit::find(below)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_unit_behind_the_last_member_counts_for_all() {
        assert_eq!(
            list("2; 3;4 min", "s"),
            Ok(Value::List(vec![120.0, 180.0, 240.0]))
        );
        assert_eq!(
            list("0.6;0.3;0.1", ""),
            Ok(Value::List(vec![0.6, 0.3, 0.1]))
        );
        assert_eq!(list("90 s; 2 min", "s"), Ok(Value::List(vec![90.0, 120.0])));
        assert!(list("90 s; 100; 2 min", "s").is_err());
        assert!(list(" ; ", "s").is_err());
    }

    #[test]
    fn quotients_convert_above_and_below() {
        assert_eq!(number("60 cur/h", "cur/h"), Ok(60.0));
        assert_eq!(number("2 cur/g", "cur/kg"), Ok(2000.0));
        assert_eq!(number("24 l/min", "ml/s"), Ok(400.0));
        assert_eq!(number("300 1/d", "1/h"), Ok(12.5));
        assert!(number("3 kg/s", "cur/h").is_err());
        assert!(number("3 kg", "cur/h").is_err());
        assert!(number("3 cur/h", "kg").is_err());
    }

    #[test]
    fn what_is_no_number_is_told() {
        for text in ["", "min", "nan", "inf", "1e999", "--3", &"9".repeat(500)] {
            assert!(number(text, "s").is_err(), "{text}");
        }
        assert_eq!(number("1.5e3 N", "kN"), Ok(1.5));
    }

    proptest! {
        #[test]
        fn no_text_makes_the_reader_panic(text in ".{0,60}") {
            let _ = number(&text, "cur/kg");
            let _ = list(&text, "s");
        }
    }
}
