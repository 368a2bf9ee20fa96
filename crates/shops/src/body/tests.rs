use book::small::book;
use book::{JoinMethod, Severity};

use super::*;

/// A takt of 258.26 s, so that 92 % of it is the published cycle of 237.6 s.
fn asked(book: &Book, steps: u64) -> Result<Body, Vec<Problem>> {
    let needs: Vec<BodyNeed> = lines(book)
        .into_iter()
        .map(|(line, shop)| BodyNeed {
            line,
            shop,
            net: Minutes(4_304.347_826).into(),
            jobs: Count(1_000.0).into(),
        })
        .collect();
    body(
        &Question {
            book,
            needs: &needs,
            takt: None,
            aim: Aim::FewestRobots,
            steps,
            ladder: true,
        },
        &Watch::none(),
    )
}

fn planned(text: &str) -> Body {
    match asked(&book(text), 2_000) {
        Ok(plan) => plan,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn refused(text: &str) -> Vec<Problem> {
    match asked(&book(text), 200) {
        Ok(_) => panic!("a plan where none can be"),
        Err(problems) => problems,
    }
}

/// Two stations that join and one frame before them.
const PLANT: &str = "
    [materials]
    material,density_kg_m3
    soft,2660
    hard,2710
    steel,7850
    [parts]
    part,material,gauge_mm,to,source
    skin,soft,1.0,,bought
    floor,soft,1.5,,bought
    member,hard,2.0,,bought
    rail,hard,2.5,,bought
    thick,hard,5.0,,bought
    bracket,steel,1.5,,bought
    [stations]
    station,shop,line,cycle_s,robots_most
    frame,body,floor,,2
    join a,body,floor,,10
    join b,body,floor,200,10
    [links]
    from,to
    frame,join a
    join a,join b
";

fn with(joins: &str) -> String {
    format!("{PLANT}\n[joins]\n{joins}")
}

const POINTS: &str = "join,assembly,method,count,stack,station,methods,pitch_mm,flange_mm,edge_mm,geometry,access,visible,zone,after\n";

fn points(rows: &str) -> String {
    with(&format!("{POINTS}{rows}"))
}

#[test]
fn nine_hundred_rivets_take_nineteen_robots() {
    // Robots for 900 rivets (arithmetic): 2.0 + 2.2 s each, 237.6 s at 92 % less
    // 12 s: 49 a robot, 19 robots. Turns are left out, as there.
    let plan = planned(&with(
        "join,assembly,method,count,stack,turns
         a,floor,rivet,450,floor;member,0
         b,floor,rivet,450,floor;member,0",
    ));
    let net = &plan.stations[0].net_s;
    assert!((net.value - 206.592).abs() < 1e-3, "{net:?}");
    assert_eq!((plan.robots, plan.robots_bound, plan.joints), (19, 19, 900));
    assert!(plan.holds && plan.stuck.is_empty());
    // 180,000 a day at 200 cars: here 900 rivets a car and 1,000 cars a week.
    let rivets = plan
        .consumables
        .iter()
        .find(|row| row.item == "rivets")
        .unwrap();
    assert_eq!((rivets.per_car, rivets.per_week), (900.0, 900_000.0));
}

#[test]
fn a_spot_takes_its_dressing_in_the_cycle_and_its_caps_as_a_stop() {
    // Effective seconds of a spot (illustrative): 0.55 + 1.6 + 8/30 + 40/1200 = 2.45.
    let plan = planned(&format!(
        "{}
        [join_figures]
        method,figure,value,source
        spot,process_s,0.55,trial",
        with(
            "join,assembly,method,count,stack,turns,flange_mm\n s,floor,spot,60,floor;member,0,20"
        )
    ));
    let group = &plan.groups[0];
    assert!((group.effective_s.value - 2.45).abs() < 1e-9);
    assert!((group.in_cycle_s - 2.416_667).abs() < 1e-6);
    let caps = plan
        .consumables
        .iter()
        .find(|row| row.item == "caps")
        .unwrap();
    // 1.66667 caps for 1,000 spots is a pair for 1,200: 60 spots take a twentieth.
    assert!((caps.per_car - 0.05).abs() < 1e-12);
    let station = plan.stations.iter().find(|row| row.joints == 60).unwrap();
    let stop = &station.stops[0];
    assert_eq!(stop.cause, "cap change");
    let cycle = station.measured_s.unwrap_or(station.cycle_s);
    assert!((stop.between_min - 20.0 * cycle / 60.0).abs() < 1e-9);
    assert!((stop.minutes - 40.0 / 60.0).abs() < 1e-9);
}

#[test]
fn a_bead_is_laid_by_its_length_and_refused_where_it_would_squeeze_out() {
    // Structural bead (balance of volume): 3 mm spreads to 28.27 mm at 0.25 mm, and
    // takes 8.4823 g and 4 s a metre.
    let rows = "join,assembly,method,count,length_mm,stack,gap_mm,bead_mm,flange_mm,turns
         wide,floor,adhesive,9,90000,floor;member,0.25,3,30,0";
    let plan = planned(&with(rows));
    let bead = plan
        .consumables
        .iter()
        .find(|row| row.item == "adhesive")
        .unwrap();
    assert!((bead.per_car - 0.763_407).abs() < 1e-6);
    let narrow = refused(&with(&rows.replace(",30,", ",20,")));
    assert_eq!(narrow[0].code, "joins/no-method");
    assert!(
        narrow[0].found.contains("spreads over 1.41 of the flange"),
        "{narrow:?}"
    );
    assert!(narrow[0].mend.contains("lay a thinner bead"));
}

#[test]
fn joints_are_counted_from_length_and_pitch() {
    // Joints that fit on a flange (geometry): 640 mm at 35 mm with 17.5 mm at each
    // end, half a pitch: floor(605 / 35) + 1 = 18.
    let plan = planned(&with(
        "join,assembly,method,length_mm,pitch_mm,stack\n f,floor,rivet,640,35,floor;member",
    ));
    assert_eq!(plan.groups[0].joints, 18);
}

#[test]
fn the_rivet_is_two_millimetres_longer_than_its_stack_in_whole_millimetres() {
    // Rivet length (published, repair trade): stack + 2 mm, the next length.
    let plan = planned(&with(
        "join,assembly,method,count,stack,adhesive_mm,gap_mm
         dry,floor,rivet,10,floor;member,,
         glued,floor,rivet,10,skin;member;rail,0,0.6",
    ));
    assert_eq!(plan.groups[0].variant, "rivet gun 6 mm");
    // 1 + 2 + 2.5 + 0.6 + 2 = 8.1.
    assert_eq!(plan.groups[1].variant, "rivet gun 9 mm");
}

fn why(plan: &Body, join: &str, method: JoinMethod) -> String {
    let group = plan.groups.iter().find(|group| group.join == join).unwrap();
    let way = group.ways.iter().find(|way| way.method == method).unwrap();
    let told: Vec<&str> = way.refused.iter().map(|rule| rule.told.as_str()).collect();
    told.join("; ")
}

#[test]
fn every_refused_method_names_rule_limit_and_value() {
    let all = "adhesive;rivet;arc;spot;tape_spot";
    let plan = planned(&points(&format!(
        "narrow,floor,rivet,10,floor;member,,{all},40,15,10,,,,,
         near,floor,spot,10,rail;rail,,{all},22,30,10,,,,,
         seen,floor,tape_spot,10,floor;member,,{all},40,30,10,,,yes,,
         mixed,floor,rivet,10,bracket;member,,{all},40,30,10,,,,,
         thin die,floor,spot,10,rail;skin,,{all},40,30,10,,,,,",
    )));
    assert_eq!(
        why(&plan, "narrow", JoinMethod::Rivet),
        "a flange of 15 mm, and it needs 16 mm at least"
    );
    assert_eq!(why(&plan, "near", JoinMethod::Rivet), "");
    // Spot pitch (published guideline): ten times the thinner sheet, 25 mm at 2.5 mm;
    // and 25 mm at least in aluminium (common practice).
    let near = "a pitch of 22 mm, and it needs 25 mm at least";
    assert_eq!(
        why(&plan, "near", JoinMethod::Spot),
        format!("{near}; {near}")
    );
    assert!(why(&plan, "seen", JoinMethod::Spot).contains("a joint that is seen"));
    assert_eq!(why(&plan, "seen", JoinMethod::TapeSpot), "");
    assert!(why(&plan, "mixed", JoinMethod::Spot).contains("different metals"));
    assert_eq!(why(&plan, "mixed", JoinMethod::Rivet), "");
    assert!(
        why(&plan, "thin die", JoinMethod::Rivet)
            .contains("0.29 of the stack on the die, and it needs 0.33 at least")
    );
    for way in plan.groups.iter().flat_map(|group| &group.ways) {
        for rule in &way.refused {
            assert!(!rule.source.is_empty() && !rule.mend.is_empty(), "{rule:?}");
        }
    }
}

#[test]
fn one_sided_stacks_and_thick_ones_leave_what_can_reach_them() {
    let all = "adhesive;rivet;arc;spot;tape_spot";
    let text = format!(
        "join,assembly,method,count,length_mm,stack,methods,access,gap_mm,adhesive_mm
         closed,floor,arc,4,400,floor;member,{all},one,0.3,
         glued,floor,rivet,4,400,floor;member,rivet;arc,,,10",
    );
    let plan = planned(&with(&text));
    assert!(why(&plan, "closed", JoinMethod::Spot).contains("access from one side"));
    assert!(why(&plan, "closed", JoinMethod::Rivet).contains("access from one side"));
    assert_eq!(
        why(&plan, "glued", JoinMethod::Arc),
        "10 mm from uncured adhesive, and its heat needs 50 mm at least"
    );
}

#[test]
fn the_book_replaces_a_limit_and_names_its_source() {
    let text = points("a,floor,rivet,10,floor;member,,rivet;spot,40,17,10,,,,,");
    let own = format!(
        "{text}
        [join_limits]
        method,rule,limit,source
        rivet,flange_least_mm,18,the plant's standard"
    );
    assert_eq!(why(&planned(&text), "a", JoinMethod::Rivet), "");
    let plan = planned(&own);
    let group = &plan.groups[0];
    assert_eq!(group.method, JoinMethod::Spot);
    let way = &group.ways[1];
    assert_eq!(
        (
            way.refused[0].limit,
            way.refused[0].value,
            way.refused[0].source.as_str()
        ),
        (18.0, 17.0, "the plant's standard")
    );
    let used = plan.limits.iter().find(|row| row.at.is_some()).unwrap();
    assert_eq!((used.rule.as_str(), used.limit), ("flange_least_mm", 18.0));
    // What the book still names is said to be refused, as a note.
    assert!(
        plan.notes
            .iter()
            .any(|n| n.code == "joins/method-refused" && n.severity == Severity::Note)
    );
}

#[test]
fn the_cheaper_method_is_taken_with_its_runner_up() {
    let plan = planned(&format!(
        "{}
        [robots]
        robot,kind,investment,methods
        gun,robot,150000,rivet;spot",
        points("a,floor,rivet,100,floor;member,,rivet;spot,40,30,10,,,,,")
    ));
    let group = &plan.groups[0];
    let cost = |at: usize| group.ways[at].cost_per_year.unwrap();
    let (rivet, spot) = (cost(1), cost(3));
    assert_eq!(
        group.method,
        if spot < rivet {
            JoinMethod::Spot
        } else {
            JoinMethod::Rivet
        }
    );
    assert!(group.runner_up.is_some());
    assert!((group.runner_up_dearer.unwrap() - (spot - rivet).abs()).abs() < 1e-6);
    let figure = &plan.figures[&group.cost_per_year.as_ref().unwrap().figure];
    assert!((figure.value - spot.min(rivet)).abs() < 1e-6 * spot);
}

#[test]
fn a_gun_that_one_small_group_needs_is_saved() {
    // A rivet for 4 joints costs a gun of its own; as spots they share one.
    let plan = planned(&points(
        "many,floor,spot,200,floor;member,,spot,40,30,10,,,,,
         few,floor,rivet,4,floor;member,,rivet;spot,40,30,10,,,,,",
    ));
    assert_eq!(plan.groups[1].method, JoinMethod::Spot);
}

#[test]
fn geometry_is_made_first_in_its_own_frame_and_zones_are_kept_apart() {
    let plan = planned(&points(
        "frame joints,floor,rivet,10,floor;member,frame,,40,30,10,yes,,,left,
         left,floor,rivet,30,floor;member,,,40,30,10,,,,left,frame joints
         right,floor,rivet,30,floor;member,,,40,30,10,,,,right,frame joints",
    ));
    assert!(plan.holds);
    let mut first = f64::INFINITY;
    let mut framed: f64 = 0.0;
    for station in &plan.stations {
        let mut spans: Vec<(&str, f64, f64)> = Vec::new();
        for step in station.robots.iter().flat_map(|robot| &robot.steps) {
            let zone = step.zone.as_deref().unwrap();
            let clash = spans.iter().any(|(other, from, to)| {
                *other == zone && step.start_s < to - 1e-9 && *from < step.end_s - 1e-9
            });
            assert!(!clash, "{station:?}");
            spans.push((zone, step.start_s, step.end_s));
            if step.join == "frame joints" {
                assert_eq!(station.station, "frame");
                framed = framed.max(step.end_s);
            } else if station.station == "frame" {
                first = first.min(step.start_s);
            }
        }
    }
    assert!(framed <= first + 1e-9);
}

#[test]
fn a_station_without_a_cycle_has_that_of_its_last_robot_and_a_measured_one_stays() {
    let plan = planned(&points(
        "a,floor,rivet,30,floor;member,join a,,40,30,10,,,,,",
    ));
    let station = plan
        .stations
        .iter()
        .find(|row| row.station == "join a")
        .unwrap();
    let last = station.robots[0].end_s;
    assert!((station.cycle_s - last).abs() < 1e-9 && last > station.index_s);
    assert_eq!(station.measured_s, None);
    let other = plan
        .stations
        .iter()
        .find(|row| row.station == "join b")
        .unwrap();
    assert_eq!(other.measured_s, Some(200.0));
}

#[test]
fn more_takt_never_takes_more_robots_and_one_less_says_what_it_needs() {
    let plan = planned(&points("a,floor,rivet,300,floor;member,,,40,30,10,,,,,"));
    let robots: Vec<u32> = plan.takts.iter().filter_map(|row| row.robots).collect();
    assert!(
        robots.windows(2).all(|pair| pair[0] >= pair[1]),
        "{robots:?}"
    );
    if let Some(less) = &plan.one_less {
        assert_eq!(less.robots, plan.robots - 1);
        assert!(less.more_s >= 1.0);
    }
}

#[test]
fn parts_that_come_later_are_joined_later() {
    let text = points("a,floor,rivet,30,floor;member,,,40,30,10,,,,,")
        .replace("member,hard,2.0,", "member,hard,2.0,join b");
    assert_eq!(planned(&text).groups[0].stations, ["join b"]);
}

#[test]
fn a_stack_that_no_method_joins_says_which_rule_and_what_would_free_it() {
    let problems = refused(&points(
        "a,floor,rivet,10,thick;thick;thick,,,40,30,10,,,,,",
    ));
    assert_eq!(
        (problems[0].code.as_str(), problems[0].row),
        ("joins/no-method", Some(2))
    );
    assert!(
        problems[0]
            .found
            .contains("a stack of 15 mm, and it takes 12 mm at most")
    );
    assert!(
        problems[0]
            .mend
            .contains("for rivet: change gauges so that the stack is 12 mm")
    );
}

#[test]
fn a_bead_longer_than_the_cycle_is_named_with_its_row() {
    let problems = refused(&with(
        "join,assembly,method,length_mm,stack\n long,floor,adhesive,90000,floor;member",
    ));
    assert_eq!(problems[0].code, "joins/longer-than-takt");
    assert!(problems[0].mend.contains("divide the seam or bead"));
}

#[test]
fn a_zone_with_more_work_than_time_names_its_groups() {
    let problems = refused(&points(
        "a,floor,rivet,60,floor;member,join a,,40,30,10,,,,left,",
    ));
    assert_eq!(
        (problems[0].code.as_str(), problems[0].column.as_deref()),
        ("joins/zone-too-long", Some("zone"))
    );
    assert!(
        problems[0].found.contains("zone `left`") && problems[0].mend.contains("divide the zone")
    );
}

#[test]
fn an_order_against_the_stations_names_both() {
    let problems = refused(&points(
        "a,floor,rivet,6,floor;member,join b,,40,30,10,,,,,
         b,floor,rivet,6,floor;member,join a,,40,30,10,,,,,a",
    ));
    assert_eq!(problems[0].code, "joins/out-of-order");
    assert!(problems[0].found.contains("`b`") && problems[0].found.contains("`a`"));
}

#[test]
fn an_assembly_without_stations_gets_the_nearest_line() {
    let problems = refused(&points(
        "a,flor,rivet,6,floor;member,,,40,30,10,,,,,\n b,floor,rivet,6,floor;member,,,40,30,10,,,,,",
    ));
    assert_eq!(problems[0].code, "joins/no-station");
    assert_eq!(problems[0].nearest.as_deref(), Some("floor"));
}

#[test]
fn geometry_without_a_frame_and_a_part_without_a_gauge_are_told() {
    let text = points("a,floor,rivet,6,floor;member,,,40,30,10,yes,,,,")
        .replace("rail,hard,2.5,", "rail,hard,,");
    assert_eq!(refused(&text)[0].code, "joins/no-frame");
    let text = points("a,floor,rivet,6,floor;rail,,,40,30,10,,,,,")
        .replace("rail,hard,2.5,", "rail,hard,,");
    let problems = refused(&text);
    assert_eq!(problems[0].code, "joins/no-gauge");
    assert!(problems[0].mend.contains("parts row"));
}

#[test]
fn joints_that_find_no_robot_are_told_with_ways_out() {
    let text = points("a,floor,rivet,600,floor;member,frame,,40,30,10,,,,,");
    let plan = planned(&text);
    assert!(!plan.holds);
    let stuck = &plan.stuck[0];
    assert_eq!(
        stuck.joints,
        600 - 2 * (206.592_f64 / (4.2 + 2.0 / 12.0)).floor() as u32
    );
    assert!(
        stuck.mend.contains("one robot more stand at frame") && stuck.mend.contains("raise takt")
    );
}

#[test]
fn a_figure_of_nothing_by_which_time_is_divided_is_refused() {
    let text = format!(
        "{}\n[join_figures]\nmethod,figure,value\nspot,dress_every,0",
        points("a,floor,spot,6,floor;member,,,40,30,10,,,,,")
    );
    let problems = refused(&text);
    assert_eq!(
        (problems[0].code.as_str(), problems[0].row),
        ("join_figures/out-of-range", Some(2))
    );
}

#[test]
fn a_reach_beyond_every_robot_is_told() {
    let text = format!(
        "{}\n[robots]\nrobot,kind,reach_mm,methods\nshort,robot,2000,rivet",
        with("join,assembly,method,count,stack,reach_mm\n far,floor,rivet,6,floor;member,2600")
    );
    let problems = refused(&text);
    assert!(
        problems[0]
            .found
            .contains("a reach of 2600 mm, and its robots reach 2000 mm at most")
    );
}

#[test]
fn what_can_hurt_someone_is_said() {
    let text = planned(&points("a,floor,spot,6,floor;member,,,40,30,10,,,,,"))
        .cautions
        .join(" ");
    for word in [
        "40 to 80 kN",
        "25 to 45 kA",
        "ISO 10218",
        "ultraviolet",
        "dust",
        "local codes",
    ] {
        assert!(text.contains(word), "no {word}");
    }
}
