//! Laws that hold whatever the numbers.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails says so"
)]

use formulas::{
    Formula, MoneyPerKilogram, Origin, Sourced, Value, Working, calendar, cascade, cost, fleet,
    kpi, load, money,
};
use proptest::prelude::*;
use units::{Count, Hours, Kilograms, Minutes, Money, Seconds, Share};

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-9)
}

fn shares(range: std::ops::Range<f64>) -> impl Strategy<Value = Vec<Share>> {
    proptest::collection::vec(range.prop_map(Share), 1..8)
}

/// Values inside the ranges of a formula, taken from a stream of dice.
fn legal(formula: &Formula, dice: &[f64]) -> Vec<Value> {
    let mut dice = dice.iter().cycle();
    let mut one = |range: formulas::Range| {
        let die = *dice.next().unwrap();
        let low = if range.low.is_finite() {
            range.low
        } else {
            -50.0
        };
        let high = if range.high.is_finite() {
            range.high.min(low + 50.0)
        } else {
            low + 50.0
        };
        let value = low + (high - low) * die;
        if range.whole { value.ceil() } else { value }
    };
    formula
        .symbols
        .iter()
        .map(|symbol| {
            if symbol.list {
                Value::List((0..2).map(|_| one(symbol.range)).collect())
            } else {
                Value::Number(one(symbol.range))
            }
        })
        .collect()
}

proptest! {
    #[test]
    fn no_legal_input_makes_a_formula_panic_or_yield_what_is_no_number(
        dice in proptest::collection::vec(0.01..0.99f64, 24),
    ) {
        for formula in formulas::all() {
            let args = legal(formula, &dice).into_iter().map(Sourced::from).collect();
            if let Ok(working) = formula.work(args) {
                for result in &working.results {
                    prop_assert!(result.value.numbers().iter().all(|n| n.is_finite()));
                }
            }
        }
    }

    #[test]
    fn no_finite_input_however_wild_makes_a_formula_panic(
        numbers in proptest::collection::vec(proptest::num::f64::ANY, 24),
    ) {
        let mut numbers = numbers.iter().copied().cycle();
        for formula in formulas::all() {
            let args = formula.symbols.iter().map(|symbol| {
                let mut next = || numbers.next().unwrap_or_default();
                let value = match symbol.list {
                    true => Value::List(vec![next(), next(), next()]),
                    false => Value::Number(next()),
                };
                Sourced::from(value)
            });
            if let Ok(working) = formula.work(args.collect()) {
                for result in &working.results {
                    prop_assert!(result.value.numbers().iter().all(|n| n.is_finite()));
                }
            }
        }
    }

    #[test]
    fn the_unit_an_input_is_typed_in_changes_no_result(
        dice in proptest::collection::vec(0.01..0.99f64, 24),
    ) {
        // Every symbol that has a sibling unit is typed once in its own unit
        // and once in the sibling; the results must be the same.
        for formula in formulas::all() {
            let values = legal(formula, &dice);
            let typed = |other: bool| -> Vec<String> {
                formula.symbols.iter().zip(&values).map(|(symbol, value)| {
                    let own = units::Unit::find(symbol.unit);
                    let sibling = own.and_then(|own| {
                        units::Unit::all().iter().find(|unit| {
                            unit.dimension == own.dimension && unit.symbol != own.symbol
                        }).map(|sibling| (own, *sibling))
                    });
                    let texts: Vec<String> = value.numbers().iter().map(|n| match sibling {
                        Some((own, sibling)) if other => {
                            let moved = sibling.from_base(own.to_base(*n));
                            format!("{moved:e} {}", sibling.symbol)
                        }
                        _ => format!("{n:e} {}", symbol.unit),
                    }).collect();
                    texts.join(";")
                }).collect()
            };
            let compute = |texts: &[String]| {
                let names = formula.symbols.iter().map(|symbol| symbol.name);
                let pairs: Vec<(&str, &str)> =
                    names.zip(texts.iter().map(String::as_str)).collect();
                formula.compute(&pairs)
            };
            let (own, other) = (compute(&typed(false)), compute(&typed(true)));
            let whole = formula.expression.contains("ceil")
                || formula.expression.contains("floor")
                || formula.symbols.iter().any(|symbol| symbol.range.whole);
            if let (Ok(own), Ok(other), false) = (own, other, whole) {
                for (a, b) in own.results.iter().zip(&other.results) {
                    for (x, y) in a.value.numbers().iter().zip(b.value.numbers()) {
                        prop_assert!(
                            (x - y).abs() <= 1e-6 * x.abs().max(1e-6),
                            "{}: {x} {y}", formula.name
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn oee_is_the_run_time_of_good_items_over_busy_time(
        pbt in 1.0..1000.0f64, apt in 1.0..1000.0f64, pri in 0.01..10.0f64,
        pq in 1.0..1000.0f64, good in 0.0..1.0f64,
    ) {
        let gq = pq * good;
        let oee = kpi::oee(Minutes(pbt), Minutes(apt), Minutes(pri), Count(pq), Count(gq));
        prop_assert!(near(oee.unwrap().value.oee.0, pri * gq / pbt));
    }

    #[test]
    fn each_stage_starts_no_less_than_the_next(yields in shares(0.05..1.0), output in 1.0..1e4f64) {
        let inputs = cascade::cascade(Count(output), yields.clone()).unwrap().value;
        let mut wanted = output;
        for (input, good) in inputs.inputs.iter().zip(&yields).rev() {
            prop_assert!(input.0 >= wanted);
            prop_assert!(near(input.0 * good.0, wanted));
            wanted = input.0;
        }
        prop_assert!(near(inputs.inputs[0].0 * inputs.rolled_yield.0, output));
    }

    #[test]
    fn pieces_in_a_chain_all_leave(
        entries in proptest::collection::vec(0.0..100.0f64, 4),
        routes in proptest::collection::vec(0.0..0.24f64, 16),
    ) {
        let chain = cascade::absorbing_chain(
            entries.iter().copied().map(Count).collect::<Vec<_>>(),
            routes.iter().copied().map(Share).collect::<Vec<_>>(),
        ).unwrap().value;
        let (came, left): (f64, f64) =
            (entries.iter().sum(), chain.leaving.iter().map(|count| count.0).sum());
        prop_assert!(near(came, left));
    }

    #[test]
    fn a_loop_is_a_chain_of_one(first in 0.05..1.0f64, again in 0.0..1.0f64) {
        let loop_ = cascade::rework_loop(Share(first), Share(again)).unwrap().value;
        let route = (1.0 - first) * again;
        let chain = cascade::absorbing_chain(vec![Count(1.0)], vec![Share(route)]).unwrap();
        prop_assert!(near(loop_.passes.0, chain.value.visits[0].0));
        let capped = cascade::rework_loop_capped(Share(first), Share(again), Count(5_000.0));
        prop_assert!(near(loop_.good_share.0, capped.unwrap().value.good_share.0));
    }

    #[test]
    fn a_weighted_mean_lies_between_its_extremes(
        weights in proptest::collection::vec(0.01..1.0f64, 3), times in proptest::collection::vec(1.0..1e3f64, 3),
    ) {
        let all: f64 = weights.iter().sum();
        let mix: Vec<Share> = weights.iter().map(|w| Share(w / all)).collect();
        let list: Vec<Seconds> = times.iter().copied().map(Seconds).collect();
        let mean = load::mixed_load(mix, list, Seconds(60.0)).unwrap().value.weighted.0;
        let (low, high) = (times.iter().copied().fold(f64::MAX, f64::min), times.iter().copied().fold(0.0, f64::max));
        prop_assert!(mean >= low * (1.0 - 1e-12) && mean <= high * (1.0 + 1e-12));
    }

    #[test]
    fn a_stream_is_worth_nothing_at_each_of_its_rates(
        flows in proptest::collection::vec(-100.0..100.0f64, 2..10),
    ) {
        let flows: Vec<Money> = flows.into_iter().map(Money).collect();
        for rate in money::irr(flows.clone()).unwrap().value {
            let worth = money::npv(rate, flows.clone()).unwrap().value.0;
            let size: f64 = flows.iter().enumerate()
                .map(|(t, flow)| flow.0.abs() / libm::pow(1.0 + rate.0, t as f64)).sum();
            prop_assert!(worth.abs() <= 1e-9 * size, "{worth} of {size} at {rate}");
        }
    }

    #[test]
    fn an_outlay_with_returns_has_exactly_one_rate(
        outlay in 1.0..1e3f64, returns in proptest::collection::vec(0.0..1e3f64, 1..12),
    ) {
        prop_assume!(returns.iter().any(|r| *r > 0.0));
        let mut flows = vec![Money(-outlay)];
        flows.extend(returns.into_iter().map(Money));
        prop_assert_eq!(money::irr(flows).unwrap().value.len(), 1);
    }

    #[test]
    fn payments_of_an_annuity_are_worth_the_loan(rate in 0.0..0.5f64, periods in 1..60u32) {
        let payment = money::annuity(Money(1000.0), Share(rate), Count(f64::from(periods)));
        let mut flows = vec![Money(0.0)];
        flows.extend(vec![payment.unwrap().value; periods as usize]);
        prop_assert!(near(money::npv(Share(rate), flows).unwrap().value.0, 1000.0));
    }

    #[test]
    fn a_level_cost_is_its_own_equivalent(
        rate in 0.0..0.5f64, once in 0.0..1e6f64, yearly in 0.0..1e5f64, years in 1..40u32,
    ) {
        let mut flows = vec![Money(-once)];
        flows.extend(vec![Money(-yearly); years as usize]);
        let level = cost::equivalent_annual_cost(Share(rate), flows).unwrap().value.0;
        let lives = vec![Count(f64::from(years))];
        let capital = cost::capital_a_year(Share(rate), vec![Money(once)], lives);
        prop_assert!(near(level, capital.unwrap().value.0 + yearly));
    }

    #[test]
    fn of_options_that_exclude_each_other_the_gain_is_the_value_of_the_difference(
        rate in 0.0..0.5f64,
        pairs in proptest::collection::vec((-1e5..1e5f64, -1e5..1e5f64), 1..12),
    ) {
        let (first, second): (Vec<Money>, Vec<Money>) =
            pairs.iter().map(|(a, b)| (Money(*a), Money(*b))).unzip();
        let less: Vec<Money> = first.iter().zip(&second).map(|(a, b)| *b - *a).collect();
        let found = money::exclusive_options(Share(rate), first, second).unwrap().value;
        let worth = money::npv(Share(rate), less).unwrap().value.0;
        prop_assert!((found.gain.0 - worth).abs() <= 1e-6);
    }

    #[test]
    fn scrap_never_brings_more_than_the_metal_cost_where_its_price_is_no_higher(
        begun in 1.0..2.0f64, bought in 0.1..50.0f64, part in 0.0..1.0f64,
        price in 0.0..10.0f64, worth in 0.0..1.0f64,
    ) {
        let scrap_price = MoneyPerKilogram(price * worth);
        let found = cost::metal_of_part(
            Count(begun), Kilograms(bought), MoneyPerKilogram(price), Kilograms(bought * part),
            scrap_price,
        ).unwrap().value;
        prop_assert!(found.credit.0 >= 0.0 && found.cost.0 >= -1e-9);
        prop_assert!(near(found.cost.0 + found.credit.0, found.gross.0));
    }

    #[test]
    fn a_ramp_rises_from_its_start_and_never_passes_its_end(
        start in 0.0..1.0f64, full in 0.0..1.0f64, settling in 0.1..50.0f64, week in 0.0..200.0f64,
    ) {
        prop_assume!(start <= full);
        let at = |week: f64| {
            let found = cost::ramp_availability(
                Share(start), Share(full), Count(settling), Count(week),
            );
            found.unwrap().value.0
        };
        prop_assert!(near(at(0.0), start));
        prop_assert!(at(week) <= full + 1e-12 && at(week) >= start - 1e-12);
        prop_assert!(at(week + 1.0) >= at(week) - 1e-12);
    }

    #[test]
    fn the_mean_model_of_learning_never_promises_more_work_than_the_unit_model(
        learning in 0.5..1.0f64, pieces in 1..500u32,
    ) {
        let pieces = Count(f64::from(pieces));
        let mean = money::learning_average(Hours(1.0), Share(learning), pieces).unwrap().value;
        let unit = money::learning_unit(Hours(1.0), Share(learning), pieces).unwrap().value;
        prop_assert!(mean.total.0 <= unit.total.0 * (1.0 + 1e-9));
    }

    #[test]
    fn crowding_never_needs_fewer_carts(work in 1.0..600.0f64, loss in 0.0..0.2f64) {
        let free = fleet::crowded_carts(Minutes(work), Share(0.95), Share(0.0)).unwrap().value;
        let crowded = fleet::crowded_carts(Minutes(work), Share(0.95), Share(loss)).unwrap().value;
        if let Some(crowded) = crowded {
            prop_assert!(crowded.0 >= free.unwrap().0);
            let done = 60.0 * 0.95 * crowded.0 * (1.0 - loss * (crowded.0 - 1.0));
            prop_assert!(done >= work * (1.0 - 1e-9));
        }
    }
}

#[test]
fn a_working_names_where_every_input_came_from_and_survives_json() {
    let demand = Sourced::cell(Count(200.0), "products", 2, "cars_per_day");
    let net = Sourced::usual(Minutes(880.0), "shifts", "net_min");
    let takt = calendar::takt(net, demand).unwrap();
    let cycle = calendar::design_cycle(&takt, Share(0.9)).unwrap();
    let origins: Vec<&Option<Origin>> = takt
        .working
        .inputs
        .iter()
        .chain(&cycle.working.inputs)
        .map(|term| &term.from)
        .collect();
    let cell = Origin::Cell {
        table: "products".into(),
        row: 2,
        column: "cars_per_day".into(),
    };
    let usual = Origin::Usual {
        table: "shifts".into(),
        column: "net_min".into(),
    };
    let figure = Origin::Figure("takt".into());
    assert_eq!(
        origins,
        [
            &Some(usual),
            &Some(cell),
            &Some(figure),
            &Some(Origin::Given)
        ]
    );

    let json = serde_json::to_string(&cycle).unwrap();
    let back: formulas::Figure<Seconds> = serde_json::from_str(&json).unwrap();
    assert_eq!(back, cycle);
    let told = cycle.working.to_string();
    assert!(
        told.contains("takt = 264 s") && told.contains("[figure takt]"),
        "{told}"
    );
}

#[test]
fn an_absent_result_and_a_list_survive_json() {
    let never = money::payback(vec![Money(-1.0)]).unwrap();
    assert_eq!(never.value, None);
    let json = serde_json::to_string(&never.working).unwrap();
    let back: Working = serde_json::from_str(&json).unwrap();
    assert_eq!(back, never.working);
    assert_eq!(back.results[0].value, Value::Nothing);
}

#[test]
fn a_list_from_several_cells_keeps_each_origin() {
    let members = vec![
        Sourced::cell(Share(0.9), "stations", 3, "first_time_ok"),
        Sourced::cell(Share(0.8), "stations", 4, "first_time_ok"),
    ];
    let figure = cascade::rolled_yield(members).unwrap();
    let Some(Origin::Several(origins)) = &figure.working.inputs[0].from else {
        panic!("{:?}", figure.working.inputs[0].from);
    };
    assert_eq!(origins.len(), 2);
}
