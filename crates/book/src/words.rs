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
