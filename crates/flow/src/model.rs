//! What is simulated: stations, links, fleets, crews, presses and calendars.
//!
//! Plain data, free of any plant. Every index is a newtype; names serve
//! messages and give each station its own random streams, so that two variants
//! of a plant see the same luck.

use crate::distribution::Distribution;

macro_rules! indices {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// The position in the network's vector.
            pub fn at(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

indices! {
    /// A station of [`Network::stations`].
    StationIdx;
    /// A link of [`Network::links`].
    LinkIdx;
    /// A fleet of [`Network::fleets`].
    FleetIdx;
    /// A repair crew of [`Network::crews`].
    CrewIdx;
    /// A calendar of [`Network::calendars`].
    CalendarIdx;
    /// A class of job: what decides its cycle and its way.
    ClassIdx;
}

/// A network of stations and links, ready to be compiled and run.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Names of the classes of job; at least one.
    pub classes: Vec<String>,
    /// The stations.
    pub stations: Vec<Station>,
    /// The ways between stations.
    pub links: Vec<Link>,
    /// Jobs that arrive from outside.
    pub arrivals: Vec<Arrival>,
    /// Carts, skids or hangers that go round.
    pub fleets: Vec<Fleet>,
    /// Repair crews.
    pub crews: Vec<Crew>,
    /// Shift calendars.
    pub calendars: Vec<Calendar>,
}

/// A place where work is done on one job at a time per unit.
#[derive(Clone, Debug)]
pub struct Station {
    /// Unique name; also the key of the station's random streams.
    pub name: String,
    /// What it does with jobs.
    pub work: Work,
    /// Like units side by side, fed from the same queue.
    pub units: u32,
    /// Independent causes of stops.
    pub stops: Vec<Stop>,
    /// Running seconds that count for stops per second of cycle. Leave 1; a
    /// variant with another cycle sets it so that its stops hit the same jobs
    /// as before.
    pub wear: f64,
    /// What happens to a job that is not right.
    pub quality: Quality,
    /// How several incoming links are served.
    pub takes: Takes,
    /// How several outgoing links are served.
    pub gives: Gives,
    /// When the station works; none means always.
    pub calendar: Option<CalendarIdx>,
    /// Some: jobs are released here and never short (beside a merge's parts
    /// the released job is the main one; a job that the station sends back to
    /// itself goes before the next release). None: fed by links and arrivals; a
    /// station without any of these releases class 0.
    pub release: Option<Release>,
}

impl Station {
    /// A single unit that never stops and spoils nothing.
    pub fn new(name: impl Into<String>, work: impl Into<Work>) -> Self {
        Self {
            name: name.into(),
            work: work.into(),
            units: 1,
            stops: Vec::new(),
            wear: 1.0,
            quality: Quality::PERFECT,
            takes: Takes::Any,
            gives: Gives::Share,
            calendar: None,
            release: None,
        }
    }
}

/// What a station does.
#[derive(Clone, Debug)]
pub enum Work {
    /// One job after the other.
    Cycle(Cycles),
    /// Lots of several items with a changeover between them: a press line that
    /// changes dies.
    Lots(Lots),
}

impl From<Distribution> for Work {
    /// The same cycle for all jobs.
    fn from(cycle: Distribution) -> Self {
        Self::Cycle(Cycles::same(cycle))
    }
}

/// Cycle times by class of job.
#[derive(Clone, Debug)]
pub struct Cycles {
    /// The distinct distributions, seconds.
    pub distributions: Vec<Distribution>,
    /// For each class the position in `distributions`; empty means the first
    /// for all.
    pub of_class: Vec<u16>,
}

impl Cycles {
    /// One distribution for all classes.
    pub fn same(distribution: Distribution) -> Self {
        Self {
            distributions: vec![distribution],
            of_class: Vec::new(),
        }
    }
}

/// Lot production: each item has its own stock (an outgoing link with places)
/// and, where it needs material, its own incoming link.
#[derive(Clone, Debug)]
pub struct Lots {
    /// The items.
    pub items: Vec<LotItem>,
    /// Seconds to change from any item to another.
    pub changeover: Distribution,
    /// Which item is made next.
    pub rule: LotRule,
}

/// An item that a lot station makes.
#[derive(Clone, Debug)]
pub struct LotItem {
    /// Its name.
    pub name: String,
    /// Class that its jobs carry.
    pub class: ClassIdx,
    /// Where its material comes from; none means never short.
    pub from: Option<LinkIdx>,
    /// Where its pieces go.
    pub to: LinkIdx,
    /// Seconds a piece.
    pub cycle: Distribution,
    /// Share of pieces lost.
    pub scrap: f64,
    /// Pieces in a lot; fewer where the stock has no room for all.
    pub lot: u32,
    /// A lot may start when pieces in the stock have fallen to this or below.
    pub start_below: u32,
    /// Pieces drawn from the stock an hour: what cover is counted with.
    pub drawn_per_hour: f64,
    /// Pieces in stock when the run starts (aged zero).
    pub at_start: u32,
    /// Pieces are born when their lot starts (a coil is opened) instead of
    /// inheriting the age of their material.
    pub born_here: bool,
}

/// How the next item is chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LotRule {
    /// Of the items at or below their start level, the one whose stock lasts
    /// least.
    LeastCover,
    /// These turns over and over. The next turn whose item's stock is at or
    /// below the start level is taken; turns before it that are not due are
    /// left out this time, so that a line never waits while another item runs
    /// short.
    InOrder(Vec<Turn>),
}

/// A lot of a repeating timetable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turn {
    /// Position in the station's items.
    pub item: u32,
    /// Pieces in this lot; fewer where the stock has no room for all.
    pub lot: u32,
}

/// A cause of stops.
#[derive(Clone, Debug)]
pub struct Stop {
    /// Its name; part of the key of its random streams.
    pub cause: String,
    /// Which clock runs towards the next stop.
    pub basis: Basis,
    /// Time from the end of a repair to the next stop.
    pub between: Distribution,
    /// Time to repair, crew at hand.
    pub repair: Distribution,
    /// The crew that must come; none means that somebody always can.
    pub crew: Option<CrewIdx>,
    /// Repairs go on while the station's calendar is closed.
    pub in_breaks: bool,
}

/// Which clock runs towards the next stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Only while the station works.
    Running,
    /// Calendar time, work or not.
    Clock,
}

/// Quality of a station's work.
#[derive(Clone, Debug)]
pub struct Quality {
    /// Share of jobs right at the first try (and at each further one).
    pub first_time_ok: f64,
    /// Link that takes the others; none makes them scrap.
    pub rework: Option<LinkIdx>,
    /// Share of all jobs lost whatever is done.
    pub scrap: f64,
    /// A job that has failed here this often is scrap instead of going round
    /// again; none means no limit.
    pub attempts: Option<u32>,
}

impl Quality {
    /// Always right.
    pub const PERFECT: Self = Self {
        first_time_ok: 1.0,
        rework: None,
        scrap: 0.0,
        attempts: None,
    };
}

/// How several incoming links are served.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    /// The next job from whichever link, oldest arrival first.
    Any,
    /// One from every link, taken in one go when all are there, makes one job.
    OneOfEach,
    /// As [`Takes::OneOfEach`], but the station holds a place for each kind
    /// and fills it as it arrives.
    OneOfEachAsTheyCome,
}

/// How several outgoing links (the rework link not counted) are served.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    /// One link, drawn by its share among those open to the job's class.
    Share,
    /// One piece to each link: a split.
    OneToEach,
}

/// Where jobs come from at a station that nothing feeds.
#[derive(Clone, Debug, PartialEq)]
pub enum Release {
    /// Classes drawn by share. Empty means class 0 only.
    Mix(Vec<f64>),
    /// Classes in this order, over and over.
    Order(Vec<ClassIdx>),
}

/// A way between two stations.
#[derive(Clone, Debug)]
pub struct Link {
    /// From here.
    pub from: StationIdx,
    /// To there.
    pub to: StationIdx,
    /// Places between the stations; none means without limit; 0 is hand to
    /// hand. A job on its way takes a place.
    pub holds: Option<u32>,
    /// Seconds on the way.
    pub move_s: f64,
    /// Share of jobs that go this way, where the station gives by share.
    pub share: f64,
    /// Classes that may go this way; empty means all.
    pub classes: Vec<ClassIdx>,
    /// Pieces of this link that the station below needs for one job, where it
    /// takes one of each (two doors a car: 2).
    pub needs: u32,
    /// The station below needs this link only for these classes of the job
    /// that comes by its first link; empty means for all.
    pub needed_for: Vec<ClassIdx>,
}

/// Jobs that arrive from outside.
#[derive(Clone, Debug)]
pub struct Arrival {
    /// Where they arrive.
    pub station: StationIdx,
    /// Seconds between two.
    pub between: Distribution,
    /// Jobs per arrival.
    pub batch: u32,
    /// Classes drawn by share; empty means class 0.
    pub mix: Vec<f64>,
}

/// Carriers that go round: a job needs one from `taken_at` to `returned_at`.
#[derive(Clone, Debug)]
pub struct Fleet {
    /// Its name.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Station whose work can start only with a carrier.
    pub taken_at: StationIdx,
    /// Station whose jobs set the carrier free when they leave.
    pub returned_at: StationIdx,
    /// Seconds on the way back.
    pub return_s: f64,
}

/// People who repair: a stop with a crew waits until one is free.
#[derive(Clone, Debug)]
pub struct Crew {
    /// Its name.
    pub name: String,
    /// How many repairs at once.
    pub count: u32,
}

/// When stations work: spells of seconds from the start of the run, repeated.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// Its name.
    pub name: String,
    /// Open spells `[from, to)` in seconds, sorted, apart.
    pub open: Vec<(f64, f64)>,
    /// The spells repeat after this many seconds.
    pub repeat_s: f64,
    /// What happens to work begun when a spell ends.
    pub at_close: AtClose,
}

/// What happens to work in hand when a spell ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtClose {
    /// It stops and goes on when the next spell opens.
    Pause,
    /// It is finished, then nothing starts.
    FinishFirst,
    /// Nothing starts that could not be finished.
    NoStart,
}

impl Link {
    /// A plain way for all classes, without transit.
    pub fn new(from: StationIdx, to: StationIdx, holds: Option<u32>) -> Self {
        Self {
            from,
            to,
            holds,
            move_s: 0.0,
            share: 1.0,
            classes: Vec::new(),
            needs: 1,
            needed_for: Vec::new(),
        }
    }
}
