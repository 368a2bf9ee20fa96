use std::borrow::Cow;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::origin::{Origin, Sourced};
use crate::value::Value;

/// One symbol of a working with its value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Term {
    /// The symbol, as the expression writes it.
    pub symbol: Cow<'static, str>,
    /// What it means.
    pub meaning: Cow<'static, str>,
    /// Its value.
    pub value: Value,
    /// The value's unit; empty for plain numbers and shares.
    pub unit: Cow<'static, str>,
    /// Where an input came from; a result comes from this very working and
    /// has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Origin>,
}

/// How a figure came about: everything needed to check it by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Working {
    /// The formula's name.
    pub formula: Cow<'static, str>,
    /// The formula's title.
    pub title: Cow<'static, str>,
    /// The formula in symbols.
    pub expression: Cow<'static, str>,
    /// The inputs, in the formula's order.
    pub inputs: Vec<Term>,
    /// The results, in the formula's order.
    pub results: Vec<Term>,
    /// The published source of the formula.
    pub source: Cow<'static, str>,
    /// What to mind where people can get hurt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution: Option<Cow<'static, str>>,
}

impl Working {
    /// The number a result has, when it is a single number.
    pub fn result(&self, symbol: &str) -> Option<f64> {
        let term = self.results.iter().find(|term| term.symbol == symbol)?;
        term.value.number()
    }
}

/// A value together with how it came about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figure<T> {
    /// The value, or the struct of several values.
    pub value: T,
    /// How it came about.
    pub working: Working,
}

impl<T> Figure<T> {
    /// A part of the value as the input of another formula; its origin is
    /// this figure, under its formula's name.
    ///
    /// ```
    /// use formulas::{Origin, calendar};
    /// use units::{Count, Share};
    /// let (relief, absence, leave) = (Share(0.06), Share(0.05), Share(0.1));
    /// let heads = calendar::heads(Count(120.0), Count(2.0), relief, absence, leave)?;
    /// let whole = heads.part(|heads| heads.heads);
    /// assert_eq!(whole.value, Count(298.0));
    /// assert_eq!(whole.from, Origin::Figure("heads".into()));
    /// # Ok::<(), formulas::Refusal>(())
    /// ```
    pub fn part<U>(&self, pick: impl FnOnce(&T) -> U) -> Sourced<U> {
        self.part_of(self.working.formula.clone(), pick)
    }

    /// The same under a name of the caller's own, where one formula serves
    /// many figures (`takt of the body shop`).
    pub fn part_of<U>(&self, name: impl Into<String>, pick: impl FnOnce(&T) -> U) -> Sourced<U> {
        Sourced::figure(pick(&self.value), name)
    }
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.symbol, self.value)?;
        if !self.unit.is_empty() && self.value != Value::Nothing {
            write!(f, " {}", self.unit)?;
        }
        Ok(())
    }
}

impl fmt::Display for Working {
    /// The working as a short block of text: results, formula, inputs with
    /// their origins, source, caution.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{} ({})", self.title, self.formula)?;
        for result in &self.results {
            writeln!(f, "  {result}    {}", result.meaning)?;
        }
        writeln!(f, "by {}", self.expression)?;
        for input in &self.inputs {
            write!(f, "  {input}    {}", input.meaning)?;
            match &input.from {
                Some(origin) => writeln!(f, " [{origin}]")?,
                None => writeln!(f)?,
            }
        }
        write!(f, "source: {}", self.source)?;
        match &self.caution {
            Some(caution) => write!(f, "\ncaution: {caution}"),
            None => Ok(()),
        }
    }
}
