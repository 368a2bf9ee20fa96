//! The weight a person may be asked to lift.

use units::{Kilograms, Share};

use crate::declare::sheet;
use crate::quantity::{Centimetres, Degrees};
use crate::range::{NOT_NEGATIVE, Range, SOME_SHARE};

sheet! {
    shop "Lifting by hand";

    /// The recommended weight limit of a two-handed lift, and how the load stands to it. The
    /// distance is measured to the hands, not to the edge of the load; take 25 cm for a
    /// nearer one, and 25 cm for a shorter way of the lift. Judge origin and destination.
    fn lifting_index "Lifting index" (
        load: Kilograms, NOT_NEGATIVE, "mass of the load";
        horizontal: Centimetres, Range::closed(25.0, 63.0), "hands before the ankles";
        vertical: Centimetres, Range::closed(0.0, 175.0), "hands above the floor";
        distance: Centimetres, Range::closed(25.0, 175.0), "way of the lift, up or down";
        asymmetry: Degrees, Range::closed(0.0, 135.0), "turn of the trunk";
        frequency: Share, SOME_SHARE, "frequency multiplier, from the source's table";
        coupling: Share, SOME_SHARE, "coupling multiplier, from the source's table";
    ) -> struct LiftingIndex {
        limit: Kilograms, "recommended weight limit";
        index: Share, "load over limit; above 1 some people are at risk";
    }
    is "limit = 23 * (25 / horizontal) * (1 - 0.003 * abs(vertical - 75)) \
        * (0.82 + 4.5 / distance) * (1 - 0.0032 * asymmetry) * frequency * coupling; \
        index = load / limit";
    source "Waters, Putz-Anderson and Garg, Applications Manual for the Revised NIOSH Lifting \
            Equation, 1994, revised 2021 (public domain)";
    caution "not for one hand, sitting, kneeling, carrying, hot or unstable loads; a screen \
             beside an ergonomist's judgement and local rules, not a permission";
    {
        let limit = 23.0
            * (25.0 / horizontal.0)
            * (1.0 - 0.003 * (vertical.0 - 75.0).abs())
            * (0.82 + 4.5 / distance.0)
            * (1.0 - 0.0032 * asymmetry.0)
            * frequency.0
            * coupling.0;
        LiftingIndex { limit: Kilograms(limit), index: Share(load.0 / limit) }
    }
}
