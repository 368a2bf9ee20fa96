mod ways;

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use shops::Watch;
use shops::coil::Shelf;

use super::*;
use crate::findings::Verdict;
use crate::sample::workbook;

/// Five stations in a row; the third is slow, the fourth stops often.
const LINE: &str = "
    [plant]
    setting,value
    margin_per_car,900
    weeks_per_year,46
    [products]
    product,cars_per_week
    van,9000
    [stations]
    station,shop,cycle_s,spread,mtbf_min,mttr_min,crew
    cut,body,60,0.1,100,2,
    bend,body,60,0.1,100,2,
    weld,body,75,0.1,100,4,fitters
    hang,body,60,0.1,60,6,fitters
    check,body,60,0.1,100,2,
    [crews]
    crew,count
    fitters,1
    [links]
    from,to,holds
    cut,bend,4
    bend,weld,4
    weld,hang,4
    hang,check,4
    [ideas]
    idea,table,row,column,from,to,investment,cost_per_year,weeks
    quick torch,stations,weld,cycle_s,75,66,100000,2000,6
    new paint,stations,cut,stage,,front,5000,0,1
    as it is,stations,bend,cycle_s,60,60,1,0,1
    spare gun,stations,hang,mttr_min,6,3,20000,500,3
    spare gun,stations,hang,mtbf_min,60,90,0,500,5
";

const QUICK: ImproveSettings = ImproveSettings {
    runs: 120,
    control: 12,
    ideas: 12,
    ..ImproveSettings::USUAL
};

fn ranked_of(text: &str, settings: &ImproveSettings) -> Improve {
    improve(
        &workbook(text),
        settings,
        &Shelf::new(),
        &Memory::default(),
        &Watch::none(),
    )
    .unwrap_or_else(|why| panic!("{why}"))
}

fn idea<'i>(found: &'i Improve, name: &str) -> &'i RankedIdea {
    let mut ideas = found.ideas.iter();
    ideas
        .find(|ranked| ranked.idea.name == name)
        .unwrap_or_else(|| panic!("no idea `{name}`"))
}

#[test]
fn the_idea_at_the_constraint_is_first_and_its_money_is_told() {
    let found = ranked_of(LINE, &QUICK);
    let first = &found.ideas[0];
    assert_eq!(first.idea.place, "weld", "{first:?}");
    // what lies within luck is said not to be shown, of every idea
    for ranked in &found.ideas {
        let within = |of: Interval| of.mean.abs() <= of.half_width;
        assert_eq!(ranked.shown, !within(ranked.cars), "{ranked:?}");
        assert_eq!(ranked.days_shown, !within(ranked.days), "{ranked:?}");
        assert!(ranked.shown || ranked.per_car.is_none(), "{ranked:?}");
    }
    let torch = idea(&found, "quick torch");
    assert!(torch.shown && torch.cars.mean > 500.0, "{torch:?}");
    // capital recovery of 100,000 over 8 years at 10 %: 18,744 a year (Grant, Ireson
    // and Leavenworth's factor 0.18744)
    let yearly = torch.yearly.expect("its money");
    assert!((yearly - 20_744.4).abs() < 1.0, "{yearly}");
    let worth = torch.worth.expect("a margin");
    assert!((worth.mean - (torch.cars.mean * 46.0 * 900.0 - yearly)).abs() < 1e-6);
    // rows of one name are one idea
    assert_eq!(idea(&found, "spare gun").idea.changes.len(), 2);
    assert_eq!(idea(&found, "spare gun").idea.cost_per_year, Some(1_000.0));
}

#[test]
fn without_the_setting_a_car_more_is_worth_its_price_less_what_it_costs() {
    let priced = LINE
        .replace("margin_per_car,900\n", "")
        .replace("product,cars_per_week", "product,cars_per_week,price")
        .replace("van,9000", "van,9000,1500");
    let priced = format!(
        "{priced}
    [parts]
    part,source,price,per_car,to
    wheel,bought,150,4,check
    "
    );
    let found = ranked_of(&priced, &QUICK);
    let car = found.car.as_ref().expect("what a car brings");
    assert!(
        (car.value - (1_500.0 - 4.0 * 150.0)).abs() < 1e-6,
        "{car:?}"
    );
    assert!(!car.given && car.figures.contains_key(&car.figure));
    // the price and what one more costs are figures of their own
    assert!(car.figures.len() >= 3, "{:?}", car.figures.keys());
    let torch = idea(&found, "quick torch");
    let yearly = torch.yearly.expect("its money");
    let worth = torch.worth.expect("its worth");
    assert!((worth.mean - (torch.cars.mean * 46.0 * car.value - yearly)).abs() < 1e-6);
    assert!((worth.half_width - torch.cars.half_width * 46.0 * car.value).abs() < 1e-6);
    let unpriced = ranked_of(&LINE.replace("margin_per_car,900\n", ""), &QUICK);
    assert!(unpriced.car.is_none() && unpriced.ideas.iter().all(|one| one.worth.is_none()));
}

#[test]
fn a_car_more_is_worth_less_by_the_metal_of_its_blanks() {
    let priced = LINE
        .replace("margin_per_car,900\n", "")
        .replace("product,cars_per_week", "product,cars_per_week,price")
        .replace("van,9000", "van,9000,1500");
    let cut = format!(
        "{priced}
    [materials]
    material,density_kg_m3,price_per_kg,scrap_price_per_kg
    5754-O,2700,4,1.5
    [coils]
    coil,material,gauge_mm,width_mm,mass_kg,lead_time_days,on_hand
    narrow,5754-O,1,500,4000,7,4
    [press_lines]
    press_line,shop,kind,web_mm,edge_mm,head_m,tail_m,bed_x_mm,bed_y_mm
    die line,body,blanking,0,0,0,0,4000,2000
    [outlines]
    outline,path,point,x_mm,y_mm
    lid,0,1,0,0
    lid,0,2,800,0
    lid,0,3,800,500
    lid,0,4,0,500
    [parts]
    part,material,gauge_mm,outline,blank_line,blanks_per_min,grain_from_deg,grain_to_deg,per_car,to
    lid,5754-O,1,lid,die line,30,0,0,2,check
    "
    );
    let found = ranked_of(&cut, &QUICK);
    let car = found.car.expect("what a car brings");
    // A lid of 0.8 m by 0.5 m by 1 mm at 2700 kg/m3 is 1.08 kg; a coil of 4000 kg as
    // wide as it has 3703. What is over is scrap.
    let bought = 4_000.0 / 3_703.0;
    let metal = bought * 4.0 - (bought - 1.08) * 1.5;
    assert!(
        (car.value - (1_500.0 - 2.0 * metal)).abs() < 1e-6,
        "{car:?}"
    );
    assert!(!car.given, "{car:?}");
    assert!(
        car.figures.contains_key("metal.lid"),
        "{:?}",
        car.figures.keys()
    );
}

#[test]
fn an_idea_finds_its_cell_under_a_heading_that_is_written_otherwise() {
    let written = LINE.replace("station,shop,cycle_s,", "Station,Shop,Cycle-S,");
    assert_ne!(written, LINE);
    let found = ranked_of(&written, &QUICK);
    let torch = &idea(&found, "quick torch").idea.changes[0];
    assert_eq!(
        (torch.row.as_str(), torch.column.as_str()),
        ("weld", "cycle_s")
    );
    assert_eq!((torch.from.as_str(), torch.to.as_str()), ("75", "66"));
    assert_eq!(found.ideas, ranked_of(LINE, &QUICK).ideas);
}

#[test]
fn a_robot_for_a_person_and_back_is_found_where_work_is_for_both() {
    let tasks = "
    [robots]
    robot,kind,investment,life_years,upkeep_per_year
    arm,robot,80000,8,4000
    [tasks]
    task,shop,hand_s,robot_s,robot,station
    seam,body,60,40,arm,weld
    clean,body,15,,,weld
    ";
    let by_hand = LINE
        .replace("mttr_min,crew", "mttr_min,crew,heads,robots,robot")
        .replace(
            "weld,body,75,0.1,100,4,fitters",
            "weld,body,75,0.1,100,4,fitters,1,0,",
        );
    let ideas = ideas_of(
        &workbook(&format!("{by_hand}{tasks}")),
        1,
        &flow::Watch::none(),
    )
    .unwrap();
    let robot = ideas.iter().find(|idea| idea.kind == IdeaKind::Robot);
    let robot = robot.expect("a robot for the person");
    assert_eq!(robot.place, "weld");
    assert_eq!(robot.investment, Some(80_000.0));
    // 60 of 75 s by hand go to the robot, which takes 40
    let cycle = robot
        .changes
        .iter()
        .find(|change| change.column == "cycle_s");
    assert_eq!(cycle.map(|change| change.to.as_str()), Some("40"));
    let by_robot = by_hand.replace(
        "weld,body,75,0.1,100,4,fitters,1,0,",
        "weld,body,75,0.1,100,4,fitters,1,1,arm",
    );
    let slow = tasks.replace("seam,body,60,40", "seam,body,30,40");
    let ideas = ideas_of(
        &workbook(&format!("{by_robot}{slow}")),
        1,
        &flow::Watch::none(),
    )
    .unwrap();
    let back = ideas.iter().find(|idea| idea.kind == IdeaKind::Person);
    let back = back.expect("a person for the robot");
    let to = |column: &str| {
        let mut changes = back.changes.iter();
        changes
            .find(|change| change.column == column)
            .map(|change| change.to.as_str())
    };
    assert_eq!((to("robots"), to("heads")), (Some("0"), Some("2")));
    // 75 s by robot, of which by hand three quarters
    assert_eq!(to("cycle_s"), Some("56.2"));
}

#[test]
fn covered_breaks_are_a_shift_pattern_of_their_own() {
    let shifts = "
    [shifts]
    shop,shift,days,start,end,planned_stops_min
    body,day,mon-fri,06:00,22:00,60
    ";
    let ideas = ideas_of(
        &workbook(&format!("{LINE}{shifts}")),
        1,
        &flow::Watch::none(),
    )
    .unwrap();
    let covered = ideas
        .iter()
        .find(|idea| idea.name == "breaks of body covered in turn");
    let covered = covered.expect("covered breaks");
    assert_eq!(covered.kind, IdeaKind::Shift);
    assert_eq!(covered.changes[0].to, "0");
    assert!(
        ideas
            .iter()
            .any(|idea| idea.name == "day shift of body on Saturday too")
    );
}

#[test]
fn an_idea_that_changes_nothing_is_said_to_and_not_run() {
    let found = ranked_of(LINE, &QUICK);
    let why = |name: &str| {
        let mut unrun = found.unrun.iter();
        unrun
            .find(|one| one.idea.name == name)
            .map(|one| one.why.clone())
    };
    assert_eq!(why("as it is"), Some(Unrun::Stands));
    assert_eq!(why("new paint"), Some(Unrun::Unseen));
}

#[test]
fn an_idea_for_a_cell_that_is_missing_is_refused_with_the_nearest_name() {
    let wrong = LINE.replace(
        "quick torch,stations,weld,cycle_s",
        "quick torch,stations,wled,cycle_s",
    );
    let why = improve(
        &workbook(&wrong),
        &QUICK,
        &Shelf::new(),
        &Memory::default(),
        &Watch::none(),
    )
    .unwrap_err();
    let NoAnswer::Problems(problems) = why else {
        panic!("{why}");
    };
    assert_eq!(problems[0].code, "ideas/unknown-place");
    assert_eq!(problems[0].nearest.as_deref(), Some("weld"));
}

#[test]
fn an_idea_that_breaks_the_book_is_refused_and_the_others_are_ranked() {
    let wrong = LINE.replace(
        "quick torch,stations,weld,cycle_s,75,66",
        "quick torch,stations,weld,units,,0",
    );
    let found = ranked_of(&wrong, &QUICK);
    let refused = found
        .unrun
        .iter()
        .find(|one| one.idea.name == "quick torch");
    let Some(Unrun::Refused { problems }) = refused.map(|one| &one.why) else {
        panic!("{:?}", found.unrun);
    };
    assert_eq!(problems[0].column.as_deref(), Some("units"));
    assert!(!found.ideas.is_empty());
}

#[test]
fn the_same_seed_gives_the_same_ranking_on_any_number_of_threads_and_from_memory() {
    let memory = Memory::default();
    let text = workbook(LINE);
    let ask = |threads: usize, memory: &Memory| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| improve(&text, &QUICK, &Shelf::new(), memory, &Watch::none()).unwrap())
    };
    let one = ask(1, &memory);
    assert_eq!(ask(3, &Memory::default()), one);
    // kept as text and read again: nothing is run, all is the same
    let kept = Memory::from_json(&memory.to_json().unwrap()).unwrap();
    assert_eq!(ask(2, &kept), one);
}

#[test]
fn a_ranking_cut_short_tells_the_best_so_far_and_goes_on_from_there() {
    let memory = Memory::default();
    let (cancel, runs) = (AtomicBool::new(false), AtomicU32::new(0));
    let watch = Watch {
        cancel: &cancel,
        progress: &|_| {
            if runs.fetch_add(1, Ordering::Relaxed) == 30 {
                cancel.store(true, Ordering::Relaxed);
            }
        },
    };
    let cut = improve(&workbook(LINE), &QUICK, &Shelf::new(), &memory, &watch);
    match cut {
        Ok(cut) => assert!(cut.stopped),
        Err(why) => assert_eq!(why, NoAnswer::Cancelled),
    }
    let on = improve(
        &workbook(LINE),
        &QUICK,
        &Shelf::new(),
        &memory,
        &Watch::none(),
    )
    .unwrap();
    assert_eq!(on, ranked_of(LINE, &QUICK));
}

fn a_week(cars: f64) -> Goal {
    Goal {
        cars_per_week: Some(cars),
        days: None,
    }
}

/// What a search told of its best so far, each time that it changed.
fn told_by<T>(search: impl FnOnce(&Watch<'_>) -> T) -> (Vec<Vec<SoFar>>, T) {
    let told: Mutex<Vec<Vec<SoFar>>> = Mutex::new(Vec::new());
    let never = AtomicBool::new(false);
    let watch = Watch {
        cancel: &never,
        progress: &|at| {
            assert!(at.done <= at.of, "{at:?}");
            let mut told = told.lock().unwrap();
            if told.last() != Some(&at.best) {
                told.push(at.best.clone());
            }
        },
    };
    let found = search(&watch);
    (told.into_inner().unwrap(), found)
}

#[test]
fn while_ideas_are_tried_the_first_so_far_is_told_with_how_sure_that_is() {
    let (text, memory) = (workbook(LINE), Memory::default());
    let (told, found) =
        told_by(|watch| improve(&text, &QUICK, &Shelf::new(), &memory, watch).unwrap());
    assert_eq!(
        told[0],
        [],
        "nothing is told before every idea has two runs"
    );
    let last = told.last().unwrap();
    let first = &found.ideas[0];
    assert_eq!(
        last[0].what,
        format!("cars a week more, {}", first.idea.name)
    );
    assert!((last[0].value - first.cars.mean).abs() < 0.2 * first.cars.mean);
    assert_eq!(last[1].what, "% sure that no other makes more");
    assert!(
        told[1..]
            .iter()
            .all(|best| (0.0..=100.0).contains(&best[1].value))
    );
    assert!(told.len() > 1, "told as the runs go on: {told:?}");
}

#[test]
fn while_a_way_is_sought_its_distance_is_told_and_then_what_it_costs_a_year() {
    let (text, memory) = (workbook(LINE), Memory::default());
    let (told, found) =
        told_by(|watch| reach(&text, a_week(7_600.0), &WAY, &memory, watch).unwrap());
    let way = found.cheapest.unwrap();
    let first = |best: &Vec<SoFar>| best.first().cloned();
    let short = |one: &SoFar| one.what == "cars a week short";
    let firsts: Vec<SoFar> = told.iter().filter_map(first).collect();
    let reached = firsts.iter().position(|one| !short(one)).unwrap();
    assert!(
        firsts[..reached].iter().all(short) && reached > 0,
        "{firsts:?}"
    );
    let currency = &found.as_it_is.currency;
    let money = format!("{currency} a year");
    assert!(
        firsts[reached..].iter().all(|one| one.what == money),
        "{firsts:?}"
    );
    assert_eq!(firsts.last().unwrap().value, way.set.yearly);
    let together = told.last().unwrap()[1].clone();
    assert_eq!(together.what, "ideas together");
    assert_eq!(together.value, way.set.ideas.len() as f64);
}

#[test]
fn settings_that_make_no_ranking_are_refused_in_words() {
    let wrong = ImproveSettings { first: 1, ..QUICK };
    let (shelf, memory) = (Shelf::new(), Memory::default());
    let why = improve(&workbook(LINE), &wrong, &shelf, &memory, &Watch::none()).unwrap_err();
    assert!(why.to_string().contains("expected at least 2"), "{why}");
}

#[test]
fn ideas_at_one_constraint_together_make_less_than_their_sum() {
    let text = workbook(LINE);
    let ideas = ideas_of(&text, 1, &flow::Watch::none()).unwrap();
    let pick = |name: &str| {
        ideas
            .iter()
            .find(|idea| idea.name == name)
            .cloned()
            .unwrap()
    };
    let both = [pick("quick torch"), pick("one more unit of weld")];
    let found = together(&text, &both, 1, &Memory::default(), &flow::Watch::none()).unwrap();
    assert!(found.cars.mean > 0.0 && found.shown);
    assert!(found.beyond.mean < 0.0, "{:?}", found.beyond);
    let why = together(
        &text,
        &[pick("quick torch"), pick("cycle of weld 5 % shorter")],
        1,
        &Memory::default(),
        &flow::Watch::none(),
    );
    assert!(why.unwrap_err().to_string().contains("the same cell"));
}

const WAY: ReachSettings = ReachSettings {
    control: 12,
    confirm: 8,
    runs: 400,
    ideas: 8,
    ..ReachSettings::USUAL
};

#[test]
fn a_bank_has_a_price_both_ways() {
    let found = buffers::banks(
        &workbook(LINE),
        &buffers::BankSettings {
            banks: 4,
            ..buffers::BankSettings::USUAL
        },
        &Memory::default(),
        &flow::Watch::none(),
    )
    .unwrap();
    assert_eq!((found.banks.len(), found.of), (4, 4));
    let bank = found
        .banks
        .iter()
        .find(|bank| bank.to == "weld")
        .expect("before weld");
    assert_eq!(
        (bank.fewer.places, bank.places, bank.more.places),
        (2, 4, 6)
    );
    // fewer places before the constraint: less time from coil to car
    assert!(bank.fewer.days.mean < 0.0, "{bank:?}");
}
