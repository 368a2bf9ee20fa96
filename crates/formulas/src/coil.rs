//! Coils, blanks cut from them, laser blanking.

use units::{Count, Days, Kilograms, Metres, Millimetres, Minutes, Money, PerHour, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{
    KilogramsPerCubicMetre, KilogramsPerMetre, MetresPerMinute, MoneyPerHour, MoneyPerKilogram,
    PerDay, PerMinute, SquareMillimetres,
};
use crate::range::{NOT_NEGATIVE, POSITIVE, Range, SHARE, SOME_SHARE};
use crate::rounding::{whole_down, whole_up};

/// Section of the wound ring in square metres.
fn ring(outer: Millimetres, inner: Millimetres) -> f64 {
    std::f64::consts::FRAC_PI_4 * (outer.0 * outer.0 - inner.0 * inner.0) * 1e-6
}

/// Strip length in metres of a coil by its mass.
fn length_by_mass(
    mass: Kilograms,
    width: Millimetres,
    gauge: Millimetres,
    density: KilogramsPerCubicMetre,
) -> f64 {
    mass.0 / (width.0 * 1e-3 * gauge.0 * 1e-3 * density.0)
}

/// Service from an even chance on; certainty has no finite stock.
const SERVICE: Range = Range::closed(0.5, 0.9999);

/// The standard normal's quantile for a probability from 0.5 below 1, by
/// halving: the error function is monotone and exact to the last digits.
fn normal_quantile(probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if 1.0 - 0.5 * libm::erfc(middle / std::f64::consts::SQRT_2) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

sheet! {
    shop "Coils and blanks";

    /// Mass and length of a coil by its diameters. A real coil has 0.97 to 0.99 of it (common
    /// practice), for air between the wraps: weigh it.
    fn coil "Coil by its diameters" (
        outer: Millimetres, POSITIVE, "outer diameter";
        inner: Millimetres, POSITIVE, "inner diameter";
        width: Millimetres, POSITIVE, "width of the strip";
        gauge: Millimetres, POSITIVE, "thickness of the strip";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
    ) -> struct Coil {
        mass: Kilograms, "mass of the coil";
        length: Metres, "length of the strip";
        wraps: Count, "turns of the strip";
    }
    is "mass = pi / 4 * (outer^2 - inner^2) * width * density; \
        length = pi / 4 * (outer^2 - inner^2) / gauge; wraps = (outer - inner) / (2 * gauge)";
    source "geometry";
    caution "coils roll and their bands whip when cut; chocks, band cutting and crane paths by \
             the site's rules";
    needs "`outer` is larger than `inner`", outer.0 > inner.0;
    {
        let ring = ring(outer, inner);
        Coil {
            mass: Kilograms(ring * width.0 * 1e-3 * density.0),
            length: Metres(ring / (gauge.0 * 1e-3)),
            wraps: Count((outer - inner) / (gauge * 2.0)),
        }
    }

    /// Diameter and length of a coil by its mass.
    fn coil_from_mass "Coil by its mass" (
        mass: Kilograms, POSITIVE, "mass of the coil";
        inner: Millimetres, POSITIVE, "inner diameter";
        width: Millimetres, POSITIVE, "width of the strip";
        gauge: Millimetres, POSITIVE, "thickness of the strip";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
    ) -> struct CoilFromMass {
        outer: Millimetres, "outer diameter";
        length: Metres, "length of the strip";
    }
    is "outer = sqrt(inner^2 + 4 * mass / (pi * width * density)); \
        length = mass / (width * gauge * density)";
    source "geometry";
    {
        let ring_mm2 = 4.0 * mass.0 / (std::f64::consts::PI * width.0 * 1e-3 * density.0) * 1e6;
        CoilFromMass {
            outer: Millimetres(libm::sqrt(inner.0 * inner.0 + ring_mm2)),
            length: Metres(length_by_mass(mass, width, gauge, density)),
        }
    }

    /// What a coil of these diameters weighs for each metre of its width.
    fn coil_mass_per_width "Coil mass by width" (
        outer: Millimetres, POSITIVE, "outer diameter";
        inner: Millimetres, POSITIVE, "inner diameter";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
    ) -> { mass_per_width: KilogramsPerMetre, "mass a metre of width"; }
    is "mass_per_width = pi / 4 * (outer^2 - inner^2) * density";
    source "geometry";
    needs "`outer` is larger than `inner`", outer.0 > inner.0;
    { KilogramsPerMetre(ring(outer, inner) * density.0) }

    /// Blanks that a coil yields between its head and tail.
    fn blanks_per_coil "Blanks of a coil" (
        mass: Kilograms, POSITIVE, "mass of the coil";
        width: Millimetres, POSITIVE, "width of the strip";
        gauge: Millimetres, POSITIVE, "thickness of the strip";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
        pitch: Millimetres, POSITIVE, "feed from stroke to stroke";
        head_scrap: Metres, NOT_NEGATIVE, "strip lost at the head";
        tail_scrap: Metres, NOT_NEGATIVE, "strip lost at the tail";
        blanks_per_pitch: Count, POSITIVE, "blanks of one stroke";
        good_share: Share, SOME_SHARE, "share of blanks that is good";
    ) -> struct BlanksPerCoil {
        strokes: Count, "whole strokes";
        blanks: Count, "blanks";
        good_blanks: Count, "good blanks, whole";
    }
    is "strokes = floor((mass / (width * gauge * density) - head_scrap - tail_scrap) / pitch); \
        blanks = strokes * blanks_per_pitch; good_blanks = floor(blanks * good_share)";
    source "geometry";
    {
        let length = length_by_mass(mass, width, gauge, density);
        let usable = (length - head_scrap.0 - tail_scrap.0).max(0.0);
        let strokes = whole_down(usable / (pitch.0 * 1e-3));
        let blanks = strokes * blanks_per_pitch.0;
        BlanksPerCoil {
            strokes: Count(strokes),
            blanks: Count(blanks),
            good_blanks: Count(whole_down(blanks * good_share.0)),
        }
    }

    /// The length that a coil bought by mass loses when it comes thicker than ordered.
    fn coil_gauge_loss "Loss by gauge" (
        mass: Kilograms, POSITIVE, "mass of the coil";
        width: Millimetres, POSITIVE, "width of the strip";
        nominal: Millimetres, POSITIVE, "thickness ordered";
        actual: Millimetres, POSITIVE, "thickness delivered";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
    ) -> struct CoilGaugeLoss {
        length_nominal: Metres, "length at the thickness ordered";
        length_actual: Metres, "length delivered";
        loss: Share, "share of the length, and of the blanks, lost";
    }
    is "length_nominal = mass / (width * nominal * density); \
        length_actual = mass / (width * actual * density); loss = 1 - nominal / actual";
    source "geometry";
    {
        CoilGaugeLoss {
            length_nominal: Metres(length_by_mass(mass, width, nominal, density)),
            length_actual: Metres(length_by_mass(mass, width, actual, density)),
            loss: Share(1.0 - nominal / actual),
        }
    }

    /// The metal cost of a blank with what its scrap brings. The credit holds only while
    /// alloys stay apart.
    fn blank_cost "Metal cost of a blank" (
        pitch: Millimetres, POSITIVE, "feed from stroke to stroke";
        strip_width: Millimetres, POSITIVE, "width of the strip";
        blanks_per_pitch: Count, POSITIVE, "blanks of one stroke";
        area: SquareMillimetres, POSITIVE, "area of a blank";
        gauge: Millimetres, POSITIVE, "thickness of the strip";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the metal";
        price: MoneyPerKilogram, NOT_NEGATIVE, "price of the metal";
        scrap_price: MoneyPerKilogram, NOT_NEGATIVE, "what its scrap brings";
    ) -> struct BlankCost {
        gross: Kilograms, "metal used for a blank";
        net: Kilograms, "metal in it";
        utilisation: Share, "net over gross";
        cost: Money, "metal cost of a blank";
    }
    is "gross = pitch * strip_width * gauge * density / blanks_per_pitch; \
        net = area * gauge * density; utilisation = net / gross; \
        cost = gross * price - (gross - net) * scrap_price";
    source "arithmetic";
    needs "the blanks fit in the strip, area * blanks_per_pitch is at most pitch * strip_width",
        area.0 * blanks_per_pitch.0 <= pitch.0 * strip_width.0 * (1.0 + 1e-9);
    {
        let by_area = gauge.0 * density.0 * 1e-9;
        let gross = pitch.0 * strip_width.0 / blanks_per_pitch.0 * by_area;
        let net = area.0 * by_area;
        BlankCost {
            gross: Kilograms(gross),
            net: Kilograms(net),
            utilisation: Share(net / gross),
            cost: Money(gross * price.0 - (gross - net) * scrap_price.0),
        }
    }

    /// The metal cost of a good blank with its share of head, tail and scrapped blanks. The
    /// credit holds only while alloys stay apart.
    fn blank_from_coil "Metal cost of a blank, whole coils bought" (
        mass: Kilograms, POSITIVE, "mass of the coil";
        good_blanks: Count, POSITIVE, "good blanks of it";
        net: Kilograms, POSITIVE, "metal in a blank";
        price: MoneyPerKilogram, NOT_NEGATIVE, "price of the metal";
        scrap_price: MoneyPerKilogram, NOT_NEGATIVE, "what its scrap brings";
    ) -> struct BlankFromCoil {
        cost: Money, "metal cost of a good blank, scrap credited";
        gross_cost: Money, "the same before the scrap's credit";
        gross: Kilograms, "metal bought for a good blank";
        utilisation: Share, "metal in good blanks over metal bought";
    }
    is "gross = mass / good_blanks; gross_cost = gross * price; utilisation = net / gross; \
        cost = gross_cost - (gross - net) * scrap_price";
    source "arithmetic";
    needs "the good blanks weigh no more than the coil", net.0 * good_blanks.0 <= mass.0 * 1.000001;
    {
        let gross = mass / good_blanks.0;
        BlankFromCoil {
            cost: Money(gross.0 * price.0 - (gross - net).0 * scrap_price.0),
            gross_cost: Money(gross.0 * price.0),
            gross,
            utilisation: Share(net / gross),
        }
    }

    /// Coils that a number of good blanks uses up.
    fn coils_used "Coils used" (
        blanks: Count, NOT_NEGATIVE, "good blanks wanted";
        good_blanks: Count, POSITIVE, "good blanks of a coil";
    ) -> { coils: Count, "coils, parts of a coil counted"; }
    is "coils = blanks / good_blanks";
    source "arithmetic";
    { Count(blanks.0 / good_blanks.0) }

    /// What holding one more coil specification costs a year: about one coil more in the mean
    /// stock (half of the one in use, half for rounding orders and safety up to whole coils),
    /// and putting it on its line.
    fn specification_cost "Yearly cost of a coil specification" (
        mass: Kilograms, POSITIVE, "mass of a coil";
        price: MoneyPerKilogram, NOT_NEGATIVE, "price of the metal";
        stock_share: Share, SHARE, "yearly cost of stock as a part of its value";
        mountings: Count, NOT_NEGATIVE, "times a year that it is put on its line";
        change: Minutes, NOT_NEGATIVE, "time of a coil change";
        cost_per_hour: MoneyPerHour, NOT_NEGATIVE, "what an hour of the line costs";
    ) -> struct SpecificationCost {
        cost: Money, "yearly cost";
        stock: Money, "of it for stock";
        changes: Money, "of it for changing coils";
    }
    is "stock = stock_share * mass * price; changes = mountings * change * cost_per_hour; \
        cost = stock + changes";
    source "arithmetic; one coil more in stock for each specification is common practice";
    {
        let stock = stock_share.0 * mass.0 * price.0;
        let changes = mountings.0 * change.0 / 60.0 * cost_per_hour.0;
        SpecificationCost {
            cost: Money(stock + changes),
            stock: Money(stock),
            changes: Money(changes),
        }
    }

    /// The stock, with what is on order, at which the next order must go out so that it comes
    /// in time with the chance wanted. Uses of different days and the lead time vary without
    /// regard to each other.
    fn reorder_point "Reorder point" (
        daily_use: PerDay, NOT_NEGATIVE, "pieces used a day, mean";
        use_spread: PerDay, NOT_NEGATIVE, "standard deviation of a day's use";
        lead_time: Days, NOT_NEGATIVE, "from order to delivery, mean, in the same days";
        lead_spread: Days, NOT_NEGATIVE, "standard deviation of the lead time";
        service: Share, SERVICE, "chance that the order comes in time";
    ) -> struct ReorderPoint {
        reorder_point: Count, "stock with what is on order at which to order";
        safety: Count, "of it for spread";
        z: Count, "standard deviations kept";
        spread: Count, "standard deviation of the use within the lead time";
    }
    is "spread = sqrt(lead_time * use_spread^2 + daily_use^2 * lead_spread^2); \
        z = normal quantile of service; safety = z * spread; \
        reorder_point = daily_use * lead_time + safety";
    source "Taylor, Introduction to Management Science, chapter on inventory, reorder point with \
            variable demand; the lead time's spread added by the law of total variance";
    {
        let variance = lead_time.0 * use_spread.0 * use_spread.0
            + daily_use.0 * daily_use.0 * lead_spread.0 * lead_spread.0;
        let spread = variance.sqrt();
        let z = normal_quantile(service.0);
        ReorderPoint {
            reorder_point: Count(daily_use.0 * lead_time.0 + z * spread),
            safety: Count(z * spread),
            z: Count(z),
            spread: Count(spread),
        }
    }

    /// Blanks an hour of a die line.
    fn blanking_rate "Rate of a blanking die" (
        strokes: PerMinute, POSITIVE, "strokes a minute";
        blanks_per_stroke: Count, POSITIVE, "blanks of one stroke";
        oee: Share, SOME_SHARE, "share of time at speed with good blanks, changes counted out";
    ) -> { rate: PerHour, "good blanks an hour"; }
    is "rate = 60 * strokes * blanks_per_stroke * oee";
    source "arithmetic";
    { PerHour(60.0 * strokes.0 * blanks_per_stroke.0 * oee.0) }

    /// A blank cut by laser from the moving strip. The mean speed is well below the fastest
    /// the laser cuts, for the corners.
    fn laser_blanking "Laser blanking" (
        outline: Metres, POSITIVE, "length of the outline";
        holes: Count, NOT_NEGATIVE, "holes in a blank";
        hole_perimeter: Metres, NOT_NEGATIVE, "length of a hole's edge";
        mean_speed: MetresPerMinute, POSITIVE, "mean cutting speed, corners included";
        pierce: Seconds, NOT_NEGATIVE, "time to pierce";
        jump: Seconds, NOT_NEGATIVE, "time from one cut to the next";
        index: Seconds, NOT_NEGATIVE, "time to feed the strip, not shared by heads";
        heads: Count, POSITIVE, "heads that share the cuts";
        demand: Count, NOT_NEGATIVE, "blanks wanted in the period";
        net_time: Minutes, POSITIVE, "working time in the period";
        oee: Share, SOME_SHARE, "share of time at speed with good blanks";
    ) -> struct LaserBlanking {
        cut: Seconds, "time cutting";
        one_head: Seconds, "time of a blank by one head, without the feed";
        cycle: Seconds, "time of a blank with all heads";
        rate: PerHour, "good blanks an hour";
        lines: Count, "lines, whole";
    }
    is "cut = (outline + holes * hole_perimeter) / mean_speed; \
        one_head = cut + (holes + 1) * (pierce + jump); cycle = one_head / heads + index; \
        rate = 3600 * oee / cycle; lines = ceil(demand * cycle / (net_time * oee))";
    source "arithmetic";
    caution "an open beam blinds and aluminium dust explodes: enclosed class-1 cell with \
             interlocks, rated extraction, local codes";
    {
        let edge = outline.0 + holes.0 * hole_perimeter.0;
        let cut = Minutes(edge / mean_speed.0).seconds();
        let one_head = cut + (pierce + jump) * (holes.0 + 1.0);
        let cycle = one_head / heads.0 + index;
        LaserBlanking {
            cut,
            one_head,
            cycle,
            rate: cycle.rate() * oee.0,
            lines: Count(whole_up(cycle * demand.0 / net_time.seconds() / oee.0)),
        }
    }
}
