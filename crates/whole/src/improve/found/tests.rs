use shops::Watch;
use shops::coil::Shelf;

use super::super::{IdeaKind, Improve, ImproveSettings, Memory, RankedIdea, improve};
use crate::sample::workbook;

/// Three stations; the second leaves its cycle to its tasks and is the slowest.
const BY_TASKS: &str = "
    [products]
    product,cars_per_week
    van,9000
    [robots]
    robot,kind,investment,life_years
    bead robot,robot,90000,8
    [stations]
    station,shop,line,cycle_s,heads
    cut,trim,main,60,1
    fit,trim,main,,1
    check,trim,main,60,1
    [tasks]
    task,shop,line,hand_s,aid_s,robot_s,robot,bead_mm,bead_mm_s,after,station
    seal,trim,main,,,40,bead robot,3000,150,,fit
    clips,trim,main,20,,,,,,,fit
    glass,trim,main,60,,,,,,,fit
    [links]
    from,to,holds
    cut,fit,4
    fit,check,4
";

fn ranked_of(text: &str) -> Improve {
    let settings = ImproveSettings {
        runs: 60,
        control: 6,
        ideas: 12,
        ..ImproveSettings::USUAL
    };
    improve(
        &workbook(text),
        &settings,
        &Shelf::new(),
        &Memory::default(),
        &Watch::none(),
    )
    .unwrap_or_else(|why| panic!("{why}"))
}

fn work_at_fit(found: &Improve) -> &RankedIdea {
    let mut ideas = found.ideas.iter();
    ideas
        .find(|ranked| ranked.idea.name == "work at fit 5 % shorter")
        .unwrap_or_else(|| panic!("{:?}", found.ideas))
}

#[test]
fn where_tasks_make_the_cycle_the_work_is_what_gets_shorter() {
    let found = ranked_of(BY_TASKS);
    let idea = &work_at_fit(&found).idea;
    assert_eq!((idea.kind, idea.place.as_str()), (IdeaKind::Cycle, "fit"));
    let cells = idea.changes.iter();
    let cells: Vec<(&str, &str, &str)> = cells
        .map(|change| {
            (
                change.row.as_str(),
                change.column.as_str(),
                change.to.as_str(),
            )
        })
        .collect();
    // of the seal's 40 s the bead's 3,000 mm at 150 mm/s stay
    assert_eq!(
        cells,
        [
            ("seal", "robot_s", "39"),
            ("clips", "hand_s", "19"),
            ("glass", "hand_s", "57"),
        ]
    );
    // what it costs the book does not say, and nothing is made up
    assert_eq!((idea.investment, idea.cost_per_year), (None, None));
}

#[test]
fn work_five_per_cent_shorter_at_the_slowest_gives_its_share_of_the_cars() {
    let by_hand = BY_TASKS.replace(",,,40,bead robot,3000,150,,fit", ",40,,,,,,,fit");
    let found = ranked_of(&by_hand);
    let ranked = work_at_fit(&found);
    // 40 + 20 + 60 = 120 s; in 114 s one car in twenty less
    let wanted = found.as_it_is.made.mean * (120.0 / 114.0 - 1.0);
    assert!(ranked.shown, "{ranked:?}");
    assert!(
        (ranked.cars.mean / wanted - 1.0).abs() < 0.01,
        "{wanted} {ranked:?}"
    );
}

#[test]
fn a_measured_cycle_is_cut_itself_and_its_tasks_are_not() {
    let measured = BY_TASKS.replace("fit,trim,main,,1", "fit,trim,main,120,1");
    let found = ranked_of(&measured);
    let names: Vec<&str> = found
        .ideas
        .iter()
        .map(|one| one.idea.name.as_str())
        .collect();
    assert!(names.contains(&"cycle of fit 5 % shorter"), "{names:?}");
    assert!(!names.contains(&"work at fit 5 % shorter"), "{names:?}");
}
