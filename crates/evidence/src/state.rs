//! The states of a station and the time elements of ISO 22400-2 they count as.

use serde::{Deserialize, Serialize};

/// What a station is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "LogState")
)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Works on a job: actual production time (APT).
    Working,
    /// Sets up: actual unit setup time (AUST).
    Setup,
    /// Stopped, being repaired: actual unit delay time (ADET).
    Stopped,
    /// Stopped, nobody there yet: actual unit delay time (ADET), but no time
    /// to repair.
    Waiting,
    /// Free, no job comes: actual down time (ADOT), not delay.
    Starved,
    /// Done, the job cannot leave: actual down time (ADOT), not delay.
    Blocked,
    /// Planned stop, break, planned upkeep or no shift: outside planned busy
    /// time (PBT).
    Off,
}

impl State {
    /// All states, in the order of their numbers.
    pub const ALL: [Self; 7] = [
        Self::Working,
        Self::Setup,
        Self::Stopped,
        Self::Waiting,
        Self::Starved,
        Self::Blocked,
        Self::Off,
    ];

    /// The word for it in a log.
    pub fn word(self) -> &'static str {
        match self {
            Self::Working => "working",
            Self::Setup => "setup",
            Self::Stopped => "stopped",
            Self::Waiting => "waiting",
            Self::Starved => "starved",
            Self::Blocked => "blocked",
            Self::Off => "off",
        }
    }

    /// The state of a word, written exactly so.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.word() == word)
    }

    /// Its number.
    pub fn at(self) -> usize {
        self as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_is_read_from_its_own_word() {
        for (n, state) in State::ALL.into_iter().enumerate() {
            assert_eq!(State::parse(state.word()), Some(state));
            assert_eq!(state.at(), n);
        }
        assert_eq!(State::parse("resting"), None);
    }
}
