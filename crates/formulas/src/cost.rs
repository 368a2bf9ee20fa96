//! What a car costs, what a lost one costs, and how a ramp rises.

use units::{Count, Days, Hours, Kilograms, Kilowatts, Money, PerWeek, Share};

use crate::declare::sheet;
use crate::money::recovery;
use crate::quantity::{Litres, Micrometres, MoneyPerHour, MoneyPerKilogram, SquareMetres};
use crate::range::{ANY, INTEREST, NOT_NEGATIVE, PART, POSITIVE, SHARE, SOME_SHARE};

fn paired<A, B>(first: &[A], second: &[B]) -> bool {
    first.len() == second.len()
}

sheet! {
    shop "Cost of a car";

    /// What the sheet in a good pressed part costs: the metal bought for it, less what is
    /// paid for all of it that does not leave with the part.
    fn metal_of_part "Metal of a part" (
        begun: Count, POSITIVE, "blanks cut for a good part, scrap made up";
        bought: Kilograms, NOT_NEGATIVE, "metal bought for a blank, skeleton and coil ends counted";
        price: MoneyPerKilogram, NOT_NEGATIVE, "price of the metal";
        kept: Kilograms, NOT_NEGATIVE, "metal in the good part";
        scrap_price: MoneyPerKilogram, NOT_NEGATIVE, "what scrap of it brings";
    ) -> struct MetalOfPart {
        cost: Money, "metal of a good part, scrap credited";
        gross: Money, "the metal bought for it";
        credit: Money, "what its scrap brings";
    }
    is "gross = begun * bought * price; credit = (begun * bought - kept) * scrap_price; \
        cost = gross - credit";
    source "cost accounting, by-product credited at its price";
    needs "`kept` is no more than is bought", kept.0 <= begun.0 * bought.0 * (1.0 + 1e-9);
    {
        let all = begun.0 * bought.0;
        let gross = Money(all * price.0);
        let credit = Money((all - kept.0).max(0.0) * scrap_price.0);
        MetalOfPart { cost: gross - credit, gross, credit }
    }

    /// Pieces at their prices.
    fn pieces_cost "Cost of pieces" (
        pieces: Vec<Count>, NOT_NEGATIVE, "pieces of each kind";
        prices: Vec<Money>, ANY, "price of each kind";
    ) -> { cost: Money, "cost of all"; }
    is "cost = sum(pieces[i] * prices[i])";
    source "arithmetic";
    needs "`pieces` and `prices` are of the same kinds", paired(&pieces, &prices);
    { Money(pieces.iter().zip(&prices).map(|(n, price)| n.0 * price.0).sum()) }

    /// Amounts of money together.
    fn money_sum "Sum of money" (
        parts: Vec<Money>, ANY, "the amounts";
    ) -> { sum: Money, "all of them"; }
    is "sum = sum(parts[i])";
    source "arithmetic";
    { parts.iter().copied().sum() }

    /// Paint bought for the film on a car: what misses the car is bought too.
    fn paint_volume "Paint of a car" (
        area: SquareMetres, NOT_NEGATIVE, "surface coated";
        film: Micrometres, NOT_NEGATIVE, "dry film";
        solids: Share, SOME_SHARE, "part of the paint's volume that stays as film";
        transfer: Share, SOME_SHARE, "part of the solids that reach the car";
    ) -> { volume: Litres, "paint for one coat of a car"; }
    is "volume = area * film / (1000 * solids * transfer)";
    source "balance of volume; Joseph, paint coverage column, 2003";
    { Litres(area.0 * film.0 / (1_000.0 * solids.0 * transfer.0)) }

    /// What people on the payroll cost a year. Take whole heads: half a person saved is
    /// nobody saved.
    fn people_a_year "People of a year" (
        heads: Count, NOT_NEGATIVE, "people on the payroll";
        hours: Hours, NOT_NEGATIVE, "working hours of the shop a week";
        crews: Count, POSITIVE, "crews that share them";
        weeks: Count, NOT_NEGATIVE, "weeks worked a year";
        price: MoneyPerHour, NOT_NEGATIVE, "what an hour of a person costs";
    ) -> { cost: Money, "cost a year"; }
    is "cost = heads * hours / crews * weeks * price";
    source "cost accounting";
    { Money(heads.0 * hours.0 / crews.0 * weeks.0 * price.0) }

    /// Electricity of machines that draw their power while they work.
    fn energy_a_year "Energy of a year" (
        powers: Vec<Kilowatts>, NOT_NEGATIVE, "mean power of each at work, units counted";
        loads: Vec<Share>, SHARE, "part of the working time in which each works";
        hours: Hours, NOT_NEGATIVE, "working hours of the shop a week";
        weeks: Count, NOT_NEGATIVE, "weeks worked a year";
        price: Money, NOT_NEGATIVE, "price of a kilowatt-hour";
    ) -> { cost: Money, "cost a year"; }
    is "cost = sum(powers[i] * loads[i]) * hours * weeks * price";
    source "arithmetic";
    needs "`powers` and `loads` are of the same machines", paired(&powers, &loads);
    {
        let power: f64 = powers.iter().zip(&loads).map(|(kw, load)| kw.0 * load.0).sum();
        Money(power * hours.0 * weeks.0 * price.0)
    }

    /// What capital costs a year, each piece over its own life.
    fn capital_a_year "Capital of a year" (
        rate: Share, NOT_NEGATIVE, "interest a year";
        investments: Vec<Money>, NOT_NEGATIVE, "what each cost, units counted";
        lives: Vec<Count>, POSITIVE, "life of each in years";
    ) -> { cost: Money, "cost a year"; }
    is "cost = sum(investments[i] * rate / (1 - (1 + rate)^-lives[i]))";
    source "Grant, Ireson and Leavenworth, Principles of Engineering Economy";
    needs "`investments` and `lives` are of the same things", paired(&investments, &lives);
    {
        let each = investments.iter().zip(&lives);
        each.map(|(cost, life)| *cost * recovery(rate.0, life.0)).sum()
    }

    /// A yearly cost spread over the good cars of the year.
    fn share_of_car "Share of a car" (
        cost: Money, ANY, "cost a year";
        cars: PerWeek, POSITIVE, "good cars a week that carry it";
        weeks: Count, POSITIVE, "weeks worked a year";
    ) -> { share: Money, "cost a car"; }
    is "share = cost / (cars * weeks)";
    source "cost accounting, absorption at planned volume";
    { cost / (cars.0 * weeks.0) }

    /// What an hour of a filled post costs: those who stand in for breaks, illness and
    /// leave are paid too.
    fn person_hour "Person hour" (
        price: MoneyPerHour, NOT_NEGATIVE, "what a paid hour costs";
        relief: Share, PART, "relief";
        absence: Share, PART, "away without notice";
        leave: Share, PART, "on planned leave";
    ) -> { person_hour: MoneyPerHour, "cost of an hour in which the post is filled"; }
    is "person_hour = price * (1 + relief) / ((1 - absence) * (1 - leave))";
    source "common practice of manning sheets";
    { MoneyPerHour(price.0 * (1.0 + relief.0) / ((1.0 - absence.0) * (1.0 - leave.0))) }

    /// From how many hours of work a year a machine is cheaper than a person who does the
    /// same in the same time.
    fn break_even_hours "Hours from which a robot pays" (
        fixed: Money, NOT_NEGATIVE, "capital and upkeep of the robot a year";
        variable: MoneyPerHour, NOT_NEGATIVE, "energy and wear an hour";
        person: MoneyPerHour, NOT_NEGATIVE, "cost of a person's hour";
    ) -> { hours: Option<Hours>, "hours a year; none if it never is cheaper"; }
    is "hours = fixed / (person - variable), if person > variable";
    source "break-even analysis of cost accounting";
    { (person.0 > variable.0).then(|| Hours(fixed.0 / (person.0 - variable.0))) }

    /// What a car that is not built costs where the plant cannot make it up: its price
    /// less what building it would have cost more. People, upkeep and capital are paid
    /// either way.
    fn lost_car "Lost car" (
        price: Money, NOT_NEGATIVE, "price of a car";
        variable: Money, NOT_NEGATIVE, "what one more car costs";
    ) -> { margin: Money, "what a car lost at the constraint costs"; }
    is "margin = price - variable";
    source "Goldratt and Cox, The Goal (throughput less what varies with it)";
    { price - variable }

    /// What a minute costs in which the constraint stands.
    fn lost_minute "Lost minute of the constraint" (
        margin: Money, ANY, "what a lost car costs";
        cars: PerWeek, NOT_NEGATIVE, "cars a week that the constraint makes";
        hours: Hours, POSITIVE, "its working hours a week";
    ) -> { minute: Money, "what a lost minute costs"; }
    is "minute = margin * cars / (hours * 60)";
    source "Goldratt and Cox, The Goal";
    { margin * cars.0 / (hours.0 * 60.0) }

    /// What a line frees when a part is bought: its runs and their changeovers.
    fn line_hours_cost "Making on a line" (
        run: Hours, NOT_NEGATIVE, "hours a week of running";
        change: Hours, NOT_NEGATIVE, "hours a week of changeover";
        price: MoneyPerHour, NOT_NEGATIVE, "cost of an hour of the line";
        pieces: PerWeek, POSITIVE, "good pieces a week";
    ) -> { cost: Money, "cost a good piece"; }
    is "cost = (run + change) * price / pieces";
    source "machine-hour rate of cost accounting";
    { Money((run.0 + change.0) * price.0 / pieces.0) }

    /// What an hour of a shared line costs: its people, upkeep, energy and capital over the
    /// hours in which it is used.
    fn line_hour "Hour of a line" (
        cost: Money, NOT_NEGATIVE, "cost a year";
        used: Hours, POSITIVE, "hours a week in which it runs or is changed";
        weeks: Count, POSITIVE, "weeks worked a year";
    ) -> { hour: MoneyPerHour, "cost of a used hour"; }
    is "hour = cost / (used * weeks)";
    source "machine-hour rate of cost accounting";
    { MoneyPerHour(cost.0 / (used.0 * weeks.0)) }

    /// Days that a bought part lies at most: the delivery lasts so long.
    fn delivery_cover "Cover of a delivery" (
        order: Count, POSITIVE, "pieces of the smallest order";
        use_a_week: PerWeek, POSITIVE, "pieces used a week";
        lead_time: Days, NOT_NEGATIVE, "days from order to delivery";
    ) -> struct DeliveryCover {
        days: Days, "from order to the last piece used";
        cover: Days, "days that a delivery lasts";
    }
    is "cover = order / use_a_week * 7; days = lead_time + cover";
    source "Little's law";
    {
        let cover = Days(order.0 / use_a_week.0 * 7.0);
        DeliveryCover { days: lead_time + cover, cover }
    }

    /// The level yearly amount that is worth the same as a stream of money over its years;
    /// for options of unlike lives that are renewed.
    fn equivalent_annual_cost "Equivalent annual cost" (
        rate: Share, INTEREST, "interest a year";
        flows: Vec<Money>, ANY, "money in (+) and out (-) at years 0, 1, 2, ...";
    ) -> { cost: Money, "level cost a year; below 0 where it earns"; }
    is "n = number of flows - 1; npv = sum(flows[t] / (1 + rate)^t); \
        cost = -npv * rate / (1 - (1 + rate)^-n)";
    source "Grant, Ireson and Leavenworth, Principles of Engineering Economy";
    needs "there is a year after the first flow", flows.len() > 1;
    {
        let worth = flows.iter().rev().fold(0.0, |later, flow| later / (1.0 + rate.0) + flow.0);
        Money(-worth * recovery(rate.0, flows.len() as f64 - 1.0))
    }

    /// How what breaks in a new plant settles: fast at first, never quite done.
    fn ramp_availability "Availability in a ramp" (
        start: Share, SHARE, "availability in the first week";
        full: Share, SHARE, "availability once all is settled";
        settling: Count, POSITIVE, "weeks in which the gap falls to 37 %";
        week: Count, NOT_NEGATIVE, "weeks since the start";
    ) -> { availability: Share, "availability then"; }
    is "availability = full - (full - start) * exp(-week / settling)";
    source "first-order lag; common practice for start-up curves";
    { Share(full.0 - (full.0 - start.0) * libm::exp(-week.0 / settling.0)) }

    /// Work in a car: the hours of all filled posts over the cars that leave.
    fn work_of_car "Work in a car" (
        hours: Hours, NOT_NEGATIVE, "hours a week of all filled posts";
        cars: PerWeek, POSITIVE, "good cars a week";
    ) -> { work: Hours, "hours of work in a car"; }
    is "work = hours / cars";
    source "arithmetic";
    { hours / cars.0 }

    /// People for so many cars a week at what a car takes today.
    fn ramp_people "People in a ramp" (
        cars: PerWeek, NOT_NEGATIVE, "cars a week";
        work: Hours, NOT_NEGATIVE, "hours of work a car";
        hours: Hours, POSITIVE, "hours a week that a person is at work";
    ) -> { people: Count, "people at work"; }
    is "people = cars * work / hours";
    source "arithmetic";
    { Count(cars.0 * work.0 / hours.0) }
}
