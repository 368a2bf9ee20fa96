//! A log of the plant's own run, written among the logs of the store: whoever has
//! none yet sees what one says, and what is true of it is known.

use std::sync::Arc;

use book::Book;
use evidence::map::LogMap;
use evidence::rehearse::{self, Rehearsal};
use evidence::roster::Roster;
use flow::Halt;
use whole::network::{self, Built};

use super::{Rehearsed, Weeks, failed};
use crate::jobs::{Ended, Job, Order, QueueFull, Work};
use crate::office::{ENGINE, NoResult, Office, listed};
use crate::store::{Digest, FileRole, LogFile, LogWords, NewLog, ResultKey, StoreError};

/// Weeks that a plant runs before a log of it begins.
const WARM_UP_WEEKS: u32 = 2;

fn rehearsal_key(weeks: Weeks, book: Digest) -> ResultKey {
    let settings = format!("{} weeks, seed {}", weeks.weeks, weeks.seed);
    ResultKey::new("rehearsal", ENGINE, &settings, book)
}

impl Office {
    /// The log of the plant's own run, if it was written and is still there.
    pub(crate) fn rehearsed(
        &self,
        revision: i64,
        weeks: Weeks,
    ) -> Result<Option<Rehearsed>, StoreError> {
        let (_, _, book) = self.store.revision(revision)?;
        let text = self.kept(rehearsal_key(weeks, book))?;
        let found: Option<Rehearsed> = text.and_then(|text| serde_json::from_slice(&text).ok());
        Ok(found.filter(|found| self.store.log(found.log).is_ok()))
    }

    /// The job that writes such a log, or has written it.
    pub(crate) fn rehearse(
        &self,
        revision: i64,
        weeks: Weeks,
    ) -> Result<Result<Arc<Job>, QueueFull>, NoResult> {
        let (book, _) = self.sound(revision)?;
        let order = Order {
            key: rehearsal_key(weeks, book),
            revision,
            work: Work::Rehearse(weeks),
        };
        if self.rehearsed(revision, weeks)?.is_some() {
            return Ok(Ok(self.jobs.ask_kept(order)));
        }
        Ok(self.jobs.ask(order))
    }

    pub(crate) fn find_rehearsed(&self, job: &Job, book: &Book, weeks: Weeks) -> Ended {
        let built = match network::build(book) {
            Ok(built) => built,
            Err(problems) => return failed(listed(&problems)),
        };
        let settings = rehearse::Settings {
            seed: weeks.seed,
            warm_up_weeks: WARM_UP_WEEKS,
            weeks: weeks.weeks,
        };
        job.tell(|view| "running the plant and listening".clone_into(&mut view.message));
        let heard = match rehearse::rehearse(book, &built, &settings, &job.cancel) {
            Ok(heard) => heard,
            Err(Halt::Cancelled) => return Ended::Cancelled,
            Err(Halt::Settings(what)) => return Ended::Failed(what),
        };
        job.tell(|view| "writing the log".clone_into(&mut view.message));
        let name = format!(
            "rehearsal of revision {}, {} {}, seed {}",
            job.order.revision,
            weeks.weeks,
            if weeks.weeks == 1 { "week" } else { "weeks" },
            weeks.seed
        );
        let added = self.written(book, &built, &heard).and_then(|files| {
            self.store.add_log(&NewLog {
                name,
                author: "Linewright".to_owned(),
                files,
                words: LogWords::default(),
            })
        });
        match added {
            Ok(log) => self.end(
                job,
                &Rehearsed {
                    log: log.id,
                    rows: heard.rows.len(),
                    cars: heard.cars.len(),
                },
            ),
            Err(error) => failed(error),
        }
    }

    /// A rehearsed log among the files.
    fn written(
        &self,
        book: &Book,
        built: &Built,
        heard: &Rehearsal,
    ) -> Result<Vec<LogFile>, StoreError> {
        let roster = Roster::of(book, built, LogMap::default());
        let classes: Vec<String> = built
            .classes
            .iter()
            .map(|class| class.name.clone())
            .collect();
        let mut files = Vec::new();
        for role in FileRole::TABLES {
            let mut coming = self.logs.begin()?;
            let name = match role {
                FileRole::States | FileRole::Events => {
                    rehearse::states_csv(heard, &roster, &classes, &mut coming)?;
                    "states.csv"
                }
                FileRole::Counts => {
                    rehearse::counts_csv(heard, &roster, &mut coming)?;
                    "counts.csv"
                }
                FileRole::Quality => {
                    rehearse::quality_csv(heard, &roster, &mut coming)?;
                    "quality.csv"
                }
                FileRole::Genealogy => {
                    rehearse::genealogy_csv(heard, &classes, &mut coming)?;
                    "genealogy.csv"
                }
            };
            for file in self.logs.keep(name, coming)? {
                files.push(LogFile {
                    name: file.name,
                    digest: file.digest,
                    bytes: file.bytes,
                    role,
                    columns: file.columns,
                });
            }
        }
        Ok(files)
    }
}
