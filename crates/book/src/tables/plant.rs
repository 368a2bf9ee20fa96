//! The plant as a whole: settings, each with a usual value.

use serde::Serialize;
use units::{Days, Metres, Millimetres, Minutes, Money, Seconds, Share};

use super::table;
use crate::schema::At;
use crate::words::{LearningModel, OrderGoals};

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
    /// The part of the cars that must pass every check on their way at the first
    /// try.
    first_time_target: Option<Share>;
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
    /// Places for coils in the store.
    coil_places: u32, usual("60"), from(1.0), to(10000.0);
    /// The most coil specifications to hold at a time.
    coil_specifications: u32, usual("60"), from(1.0), to(1000.0);
    /// Coils can be had in widths that are multiples of this, beside those of the
    /// `coils` table; 0 for none beside.
    coil_width_step_mm: Millimetres, usual("20"), to(1000.0);
    /// What an hour of a blanking or laser line costs while its coil is changed.
    coil_change_cost_per_hour: Money, usual("150");
    /// The yearly cost of stock as a part of its value: capital, room, handling,
    /// damage.
    stock_cost_share: Share, usual("0.15");
    /// How much a week's real use strays from the plan: its standard deviation
    /// as a part of the use.
    use_spread: Share, usual("0.10");
    /// The part of the orders that come before the coils they replace are used
    /// up.
    coil_service: Share, usual("0.99"), from(0.5), to(0.9999);
    /// Days from the panel joined to the finished car, as measured; else those
    /// that the plan finds with every place filled.
    after_press_days: Option<Days>, to(1000.0);
    /// Of the days that the coil-to-car target leaves for lots, the part for
    /// lots of blanks; the rest is for lots of panels.
    blank_cover_share: Share, usual("0.45"), above(0.0), to(0.95);
    /// What an hour of a line costs while its dies are changed and the first
    /// part is approved: people, energy, trial parts.
    die_change_cost_per_hour: Money, usual("250");
    /// What owning a rack of parts costs a year, floor included.
    rack_cost_per_year: Money, usual("60");
    /// Whether lots that the `parts` table leaves empty are those of the die
    /// timetable; else they are half a day of use.
    lots_from_timetable: bool, usual("no");
    /// The part of takt that a station's work may fill; the rest is for stops
    /// and waiting.
    line_efficiency: Share, usual("0.92"), from(0.3);
    /// The part of a station's cycle that its joining robots keep free.
    robot_spare_share: Share, usual("0.08"), to(0.9);
    /// Seconds of each cycle for load, index and clamp where the station does not
    /// say.
    robot_index_s: Seconds, usual("12"), to(3600.0);
    /// By how much the work on a car at a station may exceed that, where the
    /// mean over the mix does not.
    overload_share: Share, usual("0.15"), to(2.0);
    /// People on each side of a station of an assembly line.
    people_per_side: u32, usual("1"), from(1.0), to(4.0);
    /// What a station costs a year whoever works there: floor, light, racks.
    station_cost_per_year: Money, usual("6000");
    /// The stop of a line that must not cost a bead of adhesive.
    line_stop_s: Seconds, usual("180"), to(36000.0);
    /// The distance from car to car on an assembly line.
    pitch_m: Metres, usual("6.5"), above(0.0), to(100.0);
    /// How far work may drift past the end of its station.
    drift_m: Metres, usual("1"), to(100.0);
    /// What a car brings above what building one more costs; empty for the
    /// products' prices less that cost.
    margin_per_car: Option<Money>;
    /// What the plant costs a year beside what the book names: buildings,
    /// planning, quality, insurance.
    overhead_per_year: Option<Money>;
    /// What a rivet costs, with its share of dies and punches.
    rivet_cost: Option<Money>;
    /// What a spot weld costs: caps and their dressing.
    spot_cost: Option<Money>;
    /// What a spot weld through process tape costs, the tape included.
    tape_spot_cost: Option<Money>;
    /// What a metre of arc weld costs: wire, gas, tips.
    arc_cost_per_m: Option<Money>;
    /// What a metre of adhesive bead costs.
    adhesive_cost_per_m: Option<Money>;
    /// How work gets shorter as a plant starts: `unit` where a doubling of the
    /// cars shortens the last one, `average` where it shortens the mean of all;
    /// empty for no ramp.
    learning_model: Option<LearningModel>;
    /// What a doubling of the cars multiplies the work by; 0.80 to 0.90 is common
    /// practice for assembly by hand.
    learning_rate: Share, usual("0.85"), from(0.5);
    /// Hours of work in the first car; empty for no ramp.
    first_car_hours: Option<f64>, unit("h"), above(0.0), to(1e6);
    /// The part of the plan's rate that stops let through in the first week of a
    /// start.
    ramp_availability: Share, usual("0.5");
    /// Weeks in which the stops of a start fall to 37 % (common practice: 4 to
    /// 12).
    ramp_settling_weeks: f64, usual("8"), above(0.0), to(520.0);
    /// Whether repair goes on in breaks.
    repair_in_breaks: bool, usual("yes");
    /// Whether the flow releases cars in the planned build order of the first
    /// week, over and over; else in a levelled order.
    order_from_plan: bool, usual("no");
    /// How the goals of the build order stand to one another: `strict` for
    /// spacing and promises as given, before how late a missed promise comes,
    /// before colour changes and what stations ask for by their weights, before
    /// level use; `weighted` for all in one sum, how late a missed promise comes
    /// behind it.
    order_goals: OrderGoals, usual("strict");
    /// Whether stations that an option overruns give spacing rules of their own.
    derived_rules: bool, usual("yes");
    /// What a run of cars that breaks such a rule weighs in the build order.
    derived_rule_weight: u32, usual("5"), to(10000.0);
    /// The most cars of one colour in a row, before the applicators are flushed;
    /// empty for no limit.
    longest_colour_block: Option<u32>, from(1.0);
    /// What a change of colour weighs in the build order.
    colour_change_weight: u32, usual("3"), to(10000.0);
    /// What a unit of squared distance from the level use of options and
    /// products weighs in the build order; 0 for no levelling.
    level_weight: u32, usual("1"), to(100.0);
    /// What a promised car weighs that comes late and whose promise is no must.
    promise_weight: u32, usual("20"), to(10000.0);
    /// The shop whose line the build order is for.
    order_shop: String, usual("assembly");
    /// The shop that paints, and sends cars round for repair.
    paint_shop: String, usual("paint");
    /// The distance from body to body on the conveyors of paint.
    paint_pitch_m: Metres, usual("6"), above(0.0), to(100.0);
    /// The part of takt that a conveyor of paint may take; the rest is for stops.
    paint_efficiency: Share, usual("0.93"), from(0.3);
    /// The stop of a conveyor of paint that its ovens must bear.
    paint_stop_min: Minutes, usual("10"), to(1000.0);
    /// What an hour in which paint stands costs.
    paint_stop_cost_per_hour: Money, usual("2500");
    /// Bodies of one colour that are collected before they are painted; 1 paints
    /// them as they come.
    colour_block: u32, usual("1"), from(1.0), to(1000.0);
    /// What a body in white is worth.
    body_value: Money, usual("4000");
    /// What a place for a body costs a year, conveyor and building.
    body_place_cost_per_year: Money, usual("600");
    /// Standard deviations of bodies above their mean for which stores have places.
    store_deviations: f64, usual("2"), to(6.0);
    /// The part of the solvent in purged paint that is not caught.
    purge_escapes: Share, usual("0.3");
    /// The most solvent that a body may give to the air, for each square metre of
    /// its surface; empty for no limit.
    solvent_limit_g_m2: Option<f64>, unit("g/m2"), above(0.0), to(100000.0);
    /// Lanes of the painted-body store.
    painted_lanes: u32, usual("6"), from(1.0), to(200.0);
    /// Places in each of its lanes.
    painted_lane_places: u32, usual("12"), from(1.0), to(500.0);
    /// The part of its places that it fills before it lets bodies out while more
    /// arrive, so that it can choose.
    painted_fill: Share, usual("0.5"), to(0.99);
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
