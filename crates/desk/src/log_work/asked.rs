//! What is asked of a log.

/// How a log's rows are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Judged {
    /// Stops of one cause with less work than this between them are one stop, seconds.
    pub(crate) merge_s: u32,
    /// Stops shorter than this are short ones, seconds.
    pub(crate) short_s: u32,
}

/// A question about a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LogAsk {
    /// How it reads, its figures, the book held against it.
    Learn,
    /// Whether the model makes what really came out.
    Believe,
    /// What a day cost, counted from 1970-01-01.
    Day(i64),
}

/// A question about a log of the store.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct LogOrder {
    pub(crate) log: i64,
    pub(crate) judged: Judged,
    pub(crate) ask: LogAsk,
}

/// A log of the plant's own run that is to be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Weeks {
    pub(crate) weeks: u32,
    pub(crate) seed: u64,
}
