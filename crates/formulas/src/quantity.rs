//! Quantities only formulas speak of; the shop floor's own are in `units`.

use serde::{Deserialize, Serialize};
use units::Quantity;

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
    )*};
}

quantities! {
    /// Events or pieces a minute.
    PerMinute "1/min";
    /// Events or pieces a day of 24 hours, or a working day where the meaning says so.
    PerDay "1/d";
    /// A speed in metres a minute.
    MetresPerMinute "m/min";
    /// A speed in metres a second.
    MetresPerSecond "m/s";
    /// An area in square metres.
    SquareMetres "m2";
    /// An area in square millimetres.
    SquareMillimetres "mm2";
    /// A volume in litres.
    Litres "l";
    /// A volume in millilitres.
    Millilitres "ml";
    /// A flow in litres a minute.
    LitresPerMinute "l/min";
    /// A flow in millilitres a second.
    MillilitresPerSecond "ml/s";
    /// A mass in grams.
    Grams "g";
    /// A length in micrometres.
    Micrometres "um";
    /// A length in centimetres.
    Centimetres "cm";
    /// A mass spread over a length.
    KilogramsPerMetre "kg/m";
    /// A density.
    KilogramsPerCubicMetre "kg/m3";
    /// A mass spread over an area.
    GramsPerSquareMetre "g/m2";
    /// The density of a paint.
    KilogramsPerLitre "kg/l";
    /// A temperature in degrees Celsius.
    Celsius "degC";
    /// An energy a mole.
    KilojoulesPerMole "kJ/mol";
    /// An area covered by a litre.
    SquareMetresPerLitre "m2/l";
    /// A force in newtons.
    Newtons "N";
    /// A stiffness.
    NewtonsPerMillimetre "N/mm";
    /// An energy in kilojoules.
    Kilojoules "kJ";
    /// An angle in degrees.
    Degrees "deg";
    /// A price or cost an hour.
    MoneyPerHour "cur/h";
    /// A price a kilogram.
    MoneyPerKilogram "cur/kg";
    /// An amount a day.
    MoneyPerDay "cur/d";
}
