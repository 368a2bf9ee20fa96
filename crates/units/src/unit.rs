use std::fmt;

/// What a unit measures; only units of one dimension convert into each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Time, base second.
    Time,
    /// Length, base metre.
    Length,
    /// Area, base square metre.
    Area,
    /// Volume, base cubic metre.
    Volume,
    /// Mass, base kilogram.
    Mass,
    /// Force, base newton.
    Force,
    /// Stress or pressure, base pascal.
    Stress,
    /// Energy, base joule.
    Energy,
    /// Power, base watt.
    Power,
    /// Speed, base metre per second.
    Speed,
    /// Frequency or rate of things, base per second.
    Rate,
    /// Density, base kilogram per cubic metre.
    Density,
    /// Angle, base radian.
    Angle,
    /// Money in the plant's currency; no conversion between currencies.
    Money,
    /// Plain number, share or count.
    Number,
}

/// A unit with its size in the base unit of its dimension.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// The symbol, as written in headers and workings.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// One of this unit in base units.
    pub in_base: f64,
}

/// Why a text is no quantity of the wanted unit.
#[derive(Clone, Debug, PartialEq)]
pub enum UnitError {
    /// The text does not start with a number.
    NotANumber(String),
    /// The number is not finite.
    NotFinite(String),
    /// The unit's symbol is not known.
    UnknownUnit(String),
    /// The unit measures something else.
    WrongDimension {
        /// The unit found.
        found: &'static str,
        /// A unit that would fit.
        wanted: &'static str,
    },
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotANumber(text) => write!(f, "`{text}` does not start with a number"),
            Self::NotFinite(text) => write!(f, "`{text}` is not a finite number"),
            Self::UnknownUnit(symbol) => write!(f, "`{symbol}` is not a known unit"),
            Self::WrongDimension { found, wanted } => {
                write!(f, "`{found}` does not measure the same as `{wanted}`")
            }
        }
    }
}

impl std::error::Error for UnitError {}

use Dimension as D;
const MIN: f64 = 60.0;
const HOUR: f64 = 3_600.0;
const DAY: f64 = 86_400.0;
const WEEK: f64 = 604_800.0;

/// All units known. Sizes follow the SI brochure (9th edition, 2019); inch,
/// foot, pound and US gallon are the international definitions (exact).
const UNITS: &[Unit] = &[
    Unit::of("s", D::Time, 1.0),
    Unit::of("min", D::Time, MIN),
    Unit::of("h", D::Time, HOUR),
    Unit::of("d", D::Time, DAY),
    Unit::of("week", D::Time, WEEK),
    Unit::of("ms", D::Time, 1e-3),
    Unit::of("m", D::Length, 1.0),
    Unit::of("mm", D::Length, 1e-3),
    Unit::of("cm", D::Length, 1e-2),
    Unit::of("um", D::Length, 1e-6),
    Unit::of("in", D::Length, 0.025_4),
    Unit::of("ft", D::Length, 0.304_8),
    Unit::of("m2", D::Area, 1.0),
    Unit::of("mm2", D::Area, 1e-6),
    Unit::of("l", D::Volume, 1e-3),
    Unit::of("ml", D::Volume, 1e-6),
    Unit::of("m3", D::Volume, 1.0),
    Unit::of("mm3", D::Volume, 1e-9),
    Unit::of("gal", D::Volume, 3.785_411_784e-3),
    Unit::of("kg", D::Mass, 1.0),
    Unit::of("g", D::Mass, 1e-3),
    Unit::of("t", D::Mass, 1e3),
    Unit::of("lb", D::Mass, 0.453_592_37),
    Unit::of("N", D::Force, 1.0),
    Unit::of("kN", D::Force, 1e3),
    Unit::of("MN", D::Force, 1e6),
    Unit::of("Pa", D::Stress, 1.0),
    Unit::of("MPa", D::Stress, 1e6),
    Unit::of("GPa", D::Stress, 1e9),
    Unit::of("J", D::Energy, 1.0),
    Unit::of("kJ", D::Energy, 1e3),
    Unit::of("kWh", D::Energy, 3.6e6),
    Unit::of("W", D::Power, 1.0),
    Unit::of("kW", D::Power, 1e3),
    Unit::of("m/s", D::Speed, 1.0),
    Unit::of("mm/s", D::Speed, 1e-3),
    Unit::of("m/min", D::Speed, 1.0 / MIN),
    Unit::of("1/s", D::Rate, 1.0),
    Unit::of("1/min", D::Rate, 1.0 / MIN),
    Unit::of("1/h", D::Rate, 1.0 / HOUR),
    Unit::of("1/d", D::Rate, 1.0 / DAY),
    Unit::of("1/week", D::Rate, 1.0 / WEEK),
    Unit::of("kg/m3", D::Density, 1.0),
    Unit::of("g/cm3", D::Density, 1e3),
    Unit::of("rad", D::Angle, 1.0),
    Unit::of("deg", D::Angle, std::f64::consts::PI / 180.0),
    Unit::of("cur", D::Money, 1.0),
    Unit::of("", D::Number, 1.0),
    Unit::of("%", D::Number, 0.01),
];

impl Unit {
    const fn of(symbol: &'static str, dimension: Dimension, in_base: f64) -> Self {
        Self {
            symbol,
            dimension,
            in_base,
        }
    }

    /// All units, for listings.
    pub fn all() -> &'static [Self] {
        UNITS
    }

    /// The unit with this symbol; a superscript or `^` before the exponent is
    /// accepted (`m²`, `m^2`, `µm`).
    pub fn find(symbol: &str) -> Option<Self> {
        let plain: String = symbol
            .trim()
            .chars()
            .filter(|c| *c != '^')
            .map(|c| match c {
                '²' => '2',
                '³' => '3',
                'µ' | 'μ' => 'u',
                other => other,
            })
            .collect();
        UNITS.iter().copied().find(|unit| unit.symbol == plain)
    }

    /// The number in base units.
    pub fn to_base(self, value: f64) -> f64 {
        value * self.in_base
    }

    /// A number in base units, told in this unit.
    pub fn from_base(self, base: f64) -> f64 {
        base / self.in_base
    }

    /// Reads `2.5 min` or `150` and returns the number in this unit; a text
    /// without a unit is taken to be in this unit already.
    ///
    /// ```
    /// use units::Unit;
    /// let second = Unit::find("s").expect("the second is known");
    /// assert_eq!(second.parse("2.5 min"), Ok(150.0));
    /// assert_eq!(second.parse("90"), Ok(90.0));
    /// assert!(second.parse("3 kg").is_err());
    /// ```
    ///
    /// # Errors
    /// When the text holds no finite number, an unknown unit, or a unit that
    /// measures something else.
    pub fn parse(self, text: &str) -> Result<f64, UnitError> {
        let text = text.trim();
        let end = number_end(text);
        let value: f64 = text[..end]
            .parse()
            .map_err(|_| UnitError::NotANumber(text.to_owned()))?;
        if !value.is_finite() {
            return Err(UnitError::NotFinite(text.to_owned()));
        }
        let symbol = text[end..].trim();
        if symbol.is_empty() {
            return Ok(value);
        }
        let unit = Self::find(symbol).ok_or_else(|| UnitError::UnknownUnit(symbol.to_owned()))?;
        if unit.dimension != self.dimension {
            return Err(UnitError::WrongDimension {
                found: unit.symbol,
                wanted: self.symbol,
            });
        }
        if unit == self {
            return Ok(value);
        }
        Ok(self.from_base(unit.to_base(value)))
    }
}

/// Where the number at the start of `text` ends: sign, digits, point, exponent.
fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        let c = bytes[end];
        let exponent_sign =
            (c == b'-' || c == b'+') && end > 0 && matches!(bytes[end - 1], b'e' | b'E');
        let leading_sign = (c == b'-' || c == b'+') && end == 0;
        let exponent = matches!(c, b'e' | b'E')
            && end > 0
            && bytes
                .get(end + 1)
                .is_some_and(|next| next.is_ascii_digit() || matches!(next, b'-' | b'+'));
        if c.is_ascii_digit() || c == b'.' || leading_sign || exponent_sign || exponent {
            end += 1;
        } else {
            break;
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_typed_quantity_arrives_in_the_wanted_unit() {
        let kn = Unit::find("kN").unwrap();
        assert_eq!(kn.parse("2 MN"), Ok(2_000.0));
        assert_eq!(kn.parse("-1.5e3 N"), Ok(-1.5));
        assert_eq!(Unit::find("").unwrap().parse("85 %"), Ok(0.85));
    }

    #[test]
    fn a_wrong_unit_is_named() {
        let second = Unit::find("s").unwrap();
        assert_eq!(
            second.parse("3 kg"),
            Err(UnitError::WrongDimension {
                found: "kg",
                wanted: "s"
            })
        );
        assert_eq!(
            second.parse("3 parsec"),
            Err(UnitError::UnknownUnit("parsec".into()))
        );
        assert!(matches!(second.parse("min"), Err(UnitError::NotANumber(_))));
        assert!(matches!(
            second.parse("1e999"),
            Err(UnitError::NotFinite(_))
        ));
    }

    proptest! {
        #[test]
        fn converting_there_and_back_changes_nothing(value in -1e9..1e9f64, pick in 0..UNITS.len()) {
            let unit = UNITS[pick];
            let back = unit.from_base(unit.to_base(value));
            prop_assert!((back - value).abs() <= value.abs() * 1e-14);
        }

        #[test]
        fn no_text_makes_the_reader_panic(text in ".{0,40}") {
            let _ = Unit::find("s").unwrap().parse(&text);
        }
    }
}
