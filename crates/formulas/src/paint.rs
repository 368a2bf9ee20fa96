//! Coverage, atomisers, conveyors, ovens, colour changes and solvents of the paint shop.

use units::{Count, Hours, Metres, Minutes, Money, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{
    Celsius, Grams, GramsPerSquareMetre, KilogramsPerLitre, KilojoulesPerMole, Litres,
    LitresPerMinute, MetresPerMinute, Micrometres, SquareMetres, SquareMetresPerLitre,
};
use crate::range::{NOT_NEGATIVE, POSITIVE, Range, SHARE, SOME_SHARE, WHOLE};
use crate::rounding::whole_up;

/// The gas constant, kJ/(mol K); exact since 2019 (2019 redefinition of the SI).
const GAS_CONSTANT: f64 = 8.314_462_618e-3;
/// 0 degrees Celsius in kelvin.
const ZERO_CELSIUS: f64 = 273.15;
/// Temperatures of metal that a formula takes, degrees Celsius.
const METAL: Range = Range::closed(-50.0, 700.0);

/// Lanes that collect a block, one for each colour that comes at all.
fn lanes(mix: &[Share]) -> f64 {
    mix.iter().filter(|share| share.0 > 0.0).count() as f64
}

/// Chance that the next body has another colour when they come in random order.
fn unlike(mix: &[Share]) -> f64 {
    1.0 - mix.iter().map(|share| share.0 * share.0).sum::<f64>()
}

/// The factor by which a minute at a temperature counts against one at the reference.
fn pace_of_heat(metal: Celsius, reference: Celsius, energy: KilojoulesPerMole) -> f64 {
    let inverse = |at: Celsius| 1.0 / (at.0 + ZERO_CELSIUS);
    libm::exp(-energy.0 / GAS_CONSTANT * (inverse(metal) - inverse(reference)))
}

sheet! {
    shop "Paint shop";

    /// The area a litre of paint covers with a dry film, losses counted. With a transfer
    /// efficiency of 1 it is the theoretical spreading rate, which no spray reaches.
    fn coverage "Coverage" (
        volume_solids: Share, SOME_SHARE, "solids over paint, by volume";
        transfer_efficiency: Share, SOME_SHARE, "share of the sprayed solids that stays on";
        film: Micrometres, POSITIVE, "dry film";
    ) -> { coverage: SquareMetresPerLitre, "area a litre covers"; }
    is "coverage = 1000 * volume_solids * transfer_efficiency / film";
    source "balance of volume; Joseph, paint coverage column, 2003";
    caution "solvents and isocyanates: ventilation, zones and limits by local codes";
    { SquareMetresPerLitre(1000.0 * volume_solids.0 * transfer_efficiency.0 / film.0) }

    /// Atomisers that a coat needs.
    fn atomisers "Atomisers" (
        paint: Litres, POSITIVE, "paint a body";
        flow: LitresPerMinute, POSITIVE, "flow of an atomiser";
        trigger: Share, SOME_SHARE, "share of the path with paint on";
        cycle: Seconds, POSITIVE, "cycle of the line";
        access: Share, SOME_SHARE, "share of the cycle in which the body can be reached";
    ) -> struct Atomisers {
        spray_time: Minutes, "time one atomiser alone would spray";
        exact: Count, "atomisers before rounding up";
        atomisers: Count, "atomisers, whole";
    }
    is "spray_time = paint / flow; exact = spray_time / trigger / (cycle * access); \
        atomisers = ceil(exact)";
    source "arithmetic";
    caution "spray booths are explosive zones: airflow interlocks and rated equipment by local \
             codes";
    {
        let spray_time = Minutes(paint.0 / flow.0);
        let path = spray_time / trigger.0;
        let exact = path.seconds() / (cycle * access.0);
        Atomisers { spray_time, exact: Count(exact), atomisers: Count(whole_up(exact)) }
    }

    /// What a stretch of a moving line needs in length to hold a body so long. A line that
    /// stops leaves bodies in the oven: keep room to empty it.
    fn conveyor_length "Length for a dwell" (
        pitch: Metres, POSITIVE, "distance from body to body";
        cycle: Seconds, POSITIVE, "cycle of the line";
        dwell: Minutes, POSITIVE, "time a body must stay";
    ) -> struct ConveyorLength {
        speed: MetresPerMinute, "speed of the line";
        length: Metres, "length of the stretch";
        bodies: Count, "bodies in it, mean";
    }
    is "speed = pitch / cycle; length = speed * dwell; bodies = dwell / cycle";
    source "kinematics";
    {
        let speed = pitch.0 / cycle.minutes().0;
        ConveyorLength {
            speed: MetresPerMinute(speed),
            length: Metres(speed * dwell.0),
            bodies: Count(dwell.seconds() / cycle),
        }
    }

    /// Colour changes when colours come in random order, and what painting in blocks saves.
    fn colour_changes "Colour changes" (
        mix: Vec<Share>, SHARE, "share of each colour";
        bodies: Count, WHOLE, "bodies in the period";
        loss: Litres, NOT_NEGATIVE, "paint and solvent lost in a change, all atomisers";
        block: Count, POSITIVE, "bodies in a block of one colour, mean, if blocks are made";
    ) -> struct ColourChanges {
        change_probability: Share, "chance that the next body has another colour";
        mean_run: Count, "bodies of one colour in a row, mean";
        changes: Count, "changes in the period";
        lost: Litres, "lost in the period";
        lost_in_blocks: Litres, "lost in the period with blocks";
    }
    is "change_probability = 1 - sum(mix^2); mean_run = 1 / change_probability; \
        changes = (bodies - 1) * change_probability; \
        lost = changes * loss; lost_in_blocks = bodies / block * loss";
    source "probability of unlike neighbours";
    needs "the shares of `mix` add up to 1",
        (mix.iter().copied().sum::<Share>().0 - 1.0).abs() <= 1e-9;
    needs "there are two colours at least", mix.iter().all(|share| share.0 < 1.0);
    {
        let change = unlike(&mix);
        ColourChanges {
            change_probability: Share(change),
            mean_run: Count(1.0 / change),
            changes: Count((bodies.0 - 1.0) * change),
            lost: Litres((bodies.0 - 1.0) * change * loss.0),
            lost_in_blocks: Litres(bodies.0 / block.0 * loss.0),
        }
    }

    /// The paint that a dry film takes, with what the spray loses. What is measured wet is
    /// thicker than what stays, by the solids.
    fn film_paint "Paint for a film" (
        area: SquareMetres, POSITIVE, "surface coated";
        film: Micrometres, POSITIVE, "dry film";
        volume_solids: Share, SOME_SHARE, "solids over paint, by volume";
        transfer_efficiency: Share, SOME_SHARE, "share of the sprayed solids that stays on";
    ) -> struct FilmPaint {
        paint: Litres, "paint a body";
        wet_film: Micrometres, "film as laid on, wet";
        lost: Litres, "of it what misses the body";
    }
    is "paint = area * film / (1000 * volume_solids * transfer_efficiency); \
        wet_film = film / volume_solids; lost = paint * (1 - transfer_efficiency)";
    source "balance of volume; Joseph, paint coverage column, 2003 (turned round)";
    caution "solvents and isocyanates: ventilation, zones and limits by local codes";
    {
        let paint = area.0 * film.0 / (1000.0 * volume_solids.0 * transfer_efficiency.0);
        FilmPaint {
            paint: Litres(paint),
            wet_film: Micrometres(film.0 / volume_solids.0),
            lost: Litres(paint * (1.0 - transfer_efficiency.0)),
        }
    }

    /// The cycle of bodies on a conveyor.
    fn conveyor_cycle "Cycle of a conveyor" (
        pitch: Metres, POSITIVE, "distance from body to body";
        speed: MetresPerMinute, POSITIVE, "speed of the line";
    ) -> { cycle: Seconds, "time from body to body"; }
    is "cycle = 60 * pitch / speed";
    source "kinematics";
    { Seconds(60.0 * pitch.0 / speed.0) }

    /// The length of an oven whose bodies must be at metal temperature so long. The way to
    /// that temperature counts on top: an oven timed from its door bakes too little.
    fn oven_length "Length of an oven" (
        speed: MetresPerMinute, POSITIVE, "speed of the line";
        heat_up: Minutes, NOT_NEGATIVE, "from the door until the metal has its temperature";
        at_metal: Minutes, POSITIVE, "time the metal must have it";
    ) -> struct OvenLength {
        length: Metres, "length from door to door";
        dwell: Minutes, "time from door to door";
    }
    is "dwell = heat_up + at_metal; length = speed * dwell";
    source "kinematics";
    caution "ovens hold solvent vapour: purge before lighting, exhaust and relief by local codes";
    {
        let dwell = heat_up.0 + at_metal.0;
        OvenLength { length: Metres(speed.0 * dwell), dwell: Minutes(dwell) }
    }

    /// The time that metal has its temperature in an oven of some length.
    fn time_at_metal "Time at metal temperature" (
        length: Metres, POSITIVE, "length from door to door";
        speed: MetresPerMinute, POSITIVE, "speed of the line";
        heat_up: Minutes, NOT_NEGATIVE, "from the door until the metal has its temperature";
    ) -> struct TimeAtMetal {
        at_metal: Minutes, "time the metal has its temperature";
        dwell: Minutes, "time from door to door";
    }
    is "dwell = length / speed; at_metal = max(0, dwell - heat_up)";
    source "kinematics";
    {
        let dwell = length.0 / speed.0;
        TimeAtMetal { at_metal: Minutes((dwell - heat_up.0).max(0.0)), dwell: Minutes(dwell) }
    }

    /// How long the conveyor may stand while an oven stays hot. Every body in it stays longer
    /// by the stop, wherever it is. Places behind the oven let it run on and empty itself.
    fn stop_allowance "Stop that an oven bears" (
        at_metal: Minutes, NOT_NEGATIVE, "time the metal has its temperature in a normal run";
        most: Minutes, POSITIVE, "longest time that it may have it";
        dwell: Minutes, POSITIVE, "time from door to door";
        cycle: Seconds, POSITIVE, "cycle of the line";
        room: Count, NOT_NEGATIVE, "places behind the oven that are kept empty for its bodies";
    ) -> struct StopAllowance {
        allowance: Minutes, "stop that every body in the oven bears";
        bodies: Count, "bodies in the oven: the places that empty it wholly";
        stop: Option<Minutes>, "stop borne with the places there are; none if any";
    }
    is "allowance = max(0, most - at_metal); bodies = ceil(60 * dwell / cycle); \
        stop = allowance + min(room, bodies) * cycle / 60, any if room >= bodies";
    source "kinematics; common practice of curing windows";
    caution "an oven that stands hot and full can burn paint and parts: burner, fan and conveyor \
             interlocks by local codes";
    {
        let allowance = (most.0 - at_metal.0).max(0.0);
        let bodies = whole_up(dwell.seconds() / cycle);
        let stop = (room.0 < bodies).then(|| Minutes(allowance + room.0 * cycle.minutes().0));
        StopAllowance { allowance: Minutes(allowance), bodies: Count(bodies), stop }
    }

    /// Bakes at several temperatures as minutes at one: what an adhesive or the temper of an
    /// alloy has had of heat, repair bakes included.
    fn equivalent_heat "Minutes at a reference temperature" (
        minutes: Vec<Minutes>, NOT_NEGATIVE, "time of each bake at metal temperature";
        metal: Vec<Celsius>, METAL, "metal temperature of each bake";
        reference: Celsius, METAL, "temperature of the limit";
        energy: KilojoulesPerMole, NOT_NEGATIVE, "activation energy of what the heat does";
    ) -> { equivalent: Minutes, "time at the reference temperature that does the same"; }
    is "equivalent = sum(minutes * exp(-energy / 0.008314462618 * (1 / (metal + 273.15) - \
        1 / (reference + 273.15))))";
    source "Arrhenius law, added up over steps of heat as the equivalent age of P. Freiesleben \
            Hansen and J. Pedersen, 1977; common practice for bakes near one another";
    caution "a screen only: the energy is that of one reaction of one adhesive or alloy over the \
             temperatures at which its maker measured it, and no other's";
    needs "`minutes` and `metal` have as many members", minutes.len() == metal.len();
    {
        let each = minutes.iter().zip(&metal);
        let sum = each.map(|(time, at)| time.0 * pace_of_heat(*at, reference, energy));
        Minutes(sum.sum())
    }

    /// Seconds that a spray station needs for a body. A colour change costs time only beyond
    /// the gap between bodies in which no applicator reaches one.
    fn spray_cycle "Cycle of a spray station" (
        paint: Litres, POSITIVE, "paint a body at this station";
        flow: LitresPerMinute, POSITIVE, "flow of an atomiser";
        trigger: Share, SOME_SHARE, "share of the path with paint on";
        access: Share, SOME_SHARE, "share of the cycle in which the body can be reached";
        robots: Count, WHOLE, "atomisers at the station";
        pace: Seconds, POSITIVE, "cycle of the conveyor";
        change: Seconds, NOT_NEGATIVE, "time of a colour change";
        change_probability: Share, SHARE, "chance that the next body has another colour";
    ) -> struct SprayCycle {
        cycle: Seconds, "mean cycle of the station";
        path: Seconds, "time an atomiser is on the body";
        lost: Seconds, "of the cycle for colour changes, mean";
    }
    is "path = 60 * paint / (flow * trigger * robots); \
        lost = change_probability * max(0, change - (1 - access) * pace); \
        cycle = max(pace, path / access) + lost";
    source "arithmetic";
    caution "spray booths are explosive zones: airflow interlocks and rated equipment by local \
             codes";
    {
        let path = 60.0 * paint.0 / (flow.0 * trigger.0 * robots.0);
        let lost = change_probability.0 * (change.0 - (1.0 - access.0) * pace.0).max(0.0);
        SprayCycle {
            cycle: Seconds(pace.0.max(path / access.0) + lost),
            path: Seconds(path),
            lost: Seconds(lost),
        }
    }

    /// Colour blocks collected in one lane a colour out of a random order: what they save of
    /// changes, and how many bodies wait for their block to fill. A lane holds any number
    /// below the block with the same chance.
    fn colour_blocks "Colour blocks" (
        mix: Vec<Share>, SHARE, "share of each colour";
        bodies: Count, NOT_NEGATIVE, "bodies in the period";
        block: Count, WHOLE, "bodies of one colour collected before they are painted";
        loss: Litres, NOT_NEGATIVE, "paint and solvent lost in a change, all atomisers";
        change: Seconds, NOT_NEGATIVE, "time lost in a change";
        safety: Count, NOT_NEGATIVE, "standard deviations of places above the mean";
    ) -> struct ColourBlocks {
        changes: Count, "changes in the period";
        run: Count, "bodies of one colour in a row, mean";
        lost: Litres, "paint and solvent lost in the period";
        stopped: Hours, "time lost in the period";
        waiting: Count, "bodies that wait for their block, mean";
        places: Count, "places for them";
    }
    is "changes = bodies * min(1 - sum(mix^2), 1 / block); run = bodies / changes; \
        lost = changes * loss; stopped = changes * change / 3600; \
        waiting = lanes * (block - 1) / 2; \
        places = min(lanes * (block - 1), ceil(waiting + safety * sqrt(lanes * (block^2 - 1) / 12)))";
    source "probability of unlike neighbours; uniform counts of independent lanes";
    needs "the shares of `mix` add up to 1",
        (mix.iter().copied().sum::<Share>().0 - 1.0).abs() <= 1e-9;
    needs "there are two colours at least", mix.iter().all(|share| share.0 < 1.0);
    {
        let (lanes, size) = (lanes(&mix), block.0);
        let often = unlike(&mix).min(1.0 / size);
        let waiting = lanes * (size - 1.0) / 2.0;
        let spread = (lanes * (size * size - 1.0) / 12.0).sqrt();
        let changes = bodies.0 * often;
        ColourBlocks {
            changes: Count(changes),
            run: Count(1.0 / often),
            lost: Litres(changes * loss.0),
            stopped: (change * changes).hours(),
            waiting: Count(waiting),
            places: Count(whole_up(waiting + safety.0 * spread).min(lanes * (size - 1.0))),
        }
    }

    /// The block for which changes and waiting together cost least, both prices even: the
    /// square root of the economic lot.
    fn best_block "Best colour block" (
        mix: Vec<Share>, SHARE, "share of each colour";
        bodies: Count, POSITIVE, "bodies in a week";
        change_cost: Money, POSITIVE, "what a change costs";
        wait_cost: Money, POSITIVE, "what a waiting body costs a week";
    ) -> { block: Count, "bodies of one colour collected before they are painted"; }
    is "block = max(1, sqrt(2 * bodies * change_cost / (lanes * wait_cost))), \
        lanes = members of mix above 0";
    source "Harris, How many parts to make at once, 1913, for one lane a colour";
    { Count((2.0 * bodies.0 * change_cost.0 / (lanes(&mix) * wait_cost.0)).sqrt().max(1.0)) }

    /// Places behind paint that give the line its order back: those for bodies painted in
    /// blocks, and those that hold all others until a repaired body is back.
    fn painted_store "Painted-body store" (
        block_places: Count, NOT_NEGATIVE, "places that undo the colour blocks";
        delay: Seconds, NOT_NEGATIVE, "time that a repaired body comes later";
        takt: Seconds, POSITIVE, "time from body to body";
    ) -> struct PaintedStore {
        places: Count, "places in all";
        repair_places: Count, "of them those that hold the others for a repaired body";
    }
    is "repair_places = delay / takt; places = ceil(block_places + repair_places)";
    source "Little, A proof for the queuing formula L = lambda W, 1961";
    {
        let repair_places = delay / takt;
        PaintedStore {
            places: Count(whole_up(block_places.0 + repair_places)),
            repair_places: Count(repair_places),
        }
    }

    /// The solvent that a body gives to the air, by the mass of all coats, purges included.
    fn solvent_mass "Solvent a body" (
        paint: Vec<Litres>, NOT_NEGATIVE, "paint of each coat, and what purges take of it";
        density: Vec<KilogramsPerLitre>, POSITIVE, "density of each";
        solvent: Vec<Share>, SHARE, "solvent over paint, by mass, of each";
        escapes: Vec<Share>, SHARE, "share of it that no treatment takes, of each";
        area: SquareMetres, POSITIVE, "surface that the limit counts";
    ) -> struct SolventMass {
        mass: Grams, "solvent a body";
        per_area: GramsPerSquareMetre, "the same on a square metre";
    }
    is "mass = 1000 * sum(paint * density * solvent * escapes); per_area = mass / area";
    source "balance of mass; EPA-450/3-88-018, protocol for the volatile organic compound \
            emission rate of automobile topcoat operations, 1988";
    caution "limits, methods and permits by local codes; solvents burn and harm, keep zones and \
             ventilation";
    needs "all lists have as many members", density.len() == paint.len()
        && solvent.len() == paint.len() && escapes.len() == paint.len();
    {
        let members = paint.iter().zip(&density).zip(solvent.iter().zip(&escapes));
        let mass = members
            .map(|((paint, density), (solvent, escapes))| {
                1000.0 * paint.0 * density.0 * solvent.0 * escapes.0
            })
            .sum::<f64>();
        SolventMass { mass: Grams(mass), per_area: GramsPerSquareMetre(mass / area.0) }
    }
}
