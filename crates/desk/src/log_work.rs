//! What is read out of a log: its reading, figures, fits and the book held against
//! it; whether the model is believable; what a day cost; a log of the plant's own run.

mod asked;
mod reading;
mod rehearsal;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use axum::body::Bytes;
use book::{Book, Checked, Problem};
use evidence::day::{self, NoDay};
use evidence::figures::{Figures, Grain, causes, cycles, figures};
use evidence::gather::Rules;
use evidence::learn::{self, Drift, Verdict};
use evidence::read::{self, Files, Log, LogError};
use evidence::roster::Roster;
use evidence::time::{Micros, SECOND, parse_day, show_day};
use flow::Watch;
use whole::findings::NoAnswer;
use whole::network::{self, Built};

use crate::jobs::{Ended, Job, Order, QueueFull, Work};
use crate::office::{ENGINE, NoResult, Office, listed};
use crate::report;
use crate::store::{Digest, FileRole, LogEntry, ResultKey, StoreError};

pub(crate) use asked::{Judged, LogAsk, LogOrder, Weeks};
pub(crate) use reading::{
    Believed, CellFit, FigureRow, FigureRows, LearnedCell, Reading, Rehearsed, ShopFigures,
    StopsAndCycles, ToldDay,
};

/// The seed of runs and replays.
const SEED: u64 = 1;
/// Replays of a day with other luck before it.
const REPLICATIONS: u32 = 10;
/// Losses of a day that are told apart.
const APART: usize = 10;
/// Groups whose figures are kept; finer ones of a longer log are the command line's.
const MOST_GROUPS: usize = 40_000;

/// A part of what a log says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// How it was read.
    Reading,
    /// Figures, how finely told.
    Figures(By),
    /// Stops and cycles.
    Stops,
    /// Cells of the book.
    Cells,
    /// Their fits.
    Fits,
    /// Weeks of stations.
    Drift,
}

impl Part {
    const ALL: [Self; 9] = [
        Self::Reading,
        Self::Figures(By::Total),
        Self::Figures(By::Day),
        Self::Figures(By::Shift),
        Self::Figures(By::DayAndShift),
        Self::Stops,
        Self::Cells,
        Self::Fits,
        Self::Drift,
    ];

    fn word(self) -> &'static str {
        match self {
            Self::Reading => "log reading",
            Self::Figures(By::Total) => "log figures",
            Self::Figures(By::Day) => "log figures by day",
            Self::Figures(By::Shift) => "log figures by shift",
            Self::Figures(By::DayAndShift) => "log figures by day and shift",
            Self::Stops => "log stops",
            Self::Cells => "log cells",
            Self::Fits => "log fits",
            Self::Drift => "log weeks",
        }
    }
}

/// How finely figures are told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum By {
    /// All of the log in one.
    #[default]
    Total,
    /// Day by day.
    Day,
    /// Shift by shift, all days together.
    Shift,
    /// Every shift of every day.
    DayAndShift,
}

impl By {
    fn grain(self) -> Grain {
        Grain {
            day: matches!(self, Self::Day | Self::DayAndShift),
            shift: matches!(self, Self::Shift | Self::DayAndShift),
        }
    }
}

/// The name of what is found in a log.
fn key(word: &str, log: &LogEntry, judged: Judged, more: &str, book: Digest) -> ResultKey {
    let files: Vec<(&str, FileRole)> = log
        .files
        .iter()
        .map(|file| (file.digest.as_str(), file.role))
        .collect();
    let settings = (files, &log.words, judged.merge_s, judged.short_s, more);
    let settings = serde_json::to_string(&settings).unwrap_or_default();
    ResultKey::new(word, ENGINE, &settings, book)
}

fn key_of(ask: LogAsk, log: &LogEntry, judged: Judged, book: Digest) -> ResultKey {
    match ask {
        LogAsk::Learn => key(Part::Reading.word(), log, judged, "", book),
        LogAsk::Believe => key("log believe", log, judged, "", book),
        LogAsk::Day(day) => key("log day", log, judged, &show_day(day), book),
    }
}

/// A plant with a log of it.
struct Opened {
    built: Built,
    roster: Roster,
    log: Log,
    /// Why nothing can be learned from it.
    refused: Option<Problem>,
}

/// Why a log was not opened.
enum Closed {
    /// Its columns.
    Problems(Vec<Problem>),
    /// Anything else.
    Ended(Ended),
}

fn failed(error: impl std::fmt::Display) -> Ended {
    Ended::Failed(error.to_string())
}

impl Office {
    /// A part of what a log says as JSON, if it was read.
    pub(crate) fn log_text(
        &self,
        revision: i64,
        log: i64,
        judged: Judged,
        part: Part,
    ) -> Result<Option<Bytes>, StoreError> {
        let (_, _, book) = self.store.revision(revision)?;
        let log = self.store.log(log)?;
        self.kept(key(part.word(), &log, judged, "", book))
    }

    /// The same of a question of its own.
    pub(crate) fn log_answer(
        &self,
        revision: i64,
        log: i64,
        judged: Judged,
        ask: LogAsk,
    ) -> Result<Option<Bytes>, StoreError> {
        let (_, _, book) = self.store.revision(revision)?;
        let log = self.store.log(log)?;
        self.kept(key_of(ask, &log, judged, book))
    }

    /// The job that answers a question about a log, or has answered it.
    pub(crate) fn ask_log(
        &self,
        revision: i64,
        order: LogOrder,
    ) -> Result<Result<Arc<Job>, QueueFull>, NoResult> {
        let (book, _) = self.sound(revision)?;
        let log = self.store.log(order.log)?;
        let asked = Order {
            key: key_of(order.ask, &log, order.judged, book),
            revision,
            work: Work::Log(order),
        };
        let mut there = self.kept(asked.key)?.is_some();
        if order.ask == LogAsk::Learn {
            for part in Part::ALL {
                let key = key(part.word(), &log, order.judged, "", book);
                there = there && self.kept(key)?.is_some();
            }
        }
        if there {
            return Ok(Ok(self.jobs.ask_kept(asked)));
        }
        Ok(self.jobs.ask(asked))
    }

    pub(crate) fn find_log(&self, job: &Arc<Job>, checked: &Checked, order: LogOrder) -> Ended {
        let log = match self.store.log(order.log) {
            Ok(log) => log,
            Err(error) => return failed(error),
        };
        let (_, _, book) = match self.store.revision(job.order.revision) {
            Ok(found) => found,
            Err(error) => return failed(error),
        };
        if key_of(order.ask, &log, order.judged, book) != job.order.key {
            return failed("the log's words were mapped anew in the meantime; ask again");
        }
        let keep = match order.ask {
            LogAsk::Day(day) => Some(day),
            LogAsk::Learn | LogAsk::Believe => None,
        };
        let opened = match self.open_log(job, checked, &log, order.judged, keep) {
            Ok(opened) => opened,
            Err(Closed::Ended(ended)) => return ended,
            Err(Closed::Problems(problems)) => match order.ask {
                LogAsk::Learn => {
                    return self.end_refused(job, &Reading::refused(problems), &log, order.judged);
                }
                LogAsk::Believe | LogAsk::Day(_) => return failed(listed(&problems)),
            },
        };
        match (order.ask, &opened.refused) {
            (LogAsk::Learn, None) => self.find_learned(job, &checked.book, &opened, &log, order),
            (LogAsk::Learn, Some(why)) => {
                let Opened {
                    built,
                    roster,
                    log: read,
                    ..
                } = &opened;
                let told = Reading::of(&checked.book, built, roster, read, Some(why.clone()));
                self.end_refused(job, &told, &log, order.judged)
            }
            (_, Some(why)) => failed(why),
            (LogAsk::Believe, None) => self.find_believed(job, &checked.book, &opened),
            (LogAsk::Day(day), None) => self.find_day(job, &checked.book, &opened, day),
        }
    }

    /// Reads a log; `day` is the one whose spells are kept.
    fn open_log(
        &self,
        job: &Job,
        checked: &Checked,
        log: &LogEntry,
        judged: Judged,
        day: Option<i64>,
    ) -> Result<Opened, Closed> {
        job.tell(|view| "reading the log".clone_into(&mut view.message));
        let built = network::build(&checked.book)
            .map_err(|problems| Closed::Ended(failed(listed(&problems))))?;
        let files = self
            .files_of(log)
            .map_err(|why| Closed::Ended(failed(why)))?;
        let roster = Roster::of(&checked.book, &built, log.words.map());
        let rules = Rules {
            merge: Micros::from(judged.merge_s) * SECOND,
            short: Micros::from(judged.short_s) * SECOND,
            keep: day.map(|day| day::wanted(day, roster.map.zone)),
        };
        match read::gathered(&files, &roster, rules, &job.cancel) {
            Ok(log) => Ok(Opened {
                refused: log.refusal(&roster, &files.first()),
                built,
                roster,
                log,
            }),
            Err(LogError::Problems(problems)) => Err(Closed::Problems(problems)),
            Err(LogError::Cancelled) => Err(Closed::Ended(Ended::Cancelled)),
            Err(error) => Err(Closed::Ended(failed(error))),
        }
    }

    fn files_of(&self, log: &LogEntry) -> Result<Files, String> {
        let mut files = Files::default();
        for file in &log.files {
            let path: PathBuf = self.logs.path(&file.digest).ok_or_else(|| {
                format!(
                    "the file {} is no longer there; send the log again",
                    file.name
                )
            })?;
            match file.role {
                FileRole::States | FileRole::Events => files.states.push(path),
                FileRole::Counts => files.counts = Some(path),
                FileRole::Quality => files.quality = Some(path),
                FileRole::Genealogy => files.genealogy = Some(path),
            }
        }
        Ok(files.in_order())
    }

    /// Keeps a part of a log's reading.
    fn keep_part(
        &self,
        part: Part,
        (log, judged, book): (&LogEntry, Judged, Digest),
        what: &impl serde::Serialize,
    ) -> Result<(), Ended> {
        let key = key(part.word(), log, judged, "", book);
        match self.keep(key, what) {
            Ok(_) => Ok(()),
            Err(NoResult::Store(error)) => Err(failed(error)),
            Err(NoResult::Problems(problems)) => Err(failed(listed(&problems))),
        }
    }

    /// A log from which nothing can be learned has empty parts.
    fn end_refused(&self, job: &Job, told: &Reading, log: &LogEntry, judged: Judged) -> Ended {
        let kept = || -> Result<(), Ended> {
            let (_, _, book) = self.store.revision(job.order.revision).map_err(failed)?;
            let of = (log, judged, book);
            for part in Part::ALL {
                match part {
                    Part::Reading => {}
                    Part::Figures(_) => self.keep_part(part, of, &FigureRows::default())?,
                    Part::Stops => self.keep_part(part, of, &StopsAndCycles::default())?,
                    Part::Drift => self.keep_part(part, of, &Drift::default())?,
                    Part::Cells => self.keep_part(part, of, &Vec::<LearnedCell>::new())?,
                    Part::Fits => self.keep_part(part, of, &Vec::<Option<CellFit>>::new())?,
                }
            }
            Ok(())
        };
        match kept() {
            Ok(()) => self.end(job, told),
            Err(ended) => ended,
        }
    }

    fn find_learned(
        &self,
        job: &Job,
        book: &Book,
        opened: &Opened,
        log: &LogEntry,
        order: LogOrder,
    ) -> Ended {
        let Opened {
            built,
            roster,
            log: read,
            ..
        } = opened;
        let step = |done: u32, word: &str| {
            job.tell(|view| {
                (view.done, view.of) = (done, 3);
                word.clone_into(&mut view.message);
            });
            job.cancel.load(Ordering::Relaxed)
        };
        let kept = || -> Result<Reading, Ended> {
            let (_, _, digest) = self.store.revision(job.order.revision).map_err(failed)?;
            let of = (log, order.judged, digest);
            if step(1, "holding the book against the log") {
                return Err(Ended::Cancelled);
            }
            let proposals = learn::learn(read, roster, book, built);
            let (cells, fits) = reading::cells(&proposals);
            self.keep_part(Part::Cells, of, &cells)?;
            self.keep_part(Part::Fits, of, &fits)?;
            if step(2, "adding up the figures") {
                return Err(Ended::Cancelled);
            }
            for by in [By::Total, By::Day, By::Shift, By::DayAndShift] {
                let part = Part::Figures(by);
                self.keep_part(part, of, &figure_rows(read, roster, by))?;
            }
            let stops = StopsAndCycles {
                causes: causes(read, roster),
                cycles: cycles(read, roster),
            };
            self.keep_part(Part::Stops, of, &stops)?;
            self.keep_part(Part::Drift, of, &learn::drift(read, roster, built))?;
            Ok(Reading::of(book, built, roster, read, None).counted(&proposals))
        };
        match kept() {
            Ok(told) => self.end(job, &told),
            Err(ended) => ended,
        }
    }

    fn find_believed(&self, job: &Job, book: &Book, opened: &Opened) -> Ended {
        let Opened {
            built, roster, log, ..
        } = opened;
        let workbook = match self.store.revision(job.order.revision) {
            Ok((_, content, _)) => content.workbook(),
            Err(error) => return failed(error),
        };
        let progress = |at: flow::Progress| {
            job.tell(|view| (view.done, view.of) = (at.done, at.of));
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &progress,
        };
        let run = |book: &Book, word: &str| {
            job.tell(|view| word.clone_into(&mut view.message));
            learn::believe(book, built, log, roster, SEED, &watch)
        };
        let proposals = learn::learn(log, roster, book, built);
        let differ = || proposals.iter().filter(|p| p.verdict == Verdict::Differs);
        let made = || -> Result<Believed, NoAnswer> {
            let stands = run(book, "running the book as it stands")?;
            let cells = differ().count();
            let mended = if cells == 0 {
                Vec::new()
            } else {
                let mended = learn::accept(&workbook, differ()).map_err(NoAnswer::Settings)?;
                run(
                    &book::check(&mended).book,
                    "running the book with mended figures",
                )?
            };
            Ok(Believed {
                stands,
                mended,
                cells,
            })
        };
        self.end_run(job, made())
    }

    fn find_day(&self, job: &Job, book: &Book, opened: &Opened, date: i64) -> Ended {
        let Opened {
            built, roster, log, ..
        } = opened;
        let settings = day::Settings {
            seed: SEED,
            replications: REPLICATIONS,
            apart: APART,
        };
        job.tell(|view| "replaying the day".clone_into(&mut view.message));
        // Replays run side by side: a count that comes late is no step back.
        let progress = |at: flow::Progress| {
            job.tell(|view| (view.done, view.of) = (at.done.max(view.done), at.of));
        };
        let watch = Watch {
            cancel: &job.cancel,
            progress: &progress,
        };
        match day::day(book, built, roster, log, date, &settings, &watch) {
            Ok(found) => {
                let told = ToldDay {
                    sentence: report::sentence(&found),
                    made: reading::shops_made(&found.hours),
                    shops: shops_of_day(book, roster, log, &found.date),
                    defects: log.defects.kinds.values().map(|rows| rows.count).sum(),
                    rows: log.rows,
                    day: found,
                };
                self.end(job, &told)
            }
            Err(NoDay::Problems(problems)) => failed(listed(&problems)),
            Err(NoDay::Cancelled) => Ended::Cancelled,
        }
    }
}

fn figure_rows(log: &Log, roster: &Roster, by: By) -> FigureRows {
    let found = figures(log, roster, by.grain());
    if found.len() > MOST_GROUPS {
        return FigureRows {
            rows: Vec::new(),
            left_out: found.len(),
        };
    }
    let rows = found
        .into_iter()
        .map(|(of, figures)| FigureRow { of, figures });
    FigureRows {
        rows: rows.collect(),
        left_out: 0,
    }
}

/// The day's figures by shop, from coil to car.
fn shops_of_day(book: &Book, roster: &Roster, log: &Log, date: &str) -> Vec<ShopFigures> {
    let all = figures(log, roster, By::Day.grain());
    let of = |shop: String| {
        let found = all.iter().find(|(of, _)| {
            of.day == date && of.shop == shop && of.line.is_empty() && of.station.is_empty()
        });
        let figures: Figures = found?.1.clone();
        Some(ShopFigures { shop, figures })
    };
    whole::calendar::shops(book)
        .into_iter()
        .filter_map(of)
        .collect()
}

/// A day of a log by its date.
pub(crate) fn day_of(text: &str) -> Option<i64> {
    parse_day(text)
}
