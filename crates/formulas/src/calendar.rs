//! Working time, takt, the size of a line, heads.

use units::{Count, Hours, Metres, Minutes, PerHour, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::MetresPerMinute;
use crate::range::{NOT_NEGATIVE, PART, POSITIVE, SOME_SHARE};
use crate::rounding::whole_up;

sheet! {
    shop "Calendar, takt and heads";

    /// The time a shop really works in a day or a week: its shifts less breaks and planned
    /// stops. Each shop has its own.
    fn net_time "Net time" (
        shifts: Count, POSITIVE, "shifts in the period";
        shift_length: Minutes, POSITIVE, "length of a shift, start to end";
        planned_stops: Minutes, NOT_NEGATIVE, "breaks and planned stops in a shift";
    ) -> {
        net_time: Minutes, "working time in the period";
    }
    is "net_time = shifts * (shift_length - planned_stops)";
    source "arithmetic of the shift calendar";
    needs "planned stops are shorter than the shift", planned_stops.0 < shift_length.0;
    { (shift_length - planned_stops) * shifts.0 }

    /// The rhythm demand asks for. Keep its fractions of a second: rounded to whole seconds
    /// and multiplied up, it loses cars.
    fn takt "Takt" (
        net_time: Minutes, POSITIVE, "working time in the period";
        demand: Count, POSITIVE, "good cars wanted in the same period";
    ) -> {
        takt: Seconds, "time from one good car to the next";
    }
    is "takt = net_time / demand";
    source "common definition of lean production; Rother and Shook, Learning to See, 1999";
    { net_time.seconds() / demand.0 }

    /// The cycle a line must be built for so that it meets takt in spite of its stops. Apply
    /// the efficiency here or in the rate, never in both.
    fn design_cycle "Design cycle" (
        takt: Seconds, POSITIVE, "time from one good car to the next";
        efficiency: Share, SOME_SHARE, "share of net time the line really makes cars";
    ) -> {
        design_cycle: Seconds, "cycle to build the line for";
    }
    is "design_cycle = takt * efficiency";
    source "common practice";
    { takt * efficiency.0 }

    /// Cars an hour while the line runs.
    fn gross_rate "Gross rate" (
        design_cycle: Seconds, POSITIVE, "cycle the line runs at";
    ) -> {
        gross_rate: PerHour, "cars an hour while running";
    }
    is "gross_rate = 3600 / design_cycle";
    source "arithmetic";
    { design_cycle.rate() }

    /// Good cars an hour over net time, stops included.
    fn net_rate "Net rate" (
        takt: Seconds, POSITIVE, "time from one good car to the next";
    ) -> {
        net_rate: PerHour, "good cars an hour of net time";
    }
    is "net_rate = 3600 / takt";
    source "arithmetic";
    { takt.rate() }

    /// Working hours in a year.
    fn annual_hours "Hours a year" (
        weeks: Count, POSITIVE, "working weeks a year";
        shifts_per_week: Count, POSITIVE, "shifts a week";
        hours_per_shift: Hours, POSITIVE, "working hours of a shift";
    ) -> {
        hours: Hours, "working hours a year";
    }
    is "hours = weeks * shifts_per_week * hours_per_shift";
    source "arithmetic";
    { hours_per_shift * (weeks.0 * shifts_per_week.0) }

    /// A manual line sized from a year's volume: its rate, cycle, the time left for work in
    /// a cycle, and the workers and stations that the work content asks for.
    fn line_from_volume "Line from annual volume" (
        annual: Count, POSITIVE, "good cars a year";
        hours: Hours, POSITIVE, "working hours a year";
        work_content: Minutes, POSITIVE, "hand work in a car";
        uptime: Share, SOME_SHARE, "share of working time the line runs";
        reposition: Minutes, NOT_NEGATIVE, "time in each cycle lost to moving";
        balance_efficiency: Share, SOME_SHARE, "share of the workers' time that balancing fills";
        manning: Count, POSITIVE, "workers at a station, mean";
    ) -> struct LineFromVolume {
        rate: PerHour, "cars an hour of working time";
        cycle: Minutes, "cycle while the line runs";
        service_time: Minutes, "time for work in a cycle";
        workers: Count, "workers, whole";
        stations: Count, "stations, whole";
    }
    is "rate = annual / hours; cycle = uptime / rate; service_time = cycle - reposition; \
        workers = ceil(work_content / (balance_efficiency * service_time)); \
        stations = ceil(workers / manning)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            manual assembly lines";
    needs "moving takes less than the cycle, 60 * uptime * hours / annual min",
        reposition.0 < 60.0 * uptime.0 * hours.0 / annual.0;
    {
        let rate = PerHour(annual.0 / hours.0);
        let cycle = Minutes(60.0 * uptime.0 / rate.0);
        let service_time = cycle - reposition;
        let workers = whole_up(work_content / service_time / balance_efficiency.0);
        let stations = whole_up(workers / manning.0);
        LineFromVolume {
            rate,
            cycle,
            service_time,
            workers: Count(workers),
            stations: Count(stations),
        }
    }

    /// The fewest workers any balance could need; a real one needs as many or more.
    fn minimum_workers "Fewest workers" (
        work_content: Minutes, POSITIVE, "hand work in a car";
        cycle: Minutes, POSITIVE, "cycle of the line";
    ) -> {
        workers: Count, "lower bound on workers, whole";
    }
    is "workers = ceil(work_content / cycle)";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            manual assembly lines";
    { Count(whole_up(work_content / cycle)) }

    /// The floor a line takes.
    fn line_length "Line length" (
        stations: Count, POSITIVE, "stations in the line";
        station_length: Metres, POSITIVE, "length of a station";
    ) -> {
        line_length: Metres, "length of the line";
    }
    is "line_length = stations * station_length";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            manual assembly lines";
    { station_length * stations.0 }

    /// How long a car is on a line that moves without stopping.
    fn time_on_line "Time on the line" (
        line_length: Metres, POSITIVE, "length of the line";
        conveyor_speed: MetresPerMinute, POSITIVE, "speed of the line";
    ) -> {
        time_on_line: Minutes, "time from the first station to the end of the last";
    }
    is "time_on_line = line_length / conveyor_speed";
    source "Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, \
            manual assembly lines";
    { Minutes(line_length.0 / conveyor_speed.0) }

    /// People to employ so that every position is filled on every shift, in spite of relief,
    /// absence and leave.
    fn heads "Heads on payroll" (
        positions: Count, POSITIVE, "positions to fill on a shift";
        shifts: Count, POSITIVE, "shifts of people";
        relief: Share, NOT_NEGATIVE, "relief people per position";
        absence: Share, PART, "share of time absent, sick or training";
        leave: Share, PART, "share of time on leave";
    ) -> struct Heads {
        exact: Count, "heads before rounding up";
        heads: Count, "heads, whole";
    }
    is "exact = positions * shifts * (1 + relief) / ((1 - absence) * (1 - leave)); \
        heads = ceil(exact)";
    source "common practice";
    {
        let filled = positions.0 * shifts.0 * (1.0 + relief.0);
        let exact = filled / ((1.0 - absence.0) * (1.0 - leave.0));
        Heads {
            exact: Count(exact),
            heads: Count(whole_up(exact)),
        }
    }
}
