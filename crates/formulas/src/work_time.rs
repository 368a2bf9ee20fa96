//! Standard time, predetermined times, robots that change tools, beads.

use units::{Count, Metres, Millimetres, Minutes, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{
    Grams, KilogramsPerCubicMetre, MetresPerSecond, Millilitres, MillilitresPerSecond,
    SquareMillimetres,
};
use crate::range::{NOT_NEGATIVE, PART, POSITIVE, SOME_SHARE};

sheet! {
    shop "Work and assembly";

    /// Standard time with the allowance counted on normal time.
    fn standard_time_on_normal "Standard time, allowance on normal time" (
        observed: Seconds, POSITIVE, "time observed";
        rating: Share, POSITIVE, "pace of the person observed, 1 is normal";
        allowance: Share, NOT_NEGATIVE, "personal, fatigue and delay allowance";
    ) -> struct StandardTimeOnNormal {
        normal: Seconds, "normal time";
        standard: Seconds, "standard time";
    }
    is "normal = observed * rating; standard = normal * (1 + allowance)";
    source "International Labour Office, Introduction to Work Study, 4th edition, 1992";
    {
        let normal = observed * rating.0;
        StandardTimeOnNormal { normal, standard: normal * (1.0 + allowance.0) }
    }

    /// Standard time with the allowance counted on the working day. The same percentage
    /// gives more than on normal time; say which one is meant.
    fn standard_time_on_day "Standard time, allowance on the day" (
        observed: Seconds, POSITIVE, "time observed";
        rating: Share, POSITIVE, "pace of the person observed, 1 is normal";
        allowance: Share, PART, "share of the day for personal needs, fatigue and delay";
    ) -> struct StandardTimeOnDay {
        normal: Seconds, "normal time";
        standard: Seconds, "standard time";
    }
    is "normal = observed * rating; standard = normal / (1 - allowance)";
    source "International Labour Office, Introduction to Work Study, 4th edition, 1992";
    {
        let normal = observed * rating.0;
        StandardTimeOnDay { normal, standard: normal / (1.0 - allowance.0) }
    }

    /// The time measurement unit of predetermined motion times, 1/100,000 of an hour.
    fn tmu "Time measurement units" (
        units: Count, NOT_NEGATIVE, "time measurement units";
    ) -> { time: Seconds, "the same time"; }
    is "time = 0.036 * units";
    source "Maynard, Stegemerten and Schwab, Methods-Time Measurement, 1948";
    { Seconds(0.036 * units.0) }

    /// A robot that does several tasks and changes its tool between them.
    fn robot_cycle "Robot with tool changes" (
        tasks: Vec<Seconds>, NOT_NEGATIVE, "time of each task";
        tool_changes: Count, NOT_NEGATIVE, "tool changes in a cycle";
        tool_change: Seconds, NOT_NEGATIVE, "time of a change";
        cycle: Seconds, POSITIVE, "cycle of the line";
        limit: Share, SOME_SHARE, "share of the cycle a robot may be planned to";
    ) -> struct RobotCycle {
        total: Seconds, "time the robot needs";
        utilisation: Share, "share of the cycle it needs";
        spare: Seconds, "time left below the limit; below 0 it does not fit";
    }
    is "total = sum(tasks) + tool_changes * tool_change; utilisation = total / cycle; \
        spare = limit * cycle - total";
    source "arithmetic";
    caution "speeds near people are set by ISO 10218 and the measured risk, not by the cycle";
    {
        let total = tasks.iter().copied().sum::<Seconds>() + tool_change * tool_changes.0;
        RobotCycle {
            total,
            utilisation: Share(total / cycle),
            spare: cycle * limit.0 - total,
        }
    }

    /// A triangular bead of glass adhesive.
    fn glass_bead "Glass bead" (
        base: Millimetres, POSITIVE, "width of the bead";
        height: Millimetres, POSITIVE, "height of the bead";
        perimeter: Metres, POSITIVE, "length of the bead";
        speed: MetresPerSecond, POSITIVE, "speed of the nozzle";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the adhesive";
    ) -> struct GlassBead {
        area: SquareMillimetres, "section of the bead";
        volume: Millilitres, "adhesive a glass";
        mass: Grams, "the same as mass";
        time: Seconds, "time to lay it";
        flow: MillilitresPerSecond, "flow at the nozzle";
    }
    is "area = base * height / 2; volume = area * perimeter; mass = volume * density; \
        time = perimeter / speed; flow = area * speed";
    source "geometry";
    {
        // 1 mm2 times 1 m is 1 ml; 1 kg/m3 is 1 g/l.
        let area = base.0 * height.0 / 2.0;
        let volume = area * perimeter.0;
        GlassBead {
            area: SquareMillimetres(area),
            volume: Millilitres(volume),
            mass: Grams(volume * density.0 / 1000.0),
            time: Seconds(perimeter.0 / speed.0),
            flow: MillilitresPerSecond(area * speed.0),
        }
    }

    /// How long the line may stop between bead and glass before the bead is scrap. Without a
    /// rule to wipe and start again a long stop makes leaks.
    fn open_time_margin "Open-time margin" (
        path: Vec<Seconds>, NOT_NEGATIVE, "times from the start of the bead to the set glass";
        open_time: Minutes, POSITIVE, "open time by the adhesive's data sheet";
    ) -> struct OpenTimeMargin {
        normal: Seconds, "time from bead to set glass";
        margin: Seconds, "longest stop that still sets in time; below 0 none";
    }
    is "normal = sum(path); margin = open_time - normal";
    source "arithmetic";
    {
        let normal: Seconds = path.iter().copied().sum();
        OpenTimeMargin { normal, margin: open_time.seconds() - normal }
    }
}
