use std::borrow::Cow;

use serde::Serialize;

use crate::catalogue::nearest;
use crate::measure;
use crate::origin::Sourced;
use crate::range::Range;
use crate::refusal::{Fault, Refusal};
use crate::rounding::show;
use crate::value::{Outcome, Value};
use crate::working::{Figure, Term, Working};

/// A symbol of a formula, input or result.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Symbol {
    /// The symbol, as the expression and the text door write it.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// Its unit; empty for plain numbers and shares.
    pub unit: &'static str,
    /// Whether it is a list of values.
    pub list: bool,
    /// Its legal values, each member's for a list.
    #[cfg_attr(feature = "schema", schemars(with = "String"))]
    pub range: Range,
}

/// A declared formula.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Formula {
    /// Its name in kebab-case.
    pub name: &'static str,
    /// The part of the plant or the trade it belongs to.
    pub shop: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What it tells, in a paragraph.
    pub about: &'static str,
    /// The inputs.
    pub symbols: &'static [Symbol],
    /// The results.
    pub results: &'static [Symbol],
    /// The formula in symbols.
    pub expression: &'static str,
    /// What must hold between the inputs.
    pub needs: &'static [&'static str],
    /// The published source.
    pub source: &'static str,
    /// What to mind where people can get hurt, or where money is lost often.
    pub caution: Option<&'static str>,
    /// Which of `needs` do not hold.
    #[serde(skip)]
    pub(crate) unmet: fn(&[Value]) -> Vec<&'static str>,
    /// The computation, after all checks.
    #[serde(skip)]
    pub(crate) compute: fn(&[Value]) -> Vec<Value>,
}

impl Formula {
    /// Computes from values in the order of [`Formula::symbols`], each in its
    /// symbol's unit, and yields the whole working. Both the typed functions
    /// and the text door end here.
    ///
    /// # Errors
    /// All values outside their range, and all needs that do not hold.
    pub fn work(&self, args: Vec<Sourced<Value>>) -> Result<Working, Refusal> {
        let (values, origins): (Vec<Value>, Vec<_>) =
            args.into_iter().map(|arg| (arg.value, arg.from)).unzip();
        self.check(&values)?;
        let results = (self.compute)(&values);
        let endless = self.results.iter().zip(&results).filter(|(_, value)| {
            let numbers = value.numbers();
            !numbers.iter().all(|number| number.is_finite())
        });
        self.refuse(
            endless
                .map(|(symbol, _)| Fault::NoFiniteResult {
                    symbol: symbol.name,
                })
                .collect(),
        )?;
        let inputs = self.symbols.iter().zip(values).zip(origins);
        Ok(Working {
            formula: Cow::Borrowed(self.name),
            title: Cow::Borrowed(self.title),
            expression: Cow::Borrowed(self.expression),
            inputs: inputs
                .map(|((symbol, value), from)| Term {
                    from: Some(from),
                    ..symbol.term(value)
                })
                .collect(),
            results: self
                .results
                .iter()
                .zip(results)
                .map(|(symbol, value)| symbol.term(value))
                .collect(),
            source: Cow::Borrowed(self.source),
            caution: self.caution.map(Cow::Borrowed),
        })
    }

    /// As [`Formula::work`], with the results read back into their types.
    pub(crate) fn figure<T: Outcome>(
        &self,
        args: Vec<Sourced<Value>>,
    ) -> Result<Figure<T>, Refusal> {
        let working = self.work(args)?;
        let results: Vec<Value> = working.results.iter().map(|r| r.value.clone()).collect();
        Ok(Figure {
            value: T::from_values(&results),
            working,
        })
    }

    /// Computes from pairs of text: `("shift_length", "8 h")`. A list is
    /// written with semicolons; a symbol's case and its `-` or `_` do not
    /// matter; a value without a unit is in the symbol's own.
    ///
    /// # Errors
    /// Everything wrong with the pairs at once.
    pub fn compute(&self, pairs: &[(&str, &str)]) -> Result<Working, Refusal> {
        let mut faults = Vec::new();
        let mut values: Vec<Option<Value>> = vec![None; self.symbols.len()];
        let mut touched = vec![false; self.symbols.len()];
        for (name, text) in pairs {
            let Some(position) = self.position(name) else {
                faults.push(self.unknown(name));
                continue;
            };
            let symbol = &self.symbols[position];
            if touched[position] {
                faults.push(Fault::GivenTwice {
                    symbol: symbol.name,
                });
            }
            touched[position] = true;
            match symbol.read(text) {
                Ok(value) => values[position] = Some(value),
                Err(fault) => faults.push(fault),
            }
        }
        for (symbol, _) in self
            .symbols
            .iter()
            .zip(&touched)
            .filter(|(_, seen)| !**seen)
        {
            faults.push(symbol.missing());
        }
        self.refuse(faults)?;
        self.work(values.into_iter().flatten().map(Sourced::from).collect())
    }

    fn position(&self, name: &str) -> Option<usize> {
        let plain = name.trim().replace('-', "_").to_lowercase();
        self.symbols.iter().position(|symbol| symbol.name == plain)
    }

    fn known(&self) -> Vec<&'static str> {
        self.symbols.iter().map(|symbol| symbol.name).collect()
    }

    fn unknown(&self, name: &str) -> Fault {
        let known = self.known();
        Fault::UnknownSymbol {
            symbol: name.to_owned(),
            nearest: nearest(name, known.iter().copied()),
            known,
        }
    }

    fn check(&self, values: &[Value]) -> Result<(), Refusal> {
        let mut faults: Vec<Fault> = self
            .symbols
            .iter()
            .skip(values.len())
            .map(Symbol::missing)
            .collect();
        if values.len() > self.symbols.len() {
            faults.push(Fault::TooMany {
                given: values.len(),
                known: self.known(),
            });
        }
        for (symbol, value) in self.symbols.iter().zip(values) {
            faults.extend(symbol.fault(value));
        }
        self.refuse(faults)?;
        let unmet = (self.unmet)(values);
        self.refuse(
            unmet
                .into_iter()
                .map(|need| Fault::NotTogether { need })
                .collect(),
        )
    }

    fn refuse(&self, faults: Vec<Fault>) -> Result<(), Refusal> {
        if faults.is_empty() {
            return Ok(());
        }
        Err(Refusal {
            formula: self.name.to_owned(),
            faults,
        })
    }
}

impl Symbol {
    fn term(&self, value: Value) -> Term {
        Term {
            symbol: Cow::Borrowed(self.name),
            meaning: Cow::Borrowed(self.meaning),
            value,
            unit: Cow::Borrowed(self.unit),
            from: None,
        }
    }

    fn missing(&self) -> Fault {
        Fault::Missing {
            symbol: self.name,
            meaning: self.meaning,
            unit: self.unit,
            list: self.list,
        }
    }

    /// Reads a typed text into this symbol's unit; a list is written with
    /// semicolons, and a unit behind its last member alone counts for all.
    ///
    /// # Errors
    /// When the text is no quantity of this unit, or a list where a single
    /// number is wanted.
    pub fn read(&self, text: &str) -> Result<Value, Fault> {
        let read = if self.list {
            measure::list(text, self.unit)
        } else if text.contains(';') {
            return Err(Fault::NumberExpected { symbol: self.name });
        } else {
            measure::number(text, self.unit).map(Value::Number)
        };
        read.map_err(|error| Fault::NotAQuantity {
            symbol: self.name,
            reason: format!("{error}, write it in {}", self.unit_in_words()),
        })
    }

    pub(crate) fn unit_in_words(&self) -> &'static str {
        if self.unit.is_empty() {
            "plain numbers or %"
        } else {
            self.unit
        }
    }

    /// What is wrong with a value for this symbol, if anything is.
    fn fault(&self, value: &Value) -> Option<Fault> {
        let symbol = self.name;
        match (self.list, value) {
            (true, Value::List(members)) if !members.is_empty() => {}
            (true, _) => return Some(Fault::ListExpected { symbol }),
            (false, Value::Number(_)) => {}
            (false, _) => return Some(Fault::NumberExpected { symbol }),
        }
        let outside = value
            .numbers()
            .iter()
            .find(|number| !self.range.contains(**number))?;
        Some(Fault::OutOfRange {
            symbol,
            value: show(*outside),
            unit: self.unit,
            range: self.range.to_string(),
        })
    }
}
