//! Hard screens: which ways to do a task are out of the question, whatever
//! they cost.

use book::{Book, Robot, RobotKind, Task};
use formulas::{Centimetres, Degrees, lifting};
use units::{Kilograms, Share};

use super::model::{How, Way};
use super::price::Prices;
use crate::sheet::{Sheet, ShopValue, Stands, cell, problem};

/// How exactly a person places a part, where the book does not say (common
/// practice).
const HAND_MM: f64 = 1.0;

/// Mass of a gripper beside what it carries (common practice: 60 to 100 kg for
/// seats and glass).
const GRIPPER_KG: f64 = 80.0;

/// Beyond this the source's equation gives no limit: hands further away or
/// higher are no lift for a person.
const FURTHEST_CM: f64 = 63.0;
const HIGHEST_CM: f64 = 175.0;
const MOST_TURNED_DEG: f64 = 135.0;

/// Lifts a minute, and what is left of the limit for hands below and from 75 cm,
/// for a whole shift (Waters, Putz-Anderson and Garg, Applications Manual for
/// the Revised NIOSH Lifting Equation, 1994, table 5; from memory).
const FREQUENCY: [(f64, f64, f64); 13] = [
    (0.2, 0.85, 0.85),
    (0.5, 0.81, 0.81),
    (1.0, 0.75, 0.75),
    (2.0, 0.65, 0.65),
    (3.0, 0.55, 0.55),
    (4.0, 0.45, 0.45),
    (5.0, 0.35, 0.35),
    (6.0, 0.27, 0.27),
    (7.0, 0.22, 0.22),
    (8.0, 0.18, 0.18),
    (9.0, 0.0, 0.15),
    (10.0, 0.0, 0.13),
    (f64::INFINITY, 0.0, 0.0),
];

/// The ways that the book gives a task, each with what the screens say.
pub(super) fn ways(
    sheet: &mut Sheet,
    book: &Book,
    task: &Task,
    lifts_per_min: f64,
    prices: &Prices,
) -> Vec<Way> {
    let mut ways = Vec::new();
    let robot = by_robot(sheet, book, task, prices);
    let robot_can = robot.as_ref().is_some_and(|way| way.refused.is_none());
    let way = |how, seconds, tool: &Option<String>| Way {
        how,
        by: prices.person.name.clone(),
        tool: tool.clone(),
        seconds,
        cost_per_year: 0.0,
        lifting_index: None,
        refused: None,
    };
    if let Some(seconds) = task.hand_s {
        let mut hand = way(How::Hand, seconds.0, &task.tool);
        hand.refused = by_hand(task, book, robot_can);
        if let Some(load) = task.lift_kg {
            lifted(sheet, task, load, lifts_per_min, &mut hand);
        }
        ways.push(hand);
    }
    if let Some(seconds) = task.aid_s {
        let mut aided = way(How::Aided, seconds.0, &task.aid);
        aided.refused = with_aid(task, book, robot_can);
        ways.push(aided);
    }
    ways.extend(robot);
    ways
}

/// How exactly a person places a part.
fn hand_mm(book: &Book) -> f64 {
    let person = book.robots.iter().find(|r| r.kind == RobotKind::Person);
    person
        .and_then(|row| row.repeat_mm)
        .map_or(HAND_MM, |mm| mm.0)
}

/// What speaks against a person with the aid, which places as exactly as it
/// locates, and as a hand does where it only carries.
fn with_aid(task: &Task, book: &Book, robot_can: bool) -> Option<String> {
    let name = task.aid.as_deref();
    let aid = book
        .tools
        .iter()
        .find(|row| Some(row.tool.as_str()) == name);
    let hand = hand_mm(book);
    let locates = aid.and_then(|row| row.repeat_mm).map(|mm| mm.0);
    let exact = locates.map_or(hand, |aid| aid.min(hand));
    if let Some(needed) = task.tolerance_mm.filter(|mm| mm.0 < exact) {
        return Some(match locates {
            Some(_) => format!(
                "it must be placed within {} mm and the aid places within {exact} mm",
                needed.0
            ),
            None => format!(
                "it must be placed within {} mm, a hand places within {exact} mm, and the aid \
                 does not locate (its repeat_mm in tools is empty)",
                needed.0
            ),
        });
    }
    bead(task, robot_can)
}

/// What speaks against a person's bare hands, weight apart.
fn by_hand(task: &Task, book: &Book, robot_can: bool) -> Option<String> {
    let exact = hand_mm(book);
    if let Some(needed) = task.tolerance_mm.filter(|mm| mm.0 < exact) {
        return Some(format!(
            "it must be placed within {} mm and a hand places within {exact} mm",
            needed.0
        ));
    }
    bead(task, robot_can)
}

fn bead(task: &Task, robot_can: bool) -> Option<String> {
    (task.bead_mm.is_some() && robot_can)
        .then(|| "a bead is even by robot; by hand it is the way out when the robot is down".into())
}

/// Puts the lifting index on a way by hand, the worse of where the lift begins
/// and ends; above 1 the way is refused.
fn lifted(sheet: &mut Sheet, task: &Task, load: Kilograms, per_min: f64, hand: &mut Way) {
    let beyond = |what: &str, found: f64, most: f64| {
        format!(
            "{what} {found}, and beyond {most} the lifting equation gives no limit: it takes an aid"
        )
    };
    let high = task.lift_from_cm.max(task.lift_to_cm);
    let refused = if task.hands_cm > FURTHEST_CM {
        Some(beyond("hands_cm is", task.hands_cm, FURTHEST_CM))
    } else if high > HIGHEST_CM {
        Some(beyond("the hands' height in cm is", high, HIGHEST_CM))
    } else if task.turn_deg > MOST_TURNED_DEG {
        Some(beyond("turn_deg is", task.turn_deg, MOST_TURNED_DEG))
    } else {
        None
    };
    if refused.is_some() {
        hand.refused = refused;
        return;
    }
    let ends = [
        ("begins", task.lift_from_cm, "lift_from_cm"),
        ("ends", task.lift_to_cm, "lift_to_cm"),
    ];
    let indices =
        ends.map(|(end, height, column)| index(sheet, task, load, per_min, (end, height, column)));
    let worst = indices.into_iter().flatten();
    let worst = worst.max_by(|a, b| a.0.value.total_cmp(&b.0.value));
    let Some((index, limit)) = worst else {
        hand.refused.get_or_insert_with(|| {
            format!("{per_min:.1} lifts a minute are too many for a whole shift")
        });
        return;
    };
    if index.value > 1.0 {
        hand.refused = Some(format!(
            "lifting index {:.2}: {} kg against a limit of {limit:.1} kg, so it takes an aid",
            index.value, load.0
        ));
    }
    hand.lifting_index = Some(index);
}

/// Index and limit at one end of a lift; none where it is too frequent.
fn index(
    sheet: &mut Sheet,
    task: &Task,
    load: Kilograms,
    per_min: f64,
    (end, height, column): (&str, f64, &str),
) -> Option<(ShopValue, f64)> {
    let low = height < 75.0;
    let row = FREQUENCY.iter().find(|row| per_min <= row.0)?;
    let frequency = if low { row.1 } else { row.2 };
    if frequency <= 0.0 {
        return None;
    }
    // A fair hold: no handles, fingers under the edge (the source's table 7).
    let coupling = if low { 0.95 } else { 1.0 };
    let way = (task.lift_from_cm - task.lift_to_cm).abs();
    let made = lifting::lifting_index(
        cell(load, task.at, "lift_kg"),
        // The source takes nearer hands and shorter ways as 25 cm.
        cell(Centimetres(task.hands_cm.max(25.0)), task.at, "hands_cm"),
        cell(Centimetres(height), task.at, column),
        Centimetres(way.max(25.0)),
        cell(Degrees(task.turn_deg), task.at, "turn_deg"),
        Share(frequency),
        Share(coupling),
    );
    let made = sheet.add_with(
        Stands::Last,
        format!("task.{}.lift.{end}", task.task),
        format!("lifting index of {} where the lift {end}", task.task),
        task.at,
        made,
    )?;
    let limit = made.value.limit.0;
    Some((made.value(|lift| lift.index.0), limit))
}

/// The way by robot, where the book names one and its time.
fn by_robot(sheet: &mut Sheet, book: &Book, task: &Task, prices: &Prices) -> Option<Way> {
    let seconds = task.robot_s?;
    let named = task.robot.as_ref();
    let robot = named.and_then(|name| book.robots.iter().find(|row| row.robot == *name));
    let Some(robot) = robot.filter(|row| row.kind == RobotKind::Robot) else {
        sheet.problems.push(book::Problem {
            found: format!(
                "a time by robot and {}",
                match named {
                    Some(name) => format!("`{name}`, which is no robot"),
                    None => "no robot".into(),
                }
            ),
            expected: "the kind of robot that does it".into(),
            mend: "name a row of the robots table whose kind is robot, or clear robot_s".into(),
            ..problem("robot-missing", task.at, Some("robot"))
        });
        return None;
    };
    // A kind that the prices do not know cannot be chosen by cost.
    prices.robots.iter().find(|kind| kind.name == robot.robot)?;
    Some(Way {
        how: How::Robot,
        by: robot.robot.clone(),
        tool: task.tool.clone(),
        seconds: seconds.0,
        cost_per_year: 0.0,
        lifting_index: None,
        refused: unable(task, robot),
    })
}

/// What a robot of this kind cannot do of a task.
fn unable(task: &Task, robot: &Robot) -> Option<String> {
    if task.inside {
        return Some("it is done where a robot's arm has no access".into());
    }
    if task.judgement {
        return Some("it takes a person's eye or feel".into());
    }
    let gripper = if task.tool.is_some() { GRIPPER_KG } else { 0.0 };
    let load = task.lift_kg.map(|kg| kg.0 + gripper);
    if let Some((load, most)) = load.zip(robot.payload_kg).filter(|(l, p)| *l > p.0) {
        return Some(format!(
            "{load:.0} kg with its gripper are more than the {} kg it can carry",
            most.0
        ));
    }
    let reach = task.reach_mm.zip(robot.reach_mm);
    if let Some((far, most)) = reach.filter(|(far, most)| far.0 > most.0) {
        return Some(format!(
            "it is {} mm away and the robot reaches {} mm",
            far.0, most.0
        ));
    }
    let exact = task.tolerance_mm.zip(robot.repeat_mm);
    if let Some((needed, has)) = exact.filter(|(needed, has)| has.0 > needed.0) {
        return Some(format!(
            "it must be placed within {} mm and the robot comes back within {} mm",
            needed.0, has.0
        ));
    }
    None
}
