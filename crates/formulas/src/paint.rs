//! Coverage, atomisers, conveyors and colour changes of the paint shop.

use units::{Count, Metres, Minutes, Seconds, Share};

use crate::declare::sheet;
use crate::quantity::{
    Litres, LitresPerMinute, MetresPerMinute, Micrometres, SquareMetresPerLitre,
};
use crate::range::{NOT_NEGATIVE, POSITIVE, SHARE, SOME_SHARE, WHOLE};
use crate::rounding::whole_up;

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
        let change = 1.0 - mix.iter().map(|share| share.0 * share.0).sum::<f64>();
        ColourChanges {
            change_probability: Share(change),
            mean_run: Count(1.0 / change),
            changes: Count((bodies.0 - 1.0) * change),
            lost: Litres((bodies.0 - 1.0) * change * loss.0),
            lost_in_blocks: Litres(bodies.0 / block.0 * loss.0),
        }
    }
}
