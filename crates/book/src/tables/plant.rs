//! The plant as a whole: settings, each with a usual value.

use serde::Serialize;
use units::{Days, Money, Share};

use super::table;
use crate::schema::At;

table! {
    /// A setting of the plant as a whole. What is not given has its usual value.
    SettingRow in Plant, key [setting] {
        /// The setting's name.
        setting: String;
        /// Its value.
        value: String;
        /// A remark; not used.
        note: Option<String>;
    }
}

/// A setting's value and, where the book gives it, its row.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Setting<T> {
    /// The value given, or the usual one.
    pub value: T,
    /// The row that gives it; none if the usual value stands.
    pub at: Option<At>,
}

/// Declares the settings: field, type, usual value, legal range, meaning.
macro_rules! settings {
    ($($(#[doc = $doc:literal])+ $name:ident: $type:ty $(, $property:ident ($argument:expr))*;)+) => {
        /// The plant's settings.
        #[derive(Clone, Debug, PartialEq, Serialize)]
        pub struct Plant {
            $($(#[doc = $doc])+ pub $name: Setting<$type>,)+
        }

        impl Plant {
            /// The settings known, each described like a column.
            pub const SETTINGS: &'static [crate::schema::Column] = &[$(
                crate::schema::Column::of::<$type>(stringify!($name), concat!($($doc),+))
                    $(.$property($argument))*
            ),+];

            /// Reads the settings; `read` gives the value and row of one.
            pub(crate) fn read(mut read: impl ReadSettings) -> Self {
                Self { $($name: read.read(stringify!($name)),)+ }
            }
        }
    };
}

/// Hands out the value of a setting.
pub(crate) trait ReadSettings {
    fn read<T: crate::cell::Cell>(&mut self, name: &'static str) -> Setting<T>;
}

settings! {
    /// The plant's name; usually that of the book's folder or file.
    name: String, usual("plant");
    /// The currency all money is in.
    currency: String, usual("EUR");
    /// Weeks in which the plant works in a year.
    weeks_per_year: f64, usual("48"), above(0.0), to(53.0);
    /// The longest a car may take from coil to finished car.
    coil_to_car_target_days: Days, usual("5"), above(0.0), to(1000.0);
    /// The yearly return that an investment must bring.
    hurdle_rate: Share, usual("0.10");
    /// What an hour of a person costs.
    person_cost_per_hour: Money, usual("40");
    /// What a kilowatt-hour costs.
    energy_cost_per_kwh: Money, usual("0.20");
    /// The part of the shift for personal needs, covered by relief people.
    relief_share: Share, usual("0.06"), to(0.9);
    /// The part of the people who are away without notice.
    absence_share: Share, usual("0.05"), to(0.9);
    /// The part of the people who are on planned leave.
    leave_share: Share, usual("0.10"), to(0.9);
    /// Whether repair goes on in breaks.
    repair_in_breaks: bool, usual("yes");
}

impl Default for Plant {
    fn default() -> Self {
        struct Usual;
        impl ReadSettings for Usual {
            fn read<T: crate::cell::Cell>(&mut self, name: &'static str) -> Setting<T> {
                Setting {
                    value: crate::cell::usual_setting(name),
                    at: None,
                }
            }
        }
        Self::read(Usual)
    }
}
