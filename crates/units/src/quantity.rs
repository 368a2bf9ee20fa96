use serde::{Deserialize, Serialize};

/// What all quantities have in common: a number in a fixed unit.
pub trait Quantity: Copy {
    /// The unit's symbol as column headers and workings show it.
    const UNIT: &'static str;
    /// Wraps a number given in [`Quantity::UNIT`].
    fn new(value: f64) -> Self;
    /// The number in [`Quantity::UNIT`].
    fn get(self) -> f64;
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl Quantity for $name {
            const UNIT: &'static str = $unit;
            fn new(value: f64) -> Self {
                Self(value)
            }
            fn get(self) -> f64 {
                self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                std::fmt::Display::fmt(&self.0, f)?;
                if !$unit.is_empty() {
                    f.write_str(concat!(" ", $unit))?;
                }
                Ok(())
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
                Self(iter.map(|q| q.0).sum())
            }
        }
    )*};
}

quantities! {
    /// A duration in seconds.
    Seconds "s";
    /// A duration in minutes.
    Minutes "min";
    /// A duration in hours.
    Hours "h";
    /// A duration in days of 24 hours.
    Days "d";
    /// Events or cars an hour.
    PerHour "1/h";
    /// Events or cars a week.
    PerWeek "1/week";
    /// A part of a whole, 0 to 1.
    Share "";
    /// A number of things; fractional where it is a mean.
    Count "";
    /// A length in millimetres.
    Millimetres "mm";
    /// A length in metres.
    Metres "m";
    /// A mass in kilograms.
    Kilograms "kg";
    /// A force in kilonewtons.
    Kilonewtons "kN";
    /// A stress in megapascals.
    Megapascals "MPa";
    /// A power in kilowatts.
    Kilowatts "kW";
    /// An amount in the plant's currency.
    Money "cur";
}

impl Minutes {
    /// The same duration in seconds.
    pub fn seconds(self) -> Seconds {
        Seconds(self.0 * 60.0)
    }
}

impl Hours {
    /// The same duration in seconds.
    pub fn seconds(self) -> Seconds {
        Seconds(self.0 * 3_600.0)
    }
}

impl Days {
    /// The same duration in seconds.
    pub fn seconds(self) -> Seconds {
        Seconds(self.0 * 86_400.0)
    }
}

impl Seconds {
    /// The same duration in minutes.
    pub fn minutes(self) -> Minutes {
        Minutes(self.0 / 60.0)
    }

    /// The same duration in hours.
    pub fn hours(self) -> Hours {
        Hours(self.0 / 3_600.0)
    }

    /// The same duration in days of 24 hours.
    pub fn days(self) -> Days {
        Days(self.0 / 86_400.0)
    }

    /// How often this duration fits in an hour.
    ///
    /// ```
    /// use units::{PerHour, Seconds};
    /// assert_eq!(Seconds(90.0).rate(), PerHour(40.0));
    /// ```
    pub fn rate(self) -> PerHour {
        PerHour(3_600.0 / self.0)
    }
}
