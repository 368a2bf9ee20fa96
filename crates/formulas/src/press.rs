//! Forces, lots and die changes of the press shop.

use units::{
    Count, Days, Hours, Kilonewtons, Megapascals, Millimetres, Minutes, Money, PerHour, Share,
};

use crate::declare::sheet;
use crate::quantity::{MoneyPerDay, PerDay, PerMinute};
use crate::range::{NOT_NEGATIVE, POSITIVE, SOME_SHARE};

sheet! {
    shop "Press shop";

    /// The force to cut a contour. Stripping adds 5 to 20 % (common practice).
    fn cutting_force "Cutting force" (
        contour: Millimetres, POSITIVE, "length of the cut";
        gauge: Millimetres, POSITIVE, "thickness of the sheet";
        shear_strength: Megapascals, POSITIVE, "shear strength of the metal";
    ) -> { force: Kilonewtons, "force at the die"; }
    is "force = shear_strength * gauge * contour";
    source "Groover, Fundamentals of Modern Manufacturing, sheet metalworking";
    caution "force alone does not choose a press: check energy, off-centre moment and force at \
             the height of work; presses are guarded by ISO 16092";
    { Kilonewtons(shear_strength.0 * gauge.0 * contour.0 * 1e-3) }

    /// Clearance and punch of a round blank: the die is as large as the part.
    fn blanking_tools "Punch and die of a round blank" (
        diameter: Millimetres, POSITIVE, "diameter of the blank";
        gauge: Millimetres, POSITIVE, "thickness of the sheet";
        allowance: Share, POSITIVE, "clearance on each side over thickness, by the metal";
    ) -> struct BlankingTools {
        clearance: Millimetres, "clearance on each side";
        die: Millimetres, "opening of the die";
        punch: Millimetres, "diameter of the punch";
    }
    is "clearance = allowance * gauge; die = diameter; punch = diameter - 2 * clearance";
    source "Groover, Fundamentals of Modern Manufacturing, sheet metalworking";
    needs "the clearances are less than the blank", 2.0 * allowance.0 * gauge.0 < diameter.0;
    {
        let clearance = gauge * allowance.0;
        BlankingTools { clearance, die: diameter, punch: diameter - clearance * 2.0 }
    }

    /// The force to draw a cup and to hold its blank.
    fn cup_drawing "Drawing a cup" (
        blank: Millimetres, POSITIVE, "diameter of the blank";
        punch: Millimetres, POSITIVE, "diameter of the punch";
        gauge: Millimetres, POSITIVE, "thickness of the sheet";
        tensile: Megapascals, POSITIVE, "tensile strength";
        yield_strength: Megapascals, POSITIVE, "yield strength";
        die_corner: Millimetres, NOT_NEGATIVE, "corner radius of the die";
    ) -> struct CupDrawing {
        draw_ratio: Share, "blank over punch";
        reduction: Share, "part of the blank's diameter taken away";
        relative_gauge: Share, "thickness over blank";
        force: Kilonewtons, "drawing force";
        hold: Kilonewtons, "blankholder force";
    }
    is "draw_ratio = blank / punch; reduction = (blank - punch) / blank; \
        relative_gauge = gauge / blank; \
        force = pi * punch * gauge * tensile * (blank / punch - 0.7); \
        hold = 0.015 * yield_strength * pi * (blank^2 - (punch + 2.2 * gauge + 2 * die_corner)^2)";
    source "Groover, Fundamentals of Modern Manufacturing, sheet metalworking";
    caution "a first estimate for round cups; panels need trials or forming analysis, presses \
             are guarded by ISO 16092";
    needs "a flange is left to hold: blank is larger than punch + 2.2 gauge + 2 die_corner",
        blank.0 > punch.0 + 2.2 * gauge.0 + 2.0 * die_corner.0;
    {
        use std::f64::consts::PI;
        let free = punch.0 + 2.2 * gauge.0 + 2.0 * die_corner.0;
        let force = PI * punch.0 * gauge.0 * tensile.0 * (blank / punch - 0.7);
        let hold = 0.015 * yield_strength.0 * PI * (blank.0 * blank.0 - free * free);
        CupDrawing {
            draw_ratio: Share(blank / punch),
            reduction: Share((blank - punch) / blank),
            relative_gauge: Share(gauge / blank),
            force: Kilonewtons(force * 1e-3),
            hold: Kilonewtons(hold * 1e-3),
        }
    }

    /// Good panels an hour and the hours a demand takes.
    fn press_rate "Rate of a press line" (
        strokes: PerMinute, POSITIVE, "strokes a minute";
        parts_per_stroke: Count, POSITIVE, "parts of one stroke";
        oee: Share, SOME_SHARE, "share of time at speed with good parts, changes counted out";
        demand: Count, NOT_NEGATIVE, "parts wanted in the period";
    ) -> struct PressRate {
        rate: PerHour, "good parts an hour";
        hours: Hours, "hours the demand takes in the period";
    }
    is "rate = 60 * strokes * parts_per_stroke * oee; hours = demand / rate";
    source "arithmetic";
    {
        let rate = 60.0 * strokes.0 * parts_per_stroke.0 * oee.0;
        PressRate { rate: PerHour(rate), hours: Hours(demand.0 / rate) }
    }

    /// The lot that costs least in setting up and holding while it is used as it is made.
    /// What a stay in stock costs the lead time is not in it; make that a limit beside it.
    fn economic_lot "Economic production lot" (
        demand: PerDay, POSITIVE, "pieces used a day";
        production: PerDay, POSITIVE, "pieces made a day while the part runs";
        setup: Money, POSITIVE, "cost of setting up once";
        holding: MoneyPerDay, POSITIVE, "cost of holding a piece for a day";
    ) -> struct EconomicLot {
        lot: Count, "pieces in a lot";
        interval: Days, "time from lot to lot";
        run: Days, "time the lot takes to make";
        max_stock: Count, "highest stock";
        cost: MoneyPerDay, "setting up and holding, a day";
    }
    is "lot = sqrt(2 * setup * demand / (holding * (1 - demand / production))); \
        interval = lot / demand; run = lot / production; \
        max_stock = lot * (1 - demand / production); cost = holding * max_stock";
    source "Nahmias, Production and Operations Analysis, economic production quantity";
    needs "more is made than used while the part runs", demand.0 < production.0;
    {
        let left = 1.0 - demand.0 / production.0;
        let lot = libm::sqrt(2.0 * setup.0 * demand.0 / (holding.0 * left));
        EconomicLot {
            lot: Count(lot),
            interval: Days(lot / demand.0),
            run: Days(lot / production.0),
            max_stock: Count(lot * left),
            cost: MoneyPerDay(holding.0 * lot * left),
        }
    }

    /// One rotation in which a line makes each of its parts once: the interval that costs
    /// least, but not shorter than its die changes allow. Check it against the lead time.
    fn rotation "Rotation of a line" (
        demand: Vec<PerDay>, POSITIVE, "pieces of each part used a working day";
        production: Vec<PerDay>, POSITIVE, "pieces of each part made a working day while it runs";
        setup: Vec<Money>, NOT_NEGATIVE, "cost of setting up each part";
        holding: Vec<MoneyPerDay>, POSITIVE, "cost of holding a piece of each part a working day";
        setup_time: Vec<Minutes>, NOT_NEGATIVE, "time to set up each part";
        day: Minutes, POSITIVE, "working time of a day";
    ) -> struct Rotation {
        load: Share, "share of time making parts";
        cheapest: Days, "interval of least cost, in working days";
        shortest: Days, "interval that the setup times allow, in working days";
        interval: Days, "the longer of both, in working days";
        lots: Vec<Count>, "pieces of each part in its lot";
    }
    is "load = sum(demand / production); \
        cheapest = sqrt(2 * sum(setup) / sum(holding * demand * (1 - demand / production))); \
        shortest = sum(setup_time) / day / (1 - load); interval = max(cheapest, shortest); \
        lots = demand * interval";
    source "Nahmias, Production and Operations Analysis; Elmaghraby, Management Science 24, 1978";
    needs "all lists are of one length",
        [production.len(), setup.len(), holding.len(), setup_time.len()]
            .iter()
            .all(|length| *length == demand.len());
    needs "the line has time left: sum(demand / production) is below 1",
        demand.iter().zip(&production).map(|(d, p)| d.0 / p.0).sum::<f64>() < 1.0;
    {
        let load: f64 = demand.iter().zip(&production).map(|(d, p)| d.0 / p.0).sum();
        let pairs = demand.iter().zip(&production).zip(&holding);
        let held: f64 = pairs.map(|((d, p), h)| h.0 * d.0 * (1.0 - d.0 / p.0)).sum();
        let cheapest = libm::sqrt(2.0 * setup.iter().copied().sum::<Money>().0 / held);
        let changes: Minutes = setup_time.iter().copied().sum();
        let shortest = changes / day / (1.0 - load);
        let interval = cheapest.max(shortest);
        Rotation {
            load: Share(load),
            cheapest: Days(cheapest),
            shortest: Days(shortest),
            interval: Days(interval),
            lots: demand.iter().map(|d| Count(d.0 * interval)).collect(),
        }
    }

    /// How often every part can be made, given the time that running leaves for die changes.
    fn every_part_interval "Every-part interval" (
        dies: Count, POSITIVE, "parts made on the lines";
        strokes_per_die: Count, POSITIVE, "strokes each part needs a day";
        strokes: PerMinute, POSITIVE, "strokes a minute";
        performance: Share, SOME_SHARE, "share of that speed really reached";
        lines: Count, POSITIVE, "lines";
        day: Hours, POSITIVE, "working time of a line a day";
        uptime: Share, SOME_SHARE, "share of working time a line can run or change";
        changeover: Minutes, POSITIVE, "time of a die change, first good part included";
    ) -> struct EveryPartInterval {
        run: Hours, "hours of running a day";
        left: Hours, "hours left for changes a day";
        changeovers: PerDay, "changes a day that fit";
        interval: Days, "working days until every part was made";
    }
    is "run = dies * strokes_per_die / (60 * strokes * performance); \
        left = lines * day * uptime - run; changeovers = left / changeover; \
        interval = dies / changeovers";
    source "common practice of levelled production; Rother and Shook, Learning to See, 1999";
    needs "running leaves time for changes",
        dies.0 * strokes_per_die.0 / (60.0 * strokes.0 * performance.0)
            < lines.0 * day.0 * uptime.0;
    {
        let run = dies.0 * strokes_per_die.0 / (60.0 * strokes.0 * performance.0);
        let left = lines.0 * day.0 * uptime.0 - run;
        let changeovers = left * 60.0 / changeover.0;
        EveryPartInterval {
            run: Hours(run),
            left: Hours(left),
            changeovers: PerDay(changeovers),
            interval: Days(dies.0 / changeovers),
        }
    }
}
