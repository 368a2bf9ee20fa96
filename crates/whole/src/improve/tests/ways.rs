//! Ways to a rate, to a lead time, and sets of ideas together.

use super::*;

fn reached(goal: Goal) -> Reach {
    let memory = Memory::default();
    reach(&workbook(LINE), goal, &WAY, &memory, &Watch::none()).unwrap()
}

#[test]
fn the_way_to_a_rate_is_a_set_whose_steps_add_up_to_its_gain() {
    let found = reached(a_week(7_600.0));
    let way = found.cheapest.expect("a way");
    assert!(way.proved, "{way:?}");
    assert_eq!(way.set.verdict, Verdict::Met);
    assert!(way.set.made.mean - way.set.made.half_width >= 7_600.0);
    assert_eq!(way.steps.len(), way.set.ideas.len());
    let steps: f64 = way.steps.iter().map(|step| step.cars.mean).sum();
    let more = way.set.made.mean - found.curve[0].made.mean;
    assert!(
        (steps - more).abs() < 60.0,
        "{steps} in steps, {more} in all"
    );
    for step in &way.steps {
        assert_eq!(step.shown, !step.cars.holds(0.0) && step.cars.mean != 0.0);
    }
    let first = found.curve.first().expect("the plant as it is");
    assert!(first.ideas.is_empty() && first.verdict == Verdict::Missed);
    for pair in found.curve.windows(2) {
        assert!(pair[0].yearly <= pair[1].yearly);
    }
    // the cheapest set alone, from the memory of the same search
    assert!(found.curve.iter().any(|point| point.ideas == way.set.ideas));
}

#[test]
fn the_way_to_a_lead_time_is_found_alone_and_beside_a_rate() {
    let text = workbook(LINE);
    let memory = Memory::default();
    let ask = |goal: Goal| reach(&text, goal, &WAY, &memory, &Watch::none()).unwrap();
    let rate = ask(a_week(7_600.0));
    let as_it_is = rate.as_it_is.days.mean;
    let days = Some(0.9 * as_it_is);
    let time = ask(Goal {
        cars_per_week: None,
        days,
    });
    let way = time.cheapest.expect("a way to the lead time");
    assert_eq!(way.set.verdict, Verdict::Met);
    assert!(way.set.days.mean + way.set.days.half_width <= 0.9 * as_it_is);
    let both = ask(Goal {
        cars_per_week: Some(7_600.0),
        days,
    });
    let both = both.cheapest.expect("a way to both");
    // what reaches both reaches each, so that neither alone is dearer
    let alone = rate.cheapest.expect("a way to the rate");
    assert!(both.set.yearly >= alone.set.yearly.max(way.set.yearly) - 1e-9);
    let nothing = Goal {
        cars_per_week: None,
        days: None,
    };
    let why = reach(&text, nothing, &WAY, &memory, &Watch::none()).unwrap_err();
    assert!(why.to_string().contains("neither cars a week nor days"));
}

#[test]
fn a_way_cut_short_goes_on_from_its_runs_to_the_same_answer() {
    let text = workbook(LINE);
    let goal = a_week(7_600.0);
    let memory = Memory::default();
    let (cancel, runs) = (AtomicBool::new(false), AtomicU32::new(0));
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {
            if runs.fetch_add(1, Ordering::Relaxed) == 25 {
                cancel.store(true, Ordering::Relaxed);
            }
        },
    };
    match reach(&text, goal, &WAY, &memory, &watch) {
        Ok(cut) => assert!(cut.stopped),
        Err(why) => assert_eq!(why, NoAnswer::Cancelled),
    }
    let on = reach(&text, goal, &WAY, &memory, &Watch::none()).unwrap();
    let whole = reach(&text, goal, &WAY, &Memory::default(), &Watch::none()).unwrap();
    assert_eq!(on, whole);
}

/// The same set run by itself makes what the way says, and not the sum of what its
/// ideas make alone.
#[test]
fn a_set_is_told_by_its_own_runs_and_never_by_sums() {
    let text = workbook(LINE);
    let goal = a_week(7_600.0);
    let memory = Memory::default();
    let found = reach(&text, goal, &WAY, &memory, &Watch::none()).unwrap();
    for point in &found.curve {
        let picked = point.ideas.iter().filter_map(|id| {
            let mut ideas = found.ideas.iter();
            ideas.find(|idea| idea.id == *id).cloned()
        });
        let picked: Vec<Idea> = picked.collect();
        if picked.is_empty() {
            continue;
        }
        let tray = together(&text, &picked, 1, &memory, &flow::Watch::none()).unwrap();
        let apart = (tray.made.mean - point.made.mean).abs();
        let luck = tray.made.half_width + point.made.half_width;
        assert!(apart <= luck, "{apart} apart, {luck} by luck");
    }
}

#[test]
fn a_rate_beyond_all_ideas_is_said_to_be_and_what_then_holds_back() {
    let found = reached(a_week(20_000.0));
    assert_eq!(found.cheapest, None);
    assert!(found.all.constraint.is_some() && found.all.verdict == Verdict::Missed);
}

#[test]
fn a_plant_that_makes_the_rate_needs_nothing() {
    let found = reached(a_week(1_000.0));
    assert_eq!(
        found.cheapest.expect("as it is").set.ideas,
        Vec::<u32>::new()
    );
}
