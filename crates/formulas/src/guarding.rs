//! Safety distances and speeds near people.

use units::{Kilograms, Millimetres, Seconds};

use crate::declare::sheet;
use crate::quantity::{MetresPerSecond, Newtons, NewtonsPerMillimetre};
use crate::range::{NOT_NEGATIVE, POSITIVE, Range};

/// Distance at the fast approach of a hand; used up to 500 mm.
fn curtain_distance(stopping: f64, resolution: f64) -> f64 {
    let reach_through = 8.0 * (resolution - 14.0);
    let near = 2000.0 * stopping + reach_through;
    if near <= 500.0 {
        // The standard asks for 100 mm at least.
        near.max(100.0)
    } else {
        (1600.0 * stopping + reach_through).max(500.0)
    }
}

sheet! {
    shop "Safety distances";

    /// The distance from a light curtain, met head on, to the hazard.
    fn light_curtain "Light curtain" (
        stopping: Seconds, POSITIVE, "time from breaking a beam to the end of the hazard";
        resolution: Millimetres, Range::closed(14.0, 40.0), "detection capability";
    ) -> { distance: Millimetres, "smallest distance to the hazard"; }
    is "distance = 2000 * stopping + 8 * (resolution - 14), at least 100; if above 500, \
        1600 * stopping + 8 * (resolution - 14), at least 500";
    source "ISO 13855:2010, orthogonal approach (resolution up to 40 mm)";
    caution "check against the current edition of the standard: that of 2024 replaced this one \
             and reckons otherwise, so do not mix them; stopping time must be measured on the \
             machine and checked for wear; reaching over and round is not covered; a competent \
             person validates";
    { Millimetres(curtain_distance(stopping.0, resolution.0)) }

    /// The length of the field of a floor scanner, approached on foot along the floor.
    fn floor_scanner "Floor scanner" (
        stopping: Seconds, POSITIVE, "time from detection to the end of the hazard";
        height: Millimetres, Range::closed(0.0, 1000.0), "height of the field above the floor";
    ) -> struct FloorScanner {
        reach: Millimetres, "allowance for the arm";
        distance: Millimetres, "smallest distance to the hazard";
    }
    is "reach = max(850, 1200 - 0.4 * height); distance = 1600 * stopping + reach";
    source "ISO 13855:2010, 6.3, approach parallel to the field (held against a published \
            summary, not against the standard itself)";
    caution "check against the current edition of the standard: that of 2024 replaced this one \
             and allows 1200 mm for the arm at every height and more besides, so do not mix \
             them; stopping time must be measured on the machine; add the scanner's own \
             tolerances; a competent person validates";
    {
        let reach = (1200.0 - 0.4 * height.0).max(850.0);
        FloorScanner {
            reach: Millimetres(reach),
            distance: Millimetres(1600.0 * stopping.0 + reach),
        }
    }

    /// The distance at which a robot must have begun to stop for a person who walks up to
    /// it, where speed and separation are watched: the ways of both until it stands, and what
    /// the sensors do not know.
    fn separation "Speed and separation" (
        walking: MetresPerSecond, POSITIVE, "speed of the person, 1.6 unless watched";
        robot: MetresPerSecond, NOT_NEGATIVE, "speed of the robot towards the person";
        reaction: Seconds, NOT_NEGATIVE, "time from detection to the signal to stop";
        stopping: Seconds, POSITIVE, "time from the signal to standstill";
        intrusion: Millimetres, NOT_NEGATIVE, "reach into the field before it detects";
        uncertainty: Millimetres, NOT_NEGATIVE, "of both positions together";
    ) -> { distance: Millimetres, "smallest distance that keeps them apart"; }
    is "distance = 1000 * (walking + robot) * (reaction + stopping) + intrusion + uncertainty";
    source "ISO/TS 15066:2016, 5.5.4, by the terms in Marvel and Norcross, Implementing speed \
            and separation monitoring in collaborative robot workcells, Robotics and \
            Computer-Integrated Manufacturing 44, 2017 (not held against the specification \
            itself); the robot's braking way taken at full speed, which is on the safe side";
    caution "check against the current edition of the standard; a planning figure: stopping time and way are measured on the machine with load \
             and speed as used; the model moved into ISO 10218-2:2025; a competent person \
             validates under local codes";
    {
        let time = reaction.0 + stopping.0;
        Millimetres((walking.0 + robot.0) * time * 1000.0 + intrusion.0 + uncertainty.0)
    }

    /// The speed at which a robot may touch a part of the body for a moment, by force.
    fn contact_speed "Speed limited by contact force" (
        body_mass: Kilograms, POSITIVE, "effective mass of the body part";
        robot_mass: Kilograms, POSITIVE, "effective mass of robot and load, M / 2 + load";
        stiffness: NewtonsPerMillimetre, POSITIVE, "spring constant of the body part";
        force: Newtons, POSITIVE, "largest force for a moment's contact";
    ) -> struct ContactSpeed {
        reduced_mass: Kilograms, "both masses as one";
        speed: MetresPerSecond, "largest speed";
    }
    is "reduced_mass = 1 / (1 / body_mass + 1 / robot_mass); \
        speed = force / sqrt(reduced_mass * stiffness)";
    source "ISO/TS 15066:2016, annex A: force = speed * sqrt(reduced mass * stiffness), half the \
            robot's moving mass and its load (held against published summaries, not against the \
            specification itself)";
    caution "check against the current edition of the standard; pressure must hold as well as force, and clamping is another case; limits come \
             from the standard's own tables, and contact is measured before people work there";
    {
        let reduced = 1.0 / (1.0 / body_mass.0 + 1.0 / robot_mass.0);
        ContactSpeed {
            reduced_mass: Kilograms(reduced),
            speed: MetresPerSecond(force.0 / libm::sqrt(reduced * stiffness.0 * 1000.0)),
        }
    }
}
