//! From coil to pressed part.

use units::{
    Days, Kilograms, Kilonewtons, Kilowatts, Megapascals, Metres, Millimetres, Minutes, Money,
    Share,
};

use super::table;
use crate::{
    Table,
    words::{PartSource, PressKind},
};

table! {
    /// An alloy in its temper.
    Material in Materials, key [material] {
        /// The material's name.
        material: String;
        /// Its density.
        density_kg_m3: f64, usual("2700"), unit("kg/m3"), above(0.0), to(30000.0);
        /// Its 0.2 % proof strength.
        proof_mpa: Option<Megapascals>, above(0.0), to(10000.0);
        /// Its tensile strength.
        tensile_mpa: Option<Megapascals>, above(0.0), to(10000.0);
        /// Its shear strength.
        shear_mpa: Option<Megapascals>, above(0.0), to(10000.0);
        /// What a kilogram costs.
        price_per_kg: Option<Money>;
        /// What a kilogram of scrap brings.
        scrap_price_per_kg: Option<Money>;
    }
}

table! {
    /// A coil as it is ordered.
    Coil in Coils, key [coil] {
        /// The specification's name.
        coil: String;
        /// What it is made of.
        material: String, refers(Table::Materials);
        /// The sheet's thickness.
        gauge_mm: Millimetres, above(0.0), to(50.0);
        /// The strip's width.
        width_mm: Millimetres, above(0.0), to(5000.0);
        /// The coil's mass.
        mass_kg: Kilograms, above(0.0), to(100000.0);
        /// The diameter of its bore.
        inner_mm: Millimetres, usual("508"), above(0.0), to(5000.0);
        /// Its outer diameter.
        outer_mm: Option<Millimetres>, above(0.0), to(5000.0);
        /// By how much it comes thicker than ordered, on the whole; below 0 for
        /// thinner. What is bought by mass is then shorter.
        thicker_mm: Millimetres, usual("0"), from(-5.0), to(5.0);
        /// Time from order to delivery; 14 days where it is needed and not given.
        lead_time_days: Option<Days>, to(10000.0);
        /// How much that time varies: its standard deviation.
        lead_spread_days: Days, usual("1"), to(1000.0);
        /// Coils in the store.
        on_hand: u32, usual("0");
    }
}

table! {
    /// Coils that are ordered and not yet in the store.
    Delivery in Deliveries, key [coil, week] {
        /// The coils' specification.
        coil: String, refers(Table::Coils);
        /// The week in which they come; the first week of the plan is 1.
        week: u32, from(1.0), to(520.0);
        /// How many come.
        coils: u32, from(1.0);
    }
}

table! {
    /// A point of a blank's outline. Path 0 is the outer edge, others are holes.
    OutlinePoint in Outlines, key [outline, path, point] {
        /// The outline's name.
        outline: String;
        /// The path within the outline.
        path: u32, usual("0");
        /// The point's place in the path.
        point: u32;
        /// Its place along the strip.
        x_mm: Millimetres, from(-1e6), to(1e6);
        /// Its place across the strip.
        y_mm: Millimetres, from(-1e6), to(1e6);
        /// The arc to the next point: tangent of a quarter of its angle, 0 for
        /// a straight line, positive to the left.
        bulge: f64, usual("0"), from(-1e3), to(1e3);
    }
}

table! {
    /// A part of the car, pressed in the plant or bought.
    Part in Parts, key [part] {
        /// The part's name.
        part: String;
        /// What it is made of.
        material: Option<String>, refers(Table::Materials);
        /// The sheet's thickness.
        gauge_mm: Option<Millimetres>, above(0.0), to(50.0);
        /// The outline of its blank.
        outline: Option<String>, refers(Table::Outlines);
        /// The smallest angle between strip and blank that the grain allows.
        grain_from_deg: Option<f64>, unit("deg"), from(-360.0), to(360.0);
        /// The largest such angle.
        grain_to_deg: Option<f64>, unit("deg"), from(-360.0), to(360.0);
        /// Whether its blank is the outline turned over, as for the right part
        /// of a left one.
        mirrored: bool, usual("no");
        /// Whether blanks may lie on the strip either side up.
        either_side_up: bool, usual("no");
        /// Whether it is sheared off the strip without web and margin; for
        /// blanks with two parallel straight sides.
        cut_off: bool, usual("no");
        /// A part whose blanks may lie on the same strip, as many as both are
        /// needed for each other; it is done where that is cheaper.
        strip_with: Option<String>, refers(Table::Parts);
        /// How many a car needs.
        per_car: u32, usual("1"), from(1.0), to(10000.0);
        /// The products that need it; empty for all.
        products: Vec<String>, refers(Table::Products);
        /// Whether it is pressed in the plant or bought.
        source: PartSource, usual("made");
        /// The line that cuts its blanks.
        blank_line: Option<String>, refers(Table::PressLines);
        /// Other lines of the same kind that could cut them; the press shop's plan chooses.
        blank_lines_too: Vec<String>, refers(Table::PressLines);
        /// The line that forms it.
        press_line: Option<String>, refers(Table::PressLines);
        /// Other press lines that its dies fit; the press shop's plan chooses.
        press_lines_too: Vec<String>, refers(Table::PressLines);
        /// Strokes a minute of the press line with this part's dies.
        strokes_per_min: Option<f64>, unit("1/min"), above(0.0), to(1000.0);
        /// The depth to which it is drawn; none for a flat part.
        draw_depth_mm: Option<Millimetres>, above(0.0), to(5000.0);
        /// Its blank over the punch that draws it, as diameters; 1.2 to 1.5 is
        /// common practice for body panels.
        draw_ratio: f64, usual("1.3"), above(0.7), to(3.0);
        /// Parts that one stroke gives.
        pieces_per_stroke: u32, usual("1"), from(1.0), to(100.0);
        /// Blanks a minute of the blanking line.
        blanks_per_min: Option<f64>, unit("1/min"), above(0.0), to(10000.0);
        /// The part of the panels that is scrapped.
        scrap: Share, usual("0"), to(0.99);
        /// Blanks cut in one run.
        blank_lot: Option<u32>, from(1.0);
        /// Places for blanks before the press line.
        blank_stock: Option<u32>, from(1.0);
        /// Parts pressed in one run.
        lot: Option<u32>, from(1.0);
        /// Places for parts after the press line.
        stock: Option<u32>, from(1.0);
        /// A run is due when fewer parts than this are left.
        start_below: Option<u32>;
        /// Parts in one rack.
        rack: u32, usual("1"), from(1.0), to(100000.0);
        /// The part's mass.
        net_kg: Option<Kilograms>, above(0.0), to(10000.0);
        /// What a bought part costs; of one made in the plant, what another would
        /// ask for it, ready to join.
        price: Option<Money>;
        /// The fewest pieces in an order of it.
        min_order: Option<u32>, from(1.0);
        /// Time from its order to delivery.
        lead_time_days: Option<Days>, to(10000.0);
        /// The station where it goes into the car.
        to: Option<String>, refers(Table::Stations);
    }
}

table! {
    /// A blanking, laser or press line.
    PressLine in PressLines, key [press_line] {
        /// The line's name.
        press_line: String;
        /// Its shop.
        shop: String;
        /// What it does.
        kind: PressKind;
        /// Its rated force.
        force_kn: Option<Kilonewtons>, above(0.0), to(1e6);
        /// The work that one stroke of it can do.
        energy_kj: Option<f64>, unit("kJ"), above(0.0), to(1e6);
        /// The length of its bed; it cuts no longer pitch.
        bed_x_mm: Option<Millimetres>, above(0.0), to(1e6);
        /// The depth of its bed; it takes no wider strip.
        bed_y_mm: Option<Millimetres>, above(0.0), to(1e6);
        /// From the last good part of one run to the first stroke of the next.
        change_min: Minutes, usual("0"), to(10080.0);
        /// From the first stroke of a run to the first part released.
        first_off_min: Minutes, usual("0"), to(10080.0);
        /// Mean running time between stops; needs `mttr_min`.
        mtbf_min: Option<Minutes>, above(0.0);
        /// Mean time to repair.
        mttr_min: Option<Minutes>, above(0.0);
        /// The least web between blanks; 8 mm with a die and 4 mm with a laser
        /// where it is needed and not given (common practice for large panels).
        web_mm: Option<Millimetres>, to(1000.0);
        /// The least margin to the strip's edges; that of `web_mm` where it is
        /// not given.
        edge_mm: Option<Millimetres>, to(1000.0);
        /// The width of a laser's cut.
        kerf_mm: Millimetres, usual("0.2"), to(20.0);
        /// Strip lost at the head of each coil.
        head_m: Metres, usual("3"), to(1000.0);
        /// Strip lost at the tail of each coil.
        tail_m: Metres, usual("2"), to(1000.0);
        /// From one coil to the next of the same die.
        coil_change_min: Minutes, usual("6"), to(1440.0);
        /// The crew that repairs it.
        crew: Option<String>, refers(Table::Crews);
        /// Lines of this kind side by side.
        units: u32, usual("1"), from(1.0), to(1000.0);
        /// People a shift; empty where the book does not tell.
        heads: Option<f64>, to(10000.0);
        /// What one costs, ready to work.
        investment: Option<Money>;
        /// Years it is used.
        life_years: f64, usual("15"), above(0.0), to(100.0);
        /// Mean power at work.
        energy_kw: Option<Kilowatts>, to(100000.0);
        /// Upkeep a year, dies included.
        upkeep_per_year: Option<Money>;
    }
}
