use std::fmt;

use serde::Serialize;

/// One reason why a formula was not computed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "fault")]
pub enum Fault {
    /// No formula has this name.
    UnknownFormula {
        /// The nearest name there is.
        nearest: Option<&'static str>,
    },
    /// The formula has no such symbol.
    UnknownSymbol {
        /// The symbol as typed.
        symbol: String,
        /// The nearest symbol of this formula.
        nearest: Option<&'static str>,
        /// All symbols of this formula.
        known: Vec<&'static str>,
    },
    /// A symbol was given twice.
    GivenTwice {
        /// The symbol.
        symbol: &'static str,
    },
    /// A symbol was not given.
    Missing {
        /// The symbol.
        symbol: &'static str,
        /// What it means.
        meaning: &'static str,
        /// Its unit.
        unit: &'static str,
        /// Whether it is a list.
        list: bool,
    },
    /// More values were given in a row than the formula has symbols.
    TooMany {
        /// How many were given.
        given: usize,
        /// The symbols there are.
        known: Vec<&'static str>,
    },
    /// The text is no quantity of the symbol's unit.
    NotAQuantity {
        /// The symbol.
        symbol: &'static str,
        /// What is wrong with the text.
        reason: String,
    },
    /// The symbol is a list and got a single number, or got no member.
    ListExpected {
        /// The symbol.
        symbol: &'static str,
    },
    /// The symbol is a single number and got a list.
    NumberExpected {
        /// The symbol.
        symbol: &'static str,
    },
    /// A value outside the symbol's legal range.
    OutOfRange {
        /// The symbol.
        symbol: &'static str,
        /// The value seen, in the symbol's unit.
        value: String,
        /// The unit.
        unit: &'static str,
        /// The legal range in words.
        range: String,
    },
    /// Values that are legal each, but not together.
    NotTogether {
        /// What must hold.
        need: &'static str,
    },
    /// A result beyond what numbers can hold.
    NoFiniteResult {
        /// The result's symbol.
        symbol: &'static str,
    },
}

/// A formula that was not computed, with every reason at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Refusal {
    /// The formula asked for.
    pub formula: String,
    /// All that stands against it.
    pub faults: Vec<Fault>,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownFormula { nearest } => {
                f.write_str("no formula has this name")?;
                nearest.map_or(Ok(()), |name| write!(f, ", the nearest is `{name}`"))
            }
            Self::UnknownSymbol {
                symbol,
                nearest,
                known,
            } => {
                write!(f, "`{symbol}` is not a symbol of it")?;
                match nearest {
                    Some(name) => write!(f, ", the nearest is `{name}`"),
                    None => write!(f, ", it has {}", known.join(", ")),
                }
            }
            Self::GivenTwice { symbol } => write!(f, "`{symbol}` is given twice, keep one"),
            Self::Missing {
                symbol,
                meaning,
                unit,
                list,
            } => {
                let sample = if *list { "list" } else { "value" };
                let unit = if unit.is_empty() {
                    "a plain number"
                } else {
                    unit
                };
                write!(f, "`{symbol}` is missing ({meaning}, {sample} in {unit})")
            }
            Self::TooMany { given, known } => {
                write!(f, "{given} values are given for {}", known.join(", "))
            }
            Self::NotAQuantity { symbol, reason } => write!(f, "`{symbol}`: {reason}"),
            Self::ListExpected { symbol } => write!(
                f,
                "`{symbol}` is a list, write its members with semicolons: `{symbol}=1;2;3`"
            ),
            Self::NumberExpected { symbol } => {
                write!(f, "`{symbol}` is a single number, not a list")
            }
            Self::OutOfRange {
                symbol,
                value,
                unit,
                range,
            } => {
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "`{symbol}` is {value}{space}{unit}, but must be {range}")
            }
            Self::NotTogether { need } => write!(f, "the values do not go together: {need}"),
            Self::NoFiniteResult { symbol } => write!(
                f,
                "`{symbol}` has no finite value with these inputs, take less extreme ones"
            ),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.formula)?;
        for (position, fault) in self.faults.iter().enumerate() {
            if position > 0 {
                f.write_str("; ")?;
            }
            fault.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}
