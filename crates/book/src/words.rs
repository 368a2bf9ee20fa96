//! Cells that hold one of a few words.

use serde::{Deserialize, Serialize};

/// A cell that holds one of a few words.
pub(crate) trait Word: Copy + Default + 'static {
    const WORDS: &'static [&'static str];
    fn find(text: &str) -> Option<Self>;
}

macro_rules! words {
    ($($(#[$doc:meta])* $name:ident { $($(#[$item:meta])* $variant:ident = $word:literal,)+ })+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$item])* $variant,)+ }

        impl $name {
            /// The word as the book writes it.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }

        impl Word for $name {
            const WORDS: &'static [&'static str] = &[$($word),+];
            fn find(text: &str) -> Option<Self> {
                match text { $($word => Some(Self::$variant),)+ _ => None }
            }
        }
    )+};
}

words! {
    /// What happens to work in hand when the shift or a stop begins.
    AtClose {
        /// Work stops where it is and goes on when the shift goes on.
        #[default]
        Pause = "pause",
        /// The car in work is finished first.
        Finish = "finish",
        /// Nothing is started that cannot be finished in time.
        NoStart = "no_start",
    }

    /// Whose time runs until the next stop of a station.
    Basis {
        /// Only time in which the station works wears it.
        #[default]
        Running = "running",
        /// All scheduled time wears it.
        Clock = "clock",
    }

    /// What kind of step of a paint process it is.
    CoatKind {
        /// The body is dipped, or flooded and rinsed.
        Dip = "dip",
        /// Applicators spray it.
        Spray = "spray",
        /// Applicators lay beads or sheets of sealer, or wax.
        Bead = "bead",
        /// Solvent or water leaves the film.
        Flash = "flash",
        /// The film cures.
        Oven = "oven",
        /// People or machines work on it, or it cools.
        #[default]
        Work = "work",
        /// It is looked over, and sent to repair where it is not OK.
        Inspect = "inspect",
    }

    /// How the goals of the build order stand to one another.
    OrderGoals {
        /// One after the other; no amount of a later one outweighs an earlier.
        #[default]
        Strict = "strict",
        /// In one sum by their weights.
        Weighted = "weighted",
    }

    /// What a doubling of the pieces shortens by the learning rate.
    LearningModel {
        /// The time of the last piece.
        #[default]
        Unit = "unit",
        /// The mean time of all pieces, which promises far less work.
        Average = "average",
    }

    /// How a station takes from the links that lead to it.
    Takes {
        /// From any link that has something.
        #[default]
        Any = "any",
        /// One from each link: the first link listed brings the car, and the
        /// others' pieces are taken when it is there and all are.
        OneOfEach = "one_of_each",
        /// One from each link too, but each place is filled as its piece
        /// comes, so that a piece makes room behind it before the others are
        /// there.
        AsTheyCome = "as_they_come",
    }

    /// How a station gives to the links that leave it.
    Gives {
        /// Each car goes down one link, by the links' shares.
        #[default]
        Share = "share",
        /// One goes down each link.
        OneToEach = "one_to_each",
    }

    /// How a cart's battery is filled.
    Charging {
        /// Not at all: it is driven from outside.
        #[default]
        None = "none",
        /// At a charger beside the loop, for which it leaves the loop.
        Away = "away",
        /// As it loads and unloads, and besides only as long as that does not
        /// suffice.
        Opportunity = "opportunity",
        /// By a swap of batteries beside the loop.
        Swap = "swap",
    }

    /// What a press line does.
    PressKind {
        /// Cuts blanks from coil with a die.
        #[default]
        Blanking = "blanking",
        /// Cuts blanks from coil with a laser.
        Laser = "laser",
        /// Forms panels from blanks.
        Press = "press",
    }

    /// Where a part comes from.
    PartSource {
        /// Pressed in the plant.
        #[default]
        Made = "made",
        /// Bought, ready to join.
        Bought = "bought",
    }

    /// How a joint is made.
    JoinMethod {
        /// A bead of adhesive.
        #[default]
        Adhesive = "adhesive",
        /// Self-piercing or blind rivets.
        Rivet = "rivet",
        /// An arc-welded seam.
        Arc = "arc",
        /// Resistance spot welds.
        Spot = "spot",
        /// Resistance spot welds through a process tape.
        TapeSpot = "tape_spot",
    }

    /// From where tools reach a stack.
    Access {
        /// From both sides.
        #[default]
        Both = "both",
        /// From one side only.
        One = "one",
    }

    /// What a joining method asks of a stack.
    JoinRule {
        /// Sheets at least.
        #[default]
        SheetsLeast = "sheets_least",
        /// Sheets at most.
        SheetsMost = "sheets_most",
        /// Thickness of all sheets at least.
        TotalLeast = "total_least_mm",
        /// Thickness of all sheets at most.
        TotalMost = "total_most_mm",
        /// Thickness of the thinnest sheet at least.
        GaugeLeast = "gauge_least_mm",
        /// Thickest over thinnest sheet at most.
        RatioMost = "ratio_most",
        /// Thickness of the sheet on the die at least.
        DieSideLeast = "die_side_least_mm",
        /// The same as a part of the whole stack.
        DieSideShareLeast = "die_side_share_least",
        /// Whether the sheet on the die may not be thinner than the one opposite.
        ThinIntoThick = "thin_into_thick",
        /// Width of the flange at least.
        FlangeLeast = "flange_least_mm",
        /// From joint to edge at least.
        EdgeLeast = "edge_least_mm",
        /// From joint to joint at least.
        PitchLeast = "pitch_least_mm",
        /// The same in thicknesses of the thinnest sheet.
        PitchGaugesLeast = "pitch_gauges_least",
        /// Gap between the sheets at least.
        GapLeast = "gap_least_mm",
        /// Gap between the sheets at most.
        GapMost = "gap_most_mm",
        /// The same in thicknesses of the thinnest sheet.
        GapGaugesMost = "gap_gauges_most",
        /// From the joint to uncured adhesive at least.
        AdhesiveLeast = "adhesive_least_mm",
        /// Spread of the bead in the closed flange as a part of its width, at most.
        SpreadShareMost = "spread_share_most",
        /// Whether it needs access from both sides.
        BothSides = "both_sides",
        /// Whether it may be seen on the finished car.
        Visible = "visible",
        /// Whether it joins different metals.
        MixedMetals = "mixed_metals",
    }

    /// A figure of a joining method: seconds, use, price.
    JoinValue {
        /// Making one joint.
        #[default]
        Process = "process_s",
        /// From joint to joint.
        Move = "move_s",
        /// Turning the tool another way.
        Turn = "turn_s",
        /// Joints between two turns, where the group does not say.
        TurnEvery = "turn_every",
        /// Start and stop of a seam or bead.
        StartStop = "start_stop_s",
        /// Speed along a seam or bead.
        Speed = "speed_mm_s",
        /// Joints from one dressing of the electrodes to the next.
        DressEvery = "dress_every",
        /// Dressing the electrodes.
        Dress = "dress_s",
        /// Dressings that a pair of caps bears.
        DressesPerCap = "dresses_per_cap",
        /// Changing a pair of caps.
        CapChange = "cap_change_s",
        /// Price of a pair of caps.
        CapPrice = "cap_price",
        /// Moving the tape on, as far as it is not hidden in the move.
        TapeIndex = "tape_index_s",
        /// Tape that a joint takes on each electrode.
        TapeAdvance = "tape_advance_mm",
        /// Tape on a spool.
        TapeSpool = "tape_spool_m",
        /// Changing a pair of spools.
        TapeChange = "tape_change_s",
        /// Price of a metre of tape.
        TapePrice = "tape_price_per_m",
        /// Rivets of a refill.
        Refill = "refill_rivets",
        /// Refilling rivets.
        RefillTime = "refill_s",
        /// Price of a rivet.
        RivetPrice = "rivet_price",
        /// Joints that a die and punch bear.
        DieLife = "die_life",
        /// Changing die and punch.
        DieChange = "die_change_s",
        /// Price of a die and punch.
        DiePrice = "die_price",
        /// Diameter of the wire.
        Wire = "wire_mm",
        /// Wire fed over the way travelled.
        WireRatio = "wire_ratio",
        /// The part of the wire that stays in the seam.
        WireYield = "wire_yield",
        /// Density of the wire.
        WireDensity = "wire_density_kg_m3",
        /// Wire on a spool.
        WireSpool = "wire_spool_kg",
        /// Changing the spool.
        WireChange = "wire_change_s",
        /// Price of a kilogram of wire.
        WirePrice = "wire_price_per_kg",
        /// Shielding gas while the arc burns.
        Gas = "gas_l_min",
        /// Price of a cubic metre of gas.
        GasPrice = "gas_price_per_m3",
        /// Seconds of arc from one care of the nozzle to the next.
        NozzleEvery = "nozzle_every_s",
        /// Cleaning the nozzle and cutting the wire.
        NozzleCare = "nozzle_care_s",
        /// Seconds of arc that a contact tip bears.
        TipEvery = "tip_every_s",
        /// Changing the contact tip.
        TipChange = "tip_change_s",
        /// Price of a contact tip.
        TipPrice = "tip_price",
        /// Diameter of the bead of adhesive.
        Bead = "bead_mm",
        /// Density of the adhesive.
        AdhesiveDensity = "adhesive_density_kg_m3",
        /// Price of a kilogram of adhesive.
        AdhesivePrice = "adhesive_price_per_kg",
        /// Adhesive in a drum.
        Drum = "drum_kg",
        /// Changing the drum.
        DrumChange = "drum_change_s",
        /// Beads from one purge of the nozzle to the next.
        PurgeEvery = "purge_every",
        /// Purging the nozzle.
        PurgeTime = "purge_s",
        /// Adhesive lost in a purge.
        Purge = "purge_ml",
        /// What one more kind of gun, rivet and die, or nozzle costs a year.
        VariantPerYear = "variant_per_year",
        /// What looking at a joint costs.
        Inspection = "inspection_price",
    }

    /// The side of the car.
    Side {
        /// The left side only.
        Left = "left",
        /// The right side only.
        Right = "right",
        /// Either side will do.
        #[default]
        Either = "either",
    }

    /// Who does the work.
    RobotKind {
        /// A kind of robot.
        #[default]
        Robot = "robot",
        /// A kind of person.
        Person = "person",
    }
}
