//! Who follows the way out that a problem names is rid of the problem, and not led
//! into the next one.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test")]

use book::{Problem, Severity};
use flow::{Plan, Watch};
use whole::findings::{RunSettings, find};

const SHIFTS: &str = "[shifts]\nshop,shift,days,start,end\nbody,day,mon-fri,06:00,14:00\n";
const PRODUCTS: &str = "[products]\nproduct,cars_per_week\nvan,700\n";
const STATIONS: &str = "[stations]\nstation,shop,units,cycle_s,mtbf_min,mttr_min,first_time_ok,rework_to,takes,source\n";
const LINKS: &str = "[links]\nfrom,to,holds,move_s\n";
/// A line without fault behind which a case puts its own rows.
const LINE: &str = "weld,trim,3,5\n";

/// A broken book, the code that it earns and the same book after the way out.
struct Mend {
    code: &'static str,
    stations: [&'static str; 2],
    links: [&'static str; 2],
}

const MENDS: [Mend; 9] = [
    Mend {
        code: "stations/no-rework-way",
        stations: [
            "weld,body,1,30,100,5,0.99,,,\ntrim,body,2,60,,,,,,\n",
            "weld,body,1,30,100,5,0.99,weld,,\ntrim,body,2,60,,,,,,\n",
        ],
        links: [LINE, LINE],
    },
    Mend {
        code: "stations/no-rework-way",
        stations: [
            "weld,body,1,30,,,0.99,,,yes\ntrim,body,2,60,,,,,,\n",
            "weld,body,1,30,,,0.99,weld,,yes\ntrim,body,2,60,,,,,,\n",
        ],
        links: [LINE, LINE],
    },
    Mend {
        code: "stations/no-rework-way",
        stations: [
            "weld,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,,,\n",
            "weld,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,trim,,\n",
        ],
        links: [LINE, LINE],
    },
    // A station that joins is not told to take its cars again.
    Mend {
        code: "stations/no-rework-way",
        stations: [
            "weld,body,1,30,,,,,,\ndoors,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,,one_of_each,\nship,body,1,20,,,,,,\n",
            "weld,body,1,30,,,,,,\ndoors,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,mend,one_of_each,\nship,body,1,20,,,,,,\nmend,body,1,90,,,,,,\n",
        ],
        links: [
            "weld,trim,3,5\ndoors,trim,3,5\ntrim,ship,2,5\n",
            "weld,trim,3,5\ndoors,trim,3,5\ntrim,ship,2,5\ntrim,mend,4,5\nmend,ship,2,5\n",
        ],
    },
    Mend {
        code: "stations/no-rework-link",
        stations: ["saw,body,1,20,,,,,,\nweld,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,weld,,\n"; 2],
        links: [
            "saw,weld,3,5\nweld,trim,3,5\n",
            "saw,weld,3,5\nweld,trim,3,5\ntrim,weld,8,5\n",
        ],
    },
    // Nor is a line led into a first station that cars only come back to.
    Mend {
        code: "stations/nothing-leads-to",
        stations: [
            "weld,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,weld,,\n",
            "call,body,1,5,,,,,,\nweld,body,1,30,,,,,,\ntrim,body,2,50,,,0.9,weld,,\n",
        ],
        links: [
            "weld,trim,3,5\ntrim,weld,8,5\n",
            "weld,trim,3,5\ntrim,weld,8,5\ncall,weld,2,5\n",
        ],
    },
    Mend {
        code: "stations/half-a-stop",
        stations: [
            "weld,body,1,30,100,,,,,\ntrim,body,2,50,,,,,,\n",
            "weld,body,1,30,100,5,,,,\ntrim,body,2,50,,,,,,\n",
        ],
        links: [LINE, LINE],
    },
    Mend {
        code: "links/unknown-name",
        stations: ["weld,body,1,30,,,,,,\ntrim,body,2,50,,,,,,\n"; 2],
        links: ["weld,trmi,3,5\n", LINE],
    },
    Mend {
        code: "links/out-of-range",
        stations: ["weld,body,1,30,,,,,,\ntrim,body,2,50,,,,,,\n"; 2],
        links: ["weld,trim,1000001,5\n", "weld,trim,1000000,5\n"],
    },
];

impl Mend {
    fn text(&self, mended: usize) -> String {
        let (stations, links) = (self.stations[mended], self.links[mended]);
        format!("{SHIFTS}{PRODUCTS}{STATIONS}{stations}{LINKS}{links}")
    }
}

fn errors(text: &str) -> Vec<Problem> {
    let checked = book::check(&book::small::workbook(text));
    let mut errors = checked.problems;
    errors.retain(|problem| problem.severity == Severity::Error);
    errors
}

#[test]
fn the_way_out_of_a_problem_leads_to_a_book_that_is_planned_and_built() {
    for mend in &MENDS {
        let before = errors(&mend.text(0));
        assert!(
            before.iter().any(|problem| problem.code == mend.code),
            "{} is not among {before:?}",
            mend.code
        );
        let text = mend.text(1);
        let left = errors(&text);
        assert!(left.is_empty(), "{} leaves {left:?}", mend.code);
        let book = book::small::book(&text);
        whole::plan::plan(&book).unwrap_or_else(|problems| panic!("{problems:#?}"));
        let built = whole::network::build(&book);
        let built = built.unwrap_or_else(|problems| panic!("{problems:#?}"));
        Plan::compile(&built.network).unwrap_or_else(|faults| panic!("{faults:#?}"));
    }
}

#[test]
fn a_line_that_failed_cars_come_back_to_the_begin_of_is_told_to_start_before_it() {
    let back = MENDS
        .iter()
        .find(|mend| mend.code == "stations/nothing-leads-to");
    let problems = errors(&back.unwrap().text(0));
    let told = problems
        .iter()
        .find(|p| p.code == "stations/nothing-leads-to");
    assert_eq!(
        told.unwrap().mend,
        "put a station where cars start before `weld`, with a link from it to `weld`"
    );
}

#[test]
fn a_first_station_welds_again_what_was_not_right_and_so_sends_less() {
    let book = book::small::book(&format!(
        "{SHIFTS}{PRODUCTS}{STATIONS}weld,body,1,60,,,0.8,weld,,\ntrim,body,2,60,,,,,,\n\
         {LINKS}{LINE}"
    ));
    let plan = whole::plan::plan(&book).unwrap();
    // 700 good cars take 875 welds, and a week of 40 hours has time for 2,400.
    let weld = &plan.stations[0];
    assert!(
        (weld.jobs.value - 875.0).abs() < 1e-6,
        "{}",
        weld.jobs.value
    );
    assert!((weld.load.value - 875.0 / 2_400.0).abs() < 1e-9);
    assert!(!weld.over);
    let settings = RunSettings {
        replications: 4,
        weeks: 2,
        trials: 0,
        ..RunSettings::USUAL
    };
    let answer = find(&book, &settings, &Watch::none()).unwrap();
    let (made, half) = (answer.made.mean, answer.made.half_width.max(20.0));
    assert!((made - 0.8 * 2_400.0).abs() < 2.0 * half, "{made} ± {half}");
}
