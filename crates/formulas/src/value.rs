use std::fmt;

use serde::{Deserialize, Serialize};
use units::Quantity;

use crate::quantity as own;
use crate::rounding::show;

/// A symbol's value as a working stores it, in the symbol's unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum Value {
    /// One number.
    Number(f64),
    /// A list of numbers in one unit.
    List(Vec<f64>),
    /// There is no such value: an investment that never pays back.
    Nothing,
}

impl Value {
    /// The numbers held, whichever way.
    pub fn numbers(&self) -> &[f64] {
        match self {
            Self::Number(number) => std::slice::from_ref(number),
            Self::List(numbers) => numbers,
            Self::Nothing => &[],
        }
    }

    /// The number, when it is one.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::List(_) | Self::Nothing => None,
        }
    }
}

impl fmt::Display for Value {
    /// Shows six significant digits; lists with semicolons, as they are typed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => f.write_str(&show(*number)),
            Self::List(numbers) if numbers.is_empty() => f.write_str("none"),
            Self::List(numbers) => {
                let shown: Vec<String> = numbers.iter().map(|n| show(*n)).collect();
                f.write_str(&shown.join("; "))
            }
            Self::Nothing => f.write_str("none"),
        }
    }
}

/// What may stand for a symbol: a quantity, or a list of one quantity; as a
/// result also a quantity that may not exist.
pub trait Amount: Sized {
    /// The unit's symbol.
    const UNIT: &'static str;
    /// Whether it is a list.
    const LIST: bool = false;
    /// Without its type.
    fn to_value(&self) -> Value;
    /// With its type again; what is absent reads as not-a-number, which
    /// [`crate::Formula::work`] refuses before a formula can see it.
    fn from_value(value: Option<&Value>) -> Self;
}

/// What a formula yields: one amount, or a struct of several.
pub trait Outcome: Sized {
    /// The values in the order of the declared results.
    fn to_values(&self) -> Vec<Value>;
    /// Reads them back.
    fn from_values(values: &[Value]) -> Self;
}

macro_rules! amounts {
    ($($kind:ty),* $(,)?) => {$(
        impl Amount for $kind {
            const UNIT: &'static str = <$kind as Quantity>::UNIT;
            fn to_value(&self) -> Value {
                Value::Number(self.get())
            }
            fn from_value(value: Option<&Value>) -> Self {
                Self::new(value.and_then(Value::number).unwrap_or(f64::NAN))
            }
        }
        one!($kind);
        one!(Vec<$kind>);
        one!(Option<$kind>);
    )*};
}

/// A single amount is also a whole outcome.
macro_rules! one {
    ($kind:ty) => {
        impl Outcome for $kind {
            fn to_values(&self) -> Vec<Value> {
                vec![self.to_value()]
            }
            fn from_values(values: &[Value]) -> Self {
                Self::from_value(values.first())
            }
        }
    };
}

amounts! {
    units::Seconds, units::Minutes, units::Hours, units::Days, units::PerHour, units::PerWeek,
    units::Share, units::Count, units::Millimetres, units::Metres, units::Kilograms,
    units::Kilonewtons, units::Megapascals, units::Kilowatts, units::Money,
    own::PerMinute, own::PerDay, own::MetresPerMinute, own::MetresPerSecond,
    own::SquareMillimetres, own::SquareMetres, own::Litres, own::Millilitres, own::LitresPerMinute,
    own::MillilitresPerSecond, own::Grams, own::Micrometres, own::Centimetres,
    own::KilogramsPerCubicMetre, own::SquareMetresPerLitre, own::Newtons,
    own::NewtonsPerMillimetre, own::Kilojoules, own::Degrees, own::MoneyPerHour, own::MoneyPerKilogram,
    own::KilogramsPerMetre, own::MoneyPerDay, own::GramsPerSquareMetre,
    own::KilogramsPerLitre, own::Celsius, own::KilojoulesPerMole,
}

impl<T: Quantity> Amount for Vec<T> {
    const UNIT: &'static str = T::UNIT;
    const LIST: bool = true;
    fn to_value(&self) -> Value {
        Value::List(self.iter().map(|quantity| quantity.get()).collect())
    }
    fn from_value(value: Option<&Value>) -> Self {
        value
            .map(|value| value.numbers().iter().copied().map(T::new).collect())
            .unwrap_or_default()
    }
}

impl<T: Quantity> Amount for Option<T> {
    const UNIT: &'static str = T::UNIT;
    fn to_value(&self) -> Value {
        self.map_or(Value::Nothing, |quantity| Value::Number(quantity.get()))
    }
    fn from_value(value: Option<&Value>) -> Self {
        value.and_then(Value::number).map(T::new)
    }
}
