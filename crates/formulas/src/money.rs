//! Investment, cost of a robot hour and of a car, learning.

use units::{Count, Hours, Money, Share};

use crate::declare::sheet;
use crate::quantity::MoneyPerHour;
use crate::range::{ANY, INTEREST, NOT_NEGATIVE, PART, POSITIVE, SOME_SHARE, WHOLE};
use crate::roots::{positive_roots, sign_changes};

fn present_value(flows: &[Money], rate: f64) -> f64 {
    flows
        .iter()
        .rev()
        .fold(0.0, |later, flow| later / (1.0 + rate) + flow.0)
}

/// All rates above -1 at which the flows are worth nothing, rising.
fn rates_of_return(flows: &[f64]) -> Vec<Share> {
    let roots = positive_roots(flows);
    roots
        .into_iter()
        .rev()
        .map(|x| Share(1.0 / x - 1.0))
        .collect()
}

/// Whether all rates are found in a moment; the search grows with the square
/// of the changes of sign.
fn searchable(flows: &[f64]) -> bool {
    flows.len() <= 1_000 && sign_changes(flows) <= 50
}

fn plain(flows: &[Money]) -> Vec<f64> {
    flows.iter().map(|flow| flow.0).collect()
}

fn difference(first: &[Money], second: &[Money]) -> Vec<f64> {
    first.iter().zip(second).map(|(a, b)| b.0 - a.0).collect()
}

/// Yearly cost of a capital of 1; `expm1` keeps small rates exact.
pub(crate) fn recovery(rate: f64, periods: f64) -> f64 {
    if rate == 0.0 {
        1.0 / periods
    } else {
        rate / -libm::expm1(-periods * libm::log1p(rate))
    }
}

/// When the running sum first reaches 0, the flow of a period spread evenly.
fn payback_of(flows: impl Iterator<Item = f64>) -> Option<Count> {
    let mut open = 0.0;
    for (period, flow) in flows.enumerate() {
        if open + flow >= 0.0 {
            let part = if open < 0.0 { -open / flow } else { 0.0 };
            return Some(Count((period as f64 - 1.0).max(0.0) + part));
        }
        open += flow;
    }
    None
}

/// The exponent of a learning curve: what doubling does, as a power.
fn exponent(learning: f64) -> f64 {
    libm::log2(learning)
}

sheet! {
    shop "Money";

    /// What a stream of money is worth today.
    fn npv "Net present value" (
        rate: Share, INTEREST, "interest a period";
        flows: Vec<Money>, ANY, "money in (+) and out (-) at periods 0, 1, 2, ...";
    ) -> { npv: Money, "net present value"; }
    is "npv = sum(flows[t] / (1 + rate)^t), t = 0, 1, 2, ...";
    source "Brealey and Myers, Principles of Corporate Finance";
    { Money(present_value(&flows, rate.0)) }

    /// Every rate above -100 % at which a stream of money is worth nothing. A stream that
    /// changes its sign more than once may have several or none; then no single one means
    /// anything. Do not rank options that exclude each other by it.
    fn irr "Internal rates of return" (
        flows: Vec<Money>, ANY, "money in (+) and out (-) at periods 0, 1, 2, ...";
    ) -> { rates: Vec<Share>, "all rates of return, rising; none if there is none"; }
    is "rates = all r > -1 with sum(flows[t] / (1 + r)^t) = 0";
    source "Brealey and Myers, Principles of Corporate Finance; root isolation by the step in \
            Descartes' rule of signs";
    needs "there are at most 1000 flows and 50 changes of sign", searchable(&plain(&flows));
    { rates_of_return(&plain(&flows)) }

    /// Two options of which only one can be taken, by value and by the return on what the
    /// second costs more than the first.
    fn exclusive_options "Options that exclude each other" (
        rate: Share, INTEREST, "interest a period";
        first: Vec<Money>, ANY, "flows of the first option at periods 0, 1, 2, ...";
        second: Vec<Money>, ANY, "flows of the second option at the same periods";
    ) -> struct ExclusiveOptions {
        npv_first: Money, "net present value of the first";
        npv_second: Money, "net present value of the second";
        gain: Money, "what the second is worth more than the first";
        rates: Vec<Share>, "rates of return of second less first, rising";
    }
    is "npv_first = npv(rate, first); npv_second = npv(rate, second); \
        gain = npv_second - npv_first; rates = irr(second - first)";
    source "Brealey and Myers, Principles of Corporate Finance (incremental return)";
    needs "`first` and `second` cover the same periods", first.len() == second.len();
    needs "there are at most 1000 flows and 50 changes of sign in their difference",
        searchable(&difference(&first, &second));
    {
        let npv_first = Money(present_value(&first, rate.0));
        let npv_second = Money(present_value(&second, rate.0));
        ExclusiveOptions {
            npv_first,
            npv_second,
            gain: npv_second - npv_first,
            rates: rates_of_return(&difference(&first, &second)),
        }
    }

    /// Periods until the money is back, interest not counted.
    fn payback "Payback" (
        flows: Vec<Money>, ANY, "money in (+) and out (-) at periods 0, 1, 2, ...";
    ) -> { periods: Option<Count>, "periods until the sum first reaches 0; none if never"; }
    is "periods = first t with sum(flows[0..t]) >= 0, within a period in proportion";
    source "Brealey and Myers, Principles of Corporate Finance";
    { payback_of(flows.iter().map(|flow| flow.0)) }

    /// Periods until the money is back with interest.
    fn discounted_payback "Discounted payback" (
        rate: Share, INTEREST, "interest a period";
        flows: Vec<Money>, ANY, "money in (+) and out (-) at periods 0, 1, 2, ...";
    ) -> { periods: Option<Count>, "periods until the sum first reaches 0; none if never"; }
    is "periods = first t with sum(flows[0..t] / (1 + rate)^t) >= 0, within a period in \
        proportion";
    source "Brealey and Myers, Principles of Corporate Finance";
    {
        let mut discount = 1.0 + rate.0;
        payback_of(flows.iter().map(|flow| {
            discount /= 1.0 + rate.0;
            flow.0 * discount
        }))
    }

    /// The level payment that serves a loan.
    fn annuity "Annuity" (
        principal: Money, NOT_NEGATIVE, "money borrowed";
        rate: Share, NOT_NEGATIVE, "interest a period";
        periods: Count, POSITIVE, "number of payments";
    ) -> { payment: Money, "payment at the end of each period"; }
    is "payment = principal * rate / (1 - (1 + rate)^-periods); \
        payment = principal / periods at rate 0";
    source "Brealey and Myers, Principles of Corporate Finance";
    { principal * recovery(rate.0, periods.0) }

    /// The yearly cost of a capital of 1 over its life.
    fn capital_recovery "Capital recovery factor" (
        rate: Share, NOT_NEGATIVE, "interest a period";
        periods: Count, POSITIVE, "life in periods";
    ) -> { factor: Share, "cost a period per capital"; }
    is "factor = rate * (1 + rate)^periods / ((1 + rate)^periods - 1); \
        factor = 1 / periods at rate 0";
    source "Grant, Ireson and Leavenworth, Principles of Engineering Economy";
    { Share(recovery(rate.0, periods.0)) }

    /// What an hour of a robot costs while it works.
    fn robot_hour "Robot hour" (
        investment: Money, NOT_NEGATIVE, "robot with tool, cell and start-up";
        rate: Share, NOT_NEGATIVE, "interest a year";
        life: Count, POSITIVE, "life in years";
        fixed: Money, NOT_NEGATIVE, "upkeep and floor a year";
        hours: Hours, POSITIVE, "working hours of the shop a year";
        utilisation: Share, SOME_SHARE, "share of them the robot works";
        variable: MoneyPerHour, NOT_NEGATIVE, "energy and wear an hour of work";
    ) -> struct RobotHour {
        capital: Money, "cost of capital a year";
        robot_hour: MoneyPerHour, "cost an hour of work";
    }
    is "capital = investment * rate / (1 - (1 + rate)^-life); \
        robot_hour = (capital + fixed) / (hours * utilisation) + variable";
    source "Grant, Ireson and Leavenworth, Principles of Engineering Economy; machine-hour \
            rate of cost accounting";
    {
        let capital = investment * recovery(rate.0, life.0);
        let worked = hours.0 * utilisation.0;
        RobotHour {
            capital,
            robot_hour: MoneyPerHour((capital + fixed).0 / worked + variable.0),
        }
    }

    /// What a good car costs: what goes into each car, scrap carried by the good ones, and
    /// what the plant costs a year whether it builds or not.
    fn car_cost "Cost of a car" (
        material: Money, NOT_NEGATIVE, "material a car";
        labour_hours: Hours, NOT_NEGATIVE, "hours of work a car";
        labour: MoneyPerHour, NOT_NEGATIVE, "cost of an hour of work";
        energy: Money, NOT_NEGATIVE, "energy a car";
        consumables: Money, NOT_NEGATIVE, "consumables a car";
        scrap: Share, PART, "share of the variable cost lost in scrapped cars";
        fixed: Money, NOT_NEGATIVE, "capital and overhead a year";
        cars: Count, POSITIVE, "good cars a year";
    ) -> struct CarCost {
        variable: Money, "cost that each car started causes";
        conversion: Money, "cost of making it, without material and scrap";
        total: Money, "cost of a good car";
    }
    is "variable = material + labour_hours * labour + energy + consumables; \
        conversion = variable - material + fixed / cars; \
        total = variable / (1 - scrap) + fixed / cars";
    source "cost accounting, absorption at planned volume";
    {
        let work = Money(labour_hours.0 * labour.0) + energy + consumables;
        let variable = material + work;
        CarCost {
            variable,
            conversion: work + fixed / cars.0,
            total: variable / (1.0 - scrap.0) + fixed / cars.0,
        }
    }

    /// Learning by the cumulative average: doubling the pieces multiplies the mean time of
    /// all by the learning rate. Under one label it promises far less work than the unit
    /// model; never compare figures of the two.
    fn learning_average "Learning curve, cumulative average" (
        first: Hours, POSITIVE, "time of the first piece";
        learning: Share, SOME_SHARE, "what a doubling multiplies by";
        pieces: Count, WHOLE, "pieces made";
    ) -> struct LearningAverage {
        average: Hours, "mean time of all pieces";
        total: Hours, "time of all pieces";
        unit: Hours, "time of the last piece";
    }
    is "b = log2(learning); average = first * pieces^b; total = average * pieces; \
        unit = first * (pieces^(1 + b) - (pieces - 1)^(1 + b))";
    source "Wright, Journal of the Aeronautical Sciences 3, 1936, pages 122-128";
    {
        let total = |pieces: f64| {
            if pieces == 0.0 { 0.0 } else { libm::pow(pieces, 1.0 + exponent(learning.0)) }
        };
        let all = first * total(pieces.0);
        LearningAverage {
            average: all / pieces.0,
            total: all,
            unit: first * (total(pieces.0) - total(pieces.0 - 1.0)),
        }
    }

    /// Learning by the unit: doubling the pieces multiplies the time of the last one by the
    /// learning rate.
    fn learning_unit "Learning curve, unit" (
        first: Hours, POSITIVE, "time of the first piece";
        learning: Share, SOME_SHARE, "what a doubling multiplies by";
        pieces: Count, WHOLE, "pieces made";
    ) -> struct LearningUnit {
        unit: Hours, "time of the last piece";
        total: Hours, "time of all pieces";
        average: Hours, "mean time of all pieces";
    }
    is "b = log2(learning); unit = first * pieces^b; \
        total = first * sum(k^b), k = 1 to pieces; average = total / pieces";
    source "Crawford's unit model, as in Asher, Cost-Quantity Relationships in the Airframe \
            Industry, RAND R-291, 1956";
    {
        let unit = |piece: f64| libm::pow(piece, exponent(learning.0));
        let all = (1..=pieces.0 as u64).map(|piece| unit(piece as f64)).sum::<f64>();
        LearningUnit {
            unit: first * unit(pieces.0),
            total: first * all,
            average: first * (all / pieces.0),
        }
    }
}
