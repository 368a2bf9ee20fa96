//! Forces, lots and die changes of the press shop.

use units::{
    Count, Days, Hours, Kilonewtons, Megapascals, Millimetres, Minutes, Money, PerHour, Share,
};

use crate::declare::sheet;
use crate::quantity::{Kilojoules, MoneyPerDay, MoneyPerHour, PerDay, PerMinute};
use crate::range::{NOT_NEGATIVE, POSITIVE, Range, SHARE, SOME_SHARE};
use crate::rounding::whole_up;

/// Blank over punch: below 0.7 the drawing force has no sense.
const DRAW_RATIO: Range = Range::closed(0.7, 3.0);

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

    /// How much of a line's rated force a stroke takes. The rating holds near the bottom of
    /// the stroke only.
    fn force_used "Rated force used" (
        force: Kilonewtons, NOT_NEGATIVE, "force of the stroke";
        stripping: Share, SHARE, "part more to strip the sheet off the punch";
        rated: Kilonewtons, POSITIVE, "rated force of the line";
    ) -> struct ForceUsed {
        used: Share, "force over rating; above 1 the line is too weak";
        needed: Kilonewtons, "force with stripping";
    }
    is "needed = force * (1 + stripping); used = needed / rated";
    source "common practice: stripping adds 5 to 20 %";
    caution "a screen of the line, not a die design: energy, off-centre moment and force at the \
             height of work decide too; local machine-safety codes and a licensed engineer \
             decide; presses are guarded by ISO 16092";
    {
        let needed = force * (1.0 + stripping.0);
        ForceUsed { used: Share(needed / rated), needed }
    }

    /// The work of cutting a contour: the force falls off once the metal has torn.
    fn cutting_energy "Energy of a cut" (
        force: Kilonewtons, NOT_NEGATIVE, "cutting force";
        gauge: Millimetres, POSITIVE, "thickness of the sheet";
        penetration: Share, SOME_SHARE, "part of the thickness the punch goes in before it tears";
    ) -> { energy: Kilojoules, "work of one stroke"; }
    is "energy = force * gauge * penetration / 1000";
    source "common practice: force times the way over which it acts";
    caution "a screen, not a die design; presses are guarded by ISO 16092";
    { Kilojoules(force.0 * gauge.0 * penetration.0 * 1e-3) }

    /// The force to draw a panel whose punch is no circle: the cup's formula with the length
    /// of the draw line in place of the punch's circumference. A third more holds the blank.
    fn panel_drawing "Drawing a panel" (
        contour: Millimetres, POSITIVE, "length of the draw line around the punch";
        gauge: Millimetres, POSITIVE, "thickness of the sheet";
        tensile: Megapascals, POSITIVE, "tensile strength";
        draw_ratio: Share, DRAW_RATIO, "blank over punch, as diameters";
    ) -> struct PanelDrawing {
        total: Kilonewtons, "drawing and blankholder force together";
        force: Kilonewtons, "drawing force";
        hold: Kilonewtons, "blankholder force";
    }
    is "force = contour * gauge * tensile * (draw_ratio - 0.7); hold = force / 3; \
        total = force + hold";
    source "Groover, Fundamentals of Modern Manufacturing, sheet metalworking (cup formula; \
            holding force about a third of drawing force)";
    caution "a screen of the line, not a die design: panels need forming analysis and trials; \
             local machine-safety codes and a licensed engineer decide; presses are guarded by \
             ISO 16092";
    {
        let force = contour.0 * gauge.0 * tensile.0 * (draw_ratio.0 - 0.7) * 1e-3;
        PanelDrawing {
            total: Kilonewtons(force * 4.0 / 3.0),
            force: Kilonewtons(force),
            hold: Kilonewtons(force / 3.0),
        }
    }

    /// The work of drawing: the force times its way, as far as it is near its highest.
    fn drawing_energy "Energy of a draw" (
        force: Kilonewtons, NOT_NEGATIVE, "drawing and blankholder force";
        depth: Millimetres, POSITIVE, "depth of the draw";
        fullness: Share, SOME_SHARE, "mean force over highest force on the way";
    ) -> { energy: Kilojoules, "work of one stroke"; }
    is "energy = force * depth * fullness / 1000";
    source "common practice: force times the way over which it acts";
    caution "a screen, not a die design; presses are guarded by ISO 16092";
    { Kilojoules(force.0 * depth.0 * fullness.0 * 1e-3) }

    /// What a changeover takes and costs. The approval of the first part belongs to it.
    fn changeover "Changeover" (
        change: Minutes, NOT_NEGATIVE, "from the last good part to the first stroke";
        first_off: Minutes, NOT_NEGATIVE, "from the first stroke to the first part released";
        cost_per_hour: MoneyPerHour, NOT_NEGATIVE, "people, energy and trial parts an hour";
    ) -> struct Changeover {
        time: Minutes, "time that the line makes nothing good";
        cost: Money, "cost of one changeover";
    }
    is "time = change + first_off; cost = time / 60 * cost_per_hour";
    source "arithmetic";
    {
        let time = change + first_off;
        Changeover { time, cost: Money(time.0 / 60.0 * cost_per_hour.0) }
    }

    /// What keeping a piece costs a day: a year's part of its value.
    fn keeping_cost "Cost of keeping a piece" (
        value: Money, NOT_NEGATIVE, "value of the piece";
        yearly: Share, NOT_NEGATIVE, "yearly cost of stock as a part of its value";
    ) -> { holding: MoneyPerDay, "cost of keeping a piece for a day"; }
    is "holding = value * yearly / 365";
    source "arithmetic";
    { MoneyPerDay(value.0 * yearly.0 / 365.0) }

    /// How long lots of blanks and of panels may last, so that a car is finished in time: what
    /// the target leaves after the rest of the way and both safety stocks, shared out. Blanks
    /// that wait for the press lie there for as long as a lot of panels lasts.
    fn lot_cover_limits "Longest lots that the lead time allows" (
        target: Days, POSITIVE, "coil to finished car, at most";
        after: Days, NOT_NEGATIVE, "from the panel joined to the finished car, at most";
        blank_safety: Days, NOT_NEGATIVE, "time the safety stock of blanks lasts";
        panel_safety: Days, NOT_NEGATIVE, "time the safety stock of panels lasts";
        blank_part: Share, SHARE, "part of what is left for lots of blanks";
        waits: Count, NOT_NEGATIVE, "lots of panels that blanks lie ready for: 1 where a press draws them, else 0";
    ) -> struct LotCoverLimits {
        left: Days, "for both lots together; 0 or less when nothing is left";
        blanks: Days, "longest lot of blanks";
        panels: Days, "longest lot of panels";
    }
    is "left = target - after - blank_safety - panel_safety; blanks = blank_part * left; \
        panels = (left - blanks) / (1 + waits)";
    source "arithmetic: the last piece of a lot waits as long as the lot lasts, and a press draws \
        the blanks of a whole lot at once, so that they must lie ready when its lot begins";
    {
        let left = target - after - blank_safety - panel_safety;
        let blanks = left * blank_part.0;
        LotCoverLimits { left, blanks, panels: (left - blanks) * (1.0 / (1.0 + waits.0)) }
    }

    /// Racks for a part made in lots: its highest stock, what is on the way, a little over
    /// for racks in repair.
    fn racks "Racks" (
        highest_stock: Count, NOT_NEGATIVE, "most pieces that a lot adds";
        safety: Count, NOT_NEGATIVE, "pieces left when the next lot comes";
        per_rack: Count, POSITIVE, "pieces in a rack";
        on_the_way: Count, NOT_NEGATIVE, "racks between line and use";
        spare: Share, NOT_NEGATIVE, "part more for racks in repair";
    ) -> struct Racks {
        racks: Count, "racks to own, whole";
        filled: Count, "racks that the highest stock fills, whole";
    }
    is "filled = ceil((highest_stock + safety) / per_rack); \
        racks = ceil((filled + on_the_way) * (1 + spare))";
    source "common practice: 5 % more than the highest stock and the racks on the way";
    {
        let filled = whole_up((highest_stock.0 + safety.0) / per_rack.0);
        Racks {
            racks: Count(whole_up((filled + on_the_way.0) * (1.0 + spare.0))),
            filled: Count(filled),
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
