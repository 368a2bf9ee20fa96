//! Spots, rivets, seams and adhesive of the body shop.

use units::{Count, Kilograms, Metres, Millimetres, Minutes, Money, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{
    Grams, KilogramsPerCubicMetre, Litres, LitresPerMinute, MetresPerMinute, MetresPerSecond,
    Millilitres, MoneyPerHour, SquareMillimetres,
};
use crate::range::{NOT_NEGATIVE, POSITIVE, SHARE, SOME_SHARE};
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
    source "common practice of spot welding, 4 and 5 times the root of the thinner gauge; not \
            verified: ISO 18595 and ISO 14373";
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

    /// What the screens of the joining methods look at in a stack of sheets.
    fn sheet_stack "Stack of sheets" (
        gauges: Vec<Millimetres>, POSITIVE, "thickness of each sheet, the one on the die last";
    ) -> struct SheetStack {
        total: Millimetres, "all sheets together";
        thinnest: Millimetres, "the thinnest sheet";
        ratio: Share, "thickest over thinnest sheet";
        die_side: Millimetres, "the sheet on the die";
        die_share: Share, "the sheet on the die as a part of the whole";
    }
    is "total = sum(gauges); thinnest = min(gauges); ratio = max(gauges) / thinnest; \
        die_side = last(gauges); die_share = die_side / total";
    source "arithmetic";
    caution "a screen only: strength is shown by trial joints to the product's own rule";
    needs "the stack has a sheet", !gauges.is_empty();
    {
        let total = gauges.iter().map(|gauge| gauge.0).sum::<f64>();
        let thinnest = gauges.iter().map(|gauge| gauge.0).fold(f64::INFINITY, f64::min);
        let thickest = gauges.iter().map(|gauge| gauge.0).fold(0.0, f64::max);
        let die_side = gauges.last().map_or(0.0, |gauge| gauge.0);
        SheetStack {
            total: Millimetres(total),
            thinnest: Millimetres(thinnest),
            ratio: Share(thickest / thinnest),
            die_side: Millimetres(die_side),
            die_share: Share(die_side / total),
        }
    }

    /// Wire, gas and time of an arc-welded seam, starts and stops not counted.
    fn arc_seam "Arc seam" (
        wire: Millimetres, POSITIVE, "diameter of the wire";
        feed_ratio: Share, POSITIVE, "speed of the wire over speed along the seam";
        recovery: Share, SOME_SHARE, "part of the wire that stays in the seam";
        density: KilogramsPerCubicMetre, POSITIVE, "density of the wire";
        length: Metres, POSITIVE, "length of the seam";
        speed: MetresPerMinute, POSITIVE, "speed along the seam";
        gas: LitresPerMinute, NOT_NEGATIVE, "shielding gas while the arc burns";
    ) -> struct ArcSeam {
        section: SquareMillimetres, "section of the seam";
        mass: Grams, "metal that stays in it";
        wire_mass: Grams, "wire used";
        time: Seconds, "time the arc burns";
        gas_used: Litres, "gas used";
    }
    is "section = pi / 4 * wire^2 * feed_ratio * recovery; mass = section * density * length; \
        wire_mass = mass / recovery; time = length / speed; gas_used = gas * time / 60";
    source "balance of volume";
    caution "ultraviolet light, ozone and fume: screens, extraction and local codes";
    {
        let fed = std::f64::consts::FRAC_PI_4 * wire.0 * wire.0 * feed_ratio.0;
        let minutes = length.0 / speed.0;
        let mass = fed * recovery.0 * length.0 * density.0 / 1000.0;
        ArcSeam {
            section: SquareMillimetres(fed * recovery.0),
            mass: Grams(mass),
            wire_mass: Grams(mass / recovery.0),
            time: Seconds(minutes * 60.0),
            gas_used: Litres(gas.0 * minutes),
        }
    }

    /// Seconds a joint really takes: what happens on every car, and what stops the robot
    /// once in many cars, both spread over the joints between.
    fn joint_seconds "Seconds of a joint" (
        joint: Seconds, NOT_NEGATIVE, "making the joint";
        travel: Seconds, NOT_NEGATIVE, "move from joint to joint";
        turn: Seconds, NOT_NEGATIVE, "turning the tool another way";
        turn_every: Count, POSITIVE, "joints from turn to turn";
        care: Vec<Seconds>, NOT_NEGATIVE, "care of the tool within the cycle: dressing, tape index, nozzle";
        care_every: Vec<Count>, POSITIVE, "joints from care to care";
        stop: Vec<Seconds>, NOT_NEGATIVE, "stops for caps, spools, refills, drums";
        stop_every: Vec<Count>, POSITIVE, "joints from stop to stop";
    ) -> struct JointSeconds {
        in_cycle: Seconds, "time a joint within the cycle";
        effective: Seconds, "time a joint with its part of the stops";
    }
    is "in_cycle = joint + travel + turn / turn_every + sum(care / care_every); \
        effective = in_cycle + sum(stop / stop_every)";
    source "arithmetic; planned stops spread over the joints, common practice";
    caution "force, current, light and dust of the tools: cells by ISO 10218-1 and -2, local codes";
    needs "every care and every stop has its joints",
        care.len() == care_every.len() && stop.len() == stop_every.len();
    {
        let spread = |times: &[Seconds], every: &[Count]| {
            times.iter().zip(every).map(|(time, every)| time.0 / every.0).sum::<f64>()
        };
        let in_cycle = joint.0 + travel.0 + turn.0 / turn_every.0 + spread(&care, &care_every);
        JointSeconds {
            in_cycle: Seconds(in_cycle),
            effective: Seconds(in_cycle + spread(&stop, &stop_every)),
        }
    }

    /// What a cycle leaves a joining robot.
    fn robot_time "Time of a joining robot" (
        cycle: Seconds, POSITIVE, "cycle of the station";
        spare: Share, SHARE, "part of it that the robot keeps free";
        index: Seconds, NOT_NEGATIVE, "time in a cycle for load, index and clamp";
    ) -> { net: Seconds, "time to join in"; }
    is "net = (1 - spare) * cycle - index";
    source "arithmetic";
    needs "something is left: (1 - spare) * cycle is more than index",
        (1.0 - spare.0) * cycle.0 > index.0;
    { cycle * (1.0 - spare.0) - index }

    /// Process tape that spots take, on both electrodes.
    fn tape_use "Tape of spots" (
        joints: Count, NOT_NEGATIVE, "spots";
        advance: Millimetres, NOT_NEGATIVE, "tape that a spot takes on each electrode";
    ) -> { tape: Metres, "tape used"; }
    is "tape = 2 * joints * advance / 1000";
    source "arithmetic";
    caution "measure advance and length of a spool; planning values only";
    { Metres(2.0 * joints.0 * advance.0 / 1000.0) }

    /// What a group of joints costs a year by a method.
    fn method_cost "Yearly cost of a joining method" (
        joints: Count, NOT_NEGATIVE, "joints a year";
        consumables: Money, NOT_NEGATIVE, "consumables of a joint";
        inspection: Money, NOT_NEGATIVE, "looking at a joint";
        joint: Seconds, NOT_NEGATIVE, "robot's time of a joint, stops included";
        robot_hour: MoneyPerHour, NOT_NEGATIVE, "what an hour of the robot costs";
        variant: Money, NOT_NEGATIVE, "part of a gun, die or nozzle that the group takes, a year";
    ) -> { cost: Money, "cost a year"; }
    is "cost = joints * (consumables + inspection + joint / 3600 * robot_hour) + variant";
    source "arithmetic";
    {
        let each = consumables.0 + inspection.0 + joint.0 / 3600.0 * robot_hour.0;
        Money(joints.0 * each + variant.0)
    }

    /// How often a robot stops for a refill, a cap, a spool.
    fn refill_interval "Time between refills" (
        holds: Count, POSITIVE, "joints from refill to refill";
        joints: Count, POSITIVE, "joints of the robot on a car";
        cycle: Seconds, POSITIVE, "cycle of the station";
    ) -> { between: Minutes, "running time from stop to stop"; }
    is "between = holds / joints * cycle / 60";
    source "arithmetic";
    { Minutes(holds.0 / joints.0 * cycle.0 / 60.0) }
}
