//! Spots, rivets and adhesive of the body shop.

use units::{Count, Kilograms, Metres, Millimetres, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{Grams, KilogramsPerCubicMetre, MetresPerSecond, Millilitres};
use crate::range::{NOT_NEGATIVE, POSITIVE, SOME_SHARE};
use crate::rounding::{whole_down, whole_up};

sheet! {
    shop "Joining";

    /// Spot diameters by the thinner sheet of the joint.
    fn spot_diameters "Spot diameters" (
        gauge: Vec<Millimetres>, POSITIVE, "thickness of the thinner sheet";
    ) -> struct SpotDiameters {
        minimum: Vec<Millimetres>, "smallest diameter that passes";
        setting: Vec<Millimetres>, "diameter to set up for";
    }
    is "minimum = 4 * sqrt(gauge); setting = 5 * sqrt(gauge)";
    source "practice of ISO 18595 and ISO 14373 (from memory)";
    caution "a screen only: strength is shown by peel and section of trial joints to the \
             product's own rule";
    {
        let of = |factor: f64| {
            gauge.iter().map(|t| Millimetres(factor * libm::sqrt(t.0))).collect()
        };
        SpotDiameters { minimum: of(4.0), setting: of(5.0) }
    }

    /// How near spots may stand: too near, current runs through the last spot. Aluminium
    /// shunts more than the steel these factors were stated for; 25 to 40 mm are common
    /// practice at 1 to 2 mm.
    fn spot_pitch "Spot pitch" (
        gauge: Millimetres, POSITIVE, "thickness of the thinner sheet";
    ) -> struct SpotPitch {
        minimum: Millimetres, "smallest pitch";
        preferred: Millimetres, "pitch to prefer";
    }
    is "minimum = 10 * gauge; preferred = 20 * gauge";
    source "published design guideline of the metal-forming trade, chapter on spot welding";
    caution "a screen only: strength is shown by trial joints to the product's own rule";
    { SpotPitch { minimum: gauge * 10.0, preferred: gauge * 20.0 } }

    /// Seconds a spot really takes, dressing and cap changes spread over the spots.
    fn spot_cycle "Spot with dressing" (
        joint: Seconds, POSITIVE, "squeeze, weld and hold";
        travel: Seconds, NOT_NEGATIVE, "move from spot to spot";
        spots_per_dress: Count, POSITIVE, "spots from dressing to dressing";
        dress: Seconds, NOT_NEGATIVE, "time to dress";
        dresses_per_cap: Count, POSITIVE, "dressings of a cap";
        cap_change: Seconds, NOT_NEGATIVE, "time to change caps";
    ) -> struct SpotCycle {
        effective: Seconds, "time a spot";
        without_dressing: Seconds, "time a spot without dressing and caps";
        spots_per_cap: Count, "spots of a pair of caps";
    }
    is "without_dressing = joint + travel; spots_per_cap = spots_per_dress * dresses_per_cap; \
        effective = without_dressing + dress / spots_per_dress + cap_change / spots_per_cap";
    source "arithmetic; planned stops spread over the spots, common practice";
    caution "25 to 45 kA make magnetic fields that disturb implants, and dressing dust of \
             aluminium explodes; separate extraction, local codes";
    {
        let spots_per_cap = spots_per_dress.0 * dresses_per_cap.0;
        let without_dressing = joint + travel;
        SpotCycle {
            effective: without_dressing
                + dress / spots_per_dress.0
                + cap_change / spots_per_cap,
            without_dressing,
            spots_per_cap: Count(spots_per_cap),
        }
    }

    /// Robots for a number of joints, before access, reach and waiting for each other are
    /// looked at; two or more robots around one part lose 5 to 15 % (common practice).
    fn joint_robots "Robots for joints" (
        joints: Count, NOT_NEGATIVE, "joints a car";
        joint: Seconds, POSITIVE, "time to set a joint";
        travel: Seconds, NOT_NEGATIVE, "move from joint to joint";
        overhead: Seconds, NOT_NEGATIVE, "time in a cycle for load, index and clamp";
        cycle: Seconds, POSITIVE, "cycle of the line";
        limit: Share, SOME_SHARE, "share of the cycle a robot may be planned to";
    ) -> struct JointRobots {
        per_robot: Count, "joints a robot sets in a cycle, whole";
        robots: Count, "robots, whole";
    }
    is "per_robot = floor((limit * cycle - overhead) / (joint + travel)); \
        robots = ceil(joints / per_robot)";
    source "arithmetic";
    caution "a cell is planned and its distances are proved by ISO 10218-1 and -2";
    needs "a robot sets a joint in the cycle: limit * cycle - overhead holds joint + travel",
        limit.0 * cycle.0 - overhead.0 >= joint.0 + travel.0;
    {
        let per_robot = whole_down((cycle * limit.0 - overhead) / (joint + travel));
        JointRobots {
            per_robot: Count(per_robot),
            robots: Count(whole_up(joints.0 / per_robot)),
        }
    }

    /// Length of a self-piercing rivet for a stack, adhesive counted in. Take the next length
    /// made.
    fn rivet_length "Rivet length" (
        stack: Millimetres, POSITIVE, "all sheets and the adhesive between them";
    ) -> { length: Millimetres, "length needed"; }
    is "length = stack + 2";
    source "worked example of the repair trade's press";
    caution "a screen only: rivet and die are chosen by sections of trial joints";
    { stack + Millimetres(2.0) }

    /// Joints that fit on a flange.
    fn flange_joints "Joints on a flange" (
        length: Millimetres, POSITIVE, "length of the flange";
        end_margin: Millimetres, NOT_NEGATIVE, "kept free at each end";
        pitch: Millimetres, POSITIVE, "smallest pitch wanted";
    ) -> struct FlangeJoints {
        joints: Count, "joints, whole";
        actual_pitch: Millimetres, "pitch when they are spread evenly";
    }
    is "joints = floor((length - 2 * end_margin) / pitch) + 1; \
        actual_pitch = (length - 2 * end_margin) / (joints - 1)";
    source "geometry";
    needs "two joints fit: the flange less its margins holds a pitch",
        length.0 - 2.0 * end_margin.0 >= pitch.0;
    {
        let usable = length - end_margin * 2.0;
        let gaps = whole_down(usable / pitch);
        FlangeJoints { joints: Count(gaps + 1.0), actual_pitch: usable / gaps }
    }

    /// A round bead of structural adhesive, and how wide it spreads when the gap closes.
    fn adhesive_bead "Adhesive bead" (
        bead: Millimetres, POSITIVE, "diameter of the bead";
        length: Metres, POSITIVE, "length of the bead";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the adhesive";
        gap: Millimetres, POSITIVE, "gap of the closed flange";
        speed: MetresPerSecond, POSITIVE, "speed of the nozzle";
    ) -> struct AdhesiveBead {
        volume: Millilitres, "adhesive";
        mass: Grams, "the same as mass";
        spread: Millimetres, "width in the closed flange";
        time: Seconds, "time to lay it, starts and stops not counted";
    }
    is "volume = pi / 4 * bead^2 * length; mass = volume * density; \
        spread = pi / 4 * bead^2 / gap; time = length / speed";
    source "balance of volume";
    caution "uncured adhesive irritates skin and lungs: data sheet, gloves, extraction";
    {
        let section = std::f64::consts::FRAC_PI_4 * bead.0 * bead.0;
        AdhesiveBead {
            volume: Millilitres(section * length.0),
            mass: Grams(section * length.0 * density.0 / 1000.0),
            spread: Millimetres(section / gap.0),
            time: Seconds(length.0 / speed.0),
        }
    }

    /// Adhesive that a car takes for all its beads.
    fn adhesive_per_car "Adhesive a car" (
        bead: Millimetres, POSITIVE, "diameter of the bead";
        length: Metres, NOT_NEGATIVE, "length of all beads of a car";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the adhesive";
    ) -> { mass: Kilograms, "adhesive a car, purging not counted"; }
    is "mass = pi / 4 * bead^2 * length * density";
    source "balance of volume";
    caution "uncured adhesive irritates skin and lungs: data sheet, gloves, extraction";
    {
        let section = std::f64::consts::FRAC_PI_4 * bead.0 * bead.0;
        Kilograms(section * 1e-6 * length.0 * density.0)
    }
}
