//! Variants, revisions, edits, imports.

use std::sync::Arc;

use book::raw::{RawTable, Workbook};
use rusqlite::{Connection, OptionalExtension as _, params};
use serde::{Deserialize, Serialize};

use super::Store;
use super::arrival::{self, Ids};
use super::compare::{BookDifference, compare};
use super::content::{self, Content};
use super::digest::{Digest, Fields};
use super::fault::StoreError;
use super::merge::{Conflict, merge};
use super::patch::{Patch, apply};
use crate::clock;

const NAME_LETTERS: usize = 80;
const NOTE_LETTERS: usize = 2_000;

/// A state of the book, never changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Revision {
    /// Its number.
    pub id: i64,
    /// The variant it belongs to.
    pub variant: i64,
    /// The revision it came from.
    pub parent: Option<i64>,
    /// Who made it.
    pub author: String,
    /// When, as RFC 3339 in UTC.
    pub time: String,
    /// Why, in the author's words.
    pub note: String,
}

/// A branch of the book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Variant {
    /// Its number.
    pub variant: i64,
    /// Its name.
    pub name: String,
    /// Its newest revision.
    pub head: Revision,
}

/// Who does something, and why.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Author {
    /// The name given.
    pub author: String,
    /// The note.
    #[serde(default)]
    pub note: String,
}

impl Author {
    /// An author with a note.
    pub fn new(author: &str, note: &str) -> Self {
        Self {
            author: author.to_owned(),
            note: note.to_owned(),
        }
    }

    fn checked(&self) -> Result<Self, StoreError> {
        Ok(Self {
            author: name("an author", &self.author)?,
            note: note(&self.note)?,
        })
    }
}

/// Patches against a revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Edit {
    /// The revision the author saw.
    pub base: i64,
    /// Who and why.
    #[serde(flatten)]
    pub by: Author,
    /// The steps, taken in order.
    pub patches: Vec<Patch>,
}

/// What became of an edit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Edited {
    /// It is on the disk.
    Saved {
        /// The new head; the old one when nothing changed.
        revision: Revision,
        /// Whether others' edits were merged in.
        merged: bool,
    },
    /// Somebody else changed the same cells; nothing was saved.
    Conflicts {
        /// The head with their edits.
        head: Revision,
        /// Both texts of every cell.
        conflicts: Vec<Conflict>,
    },
}

/// What comes from outside.
#[derive(Clone, Copy, Debug)]
pub enum Incoming<'a> {
    /// A whole book in the place of the old one.
    Book {
        /// The tables.
        workbook: &'a Workbook,
        /// The plant's name, where the file has none.
        name: &'a str,
    },
    /// One table in the place of the old one.
    Table(&'a RawTable),
}

/// A revision with the names of what it holds.
pub(super) struct Stored {
    pub(super) revision: Revision,
    pub(super) content: Digest,
    pub(super) book: Digest,
}

impl Store {
    /// All variants with their heads, in the order of their making.
    ///
    /// # Errors
    /// When the database fails or is damaged.
    pub fn variants(&self) -> Result<Vec<Variant>, StoreError> {
        self.read(|connection| {
            let mut all = connection.prepare_cached("SELECT id, name FROM variant ORDER BY id")?;
            let rows = all.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            rows.map(|row| {
                let (variant, name) = row?;
                let head = head(connection, variant)?.revision;
                Ok(Variant {
                    variant,
                    name,
                    head,
                })
            })
            .collect()
        })
    }

    /// Makes a variant that begins with a revision's book, or with an empty one.
    ///
    /// # Errors
    /// When the name is taken or no name, or there is no such revision.
    pub fn new_variant(
        &self,
        name_given: &str,
        from: Option<i64>,
        by: &Author,
    ) -> Result<Variant, StoreError> {
        let (name, mut by) = (name("a variant", name_given)?, by.checked()?);
        if by.note.is_empty() {
            by.note = from.map_or_else(
                || "an empty book".to_owned(),
                |from| format!("branched from revision {from}"),
            );
        }
        self.write(|transaction| {
            let content = match from {
                Some(id) => self.content_of(transaction, stored(transaction, id)?.content)?,
                None => Arc::new(Content {
                    name: name.clone(),
                    tables: Vec::new(),
                }),
            };
            let taken: Option<i64> = transaction
                .query_row("SELECT id FROM variant WHERE name = ?1", [&name], |row| {
                    row.get(0)
                })
                .optional()?;
            if taken.is_some() {
                return Err(StoreError::Refused(format!(
                    "there is a variant `{name}` already; give another name"
                )));
            }
            transaction.execute("INSERT INTO variant (name) VALUES (?1)", [&name])?;
            let variant = transaction.last_insert_rowid();
            let head = self.add(transaction, variant, from, &by, &content)?;
            Ok(Variant {
                variant,
                name: name.clone(),
                head,
            })
        })
    }

    /// The revisions of a variant, newest first.
    ///
    /// # Errors
    /// When there is no such variant, or the database fails.
    pub fn revisions(&self, variant: i64) -> Result<Vec<Revision>, StoreError> {
        let sql = format!("{SELECT} WHERE variant = ?1 ORDER BY id DESC");
        let revisions = self.read(|connection| {
            let mut all = connection.prepare_cached(&sql)?;
            let rows = all.query_map([variant], unsealed)?;
            rows.map(|row| Ok(sealed(row?)?.revision))
                .collect::<Result<Vec<_>, StoreError>>()
        })?;
        if revisions.is_empty() {
            return Err(StoreError::no_variant(variant));
        }
        Ok(revisions)
    }

    /// The newest revision of a variant.
    ///
    /// # Errors
    /// When there is no such variant, or the database fails.
    pub fn head(&self, variant: i64) -> Result<Revision, StoreError> {
        self.read(|connection| Ok(head(connection, variant)?.revision))
    }

    /// A revision with its content and the hash of its book.
    ///
    /// # Errors
    /// When there is none, or the database fails or is damaged.
    pub fn revision(&self, id: i64) -> Result<(Revision, Arc<Content>, Digest), StoreError> {
        self.read(|connection| {
            let found = stored(connection, id)?;
            let content = self.content_of(connection, found.content)?;
            Ok((found.revision, content, found.book))
        })
    }

    /// Saves an edit on top of the head, merged with what came in since its
    /// base; or says which cells others have changed.
    ///
    /// # Errors
    /// When a patch names what is not there, or the database fails.
    pub fn edit(&self, variant: i64, edit: &Edit) -> Result<Edited, StoreError> {
        let by = edit.by.checked()?;
        self.write(|transaction| {
            let newest = head(transaction, variant)?;
            let base = stored(transaction, edit.base)?;
            if base.revision.variant != variant {
                return Err(StoreError::Refused(format!(
                    "revision {} belongs to variant {}, not to variant {variant}",
                    edit.base, base.revision.variant
                )));
            }
            let before = self.content_of(transaction, base.content)?;
            let yours = apply(&before, &edit.patches)?;
            self.save(transaction, &by, newest, edit.base, [&before, &yours])
        })
    }

    /// Takes a revision back: what it changed is as before, what came in since
    /// stays. An import is so undone in one step, and taking back what took it
    /// back does it again.
    ///
    /// # Errors
    /// When there is no such revision in the variant, nothing came before it, or
    /// the database fails.
    pub fn take_back(&self, variant: i64, id: i64, by: &Author) -> Result<Edited, StoreError> {
        let mut by = by.checked()?;
        if by.note.is_empty() {
            by.note = format!("took back revision {id}");
        }
        self.write(|transaction| {
            let newest = head(transaction, variant)?;
            let back = stored(transaction, id)?;
            let parent = back.revision.parent;
            let Some(parent) = parent.filter(|_| back.revision.variant == variant) else {
                return Err(StoreError::Refused(format!(
                    "revision {id} cannot be taken back in variant {variant}: it is its first, or \
                     another variant's"
                )));
            };
            let parent = stored(transaction, parent)?;
            let before = self.content_of(transaction, back.content)?;
            let yours = self.content_of(transaction, parent.content)?;
            self.save(transaction, &by, newest, id, [&before, &yours])
        })
    }

    /// Saves what changed from the first content, that of revision `base`, to
    /// the second on top of the head.
    fn save(
        &self,
        transaction: &Connection,
        by: &Author,
        newest: Stored,
        base: i64,
        [before, yours]: [&Content; 2],
    ) -> Result<Edited, StoreError> {
        let theirs = self.content_of(transaction, newest.content)?;
        let merged = newest.revision.id != base;
        let content = if merged {
            match merge(before, yours, &theirs) {
                Ok(content) => content,
                Err(conflicts) => {
                    return Ok(Edited::Conflicts {
                        head: newest.revision,
                        conflicts,
                    });
                }
            }
        } else {
            yours.clone()
        };
        let revision = if content == *theirs {
            newest.revision
        } else {
            let (variant, parent) = (newest.revision.variant, Some(newest.revision.id));
            self.add(transaction, variant, parent, by, &Arc::new(content))?
        };
        Ok(Edited::Saved { revision, merged })
    }

    /// Makes an old revision's book the head again, as a new revision.
    ///
    /// # Errors
    /// When there is no such variant or revision, or the database fails.
    pub(crate) fn restore_revision(
        &self,
        variant: i64,
        id: i64,
        by: &Author,
    ) -> Result<Revision, StoreError> {
        let mut by = by.checked()?;
        if by.note.is_empty() {
            by.note = format!("restored revision {id}");
        }
        self.write(|transaction| {
            let parent = head(transaction, variant)?.revision.id;
            let content = self.content_of(transaction, stored(transaction, id)?.content)?;
            self.add(transaction, variant, Some(parent), &by, &content)
        })
    }

    /// Saves a book or a table from outside as a new revision. Rows keep the
    /// ids of the rows with the same key.
    ///
    /// # Errors
    /// When there is no such variant, or the database fails.
    pub fn import(
        &self,
        variant: i64,
        what: Incoming<'_>,
        by: &Author,
    ) -> Result<Revision, StoreError> {
        let by = by.checked()?;
        self.write(|transaction| {
            let newest = head(transaction, variant)?;
            let old = self.content_of(transaction, newest.content)?;
            let mut ids = Ids::of(next_revision(transaction)?);
            let content = match what {
                Incoming::Book { workbook, name } => arrival::book(workbook, &old, name, &mut ids),
                Incoming::Table(table) => arrival::one_table(table, &old, &mut ids),
            };
            if content == *old {
                return Ok(newest.revision);
            }
            let parent = Some(newest.revision.id);
            self.add(transaction, variant, parent, &by, &Arc::new(content))
        })
    }

    /// What differs between the texts of two revisions.
    ///
    /// # Errors
    /// When there are no such revisions, or the database fails.
    pub fn compare(&self, a: i64, b: i64) -> Result<BookDifference, StoreError> {
        let ((_, a, _), (_, b, _)) = (self.revision(a)?, self.revision(b)?);
        Ok(compare(&a, &b))
    }

    fn add(
        &self,
        connection: &Connection,
        variant: i64,
        parent: Option<i64>,
        by: &Author,
        content: &Arc<Content>,
    ) -> Result<Revision, StoreError> {
        let digest = content::write(connection, content)?;
        let row = Unsealed {
            id: next_revision(connection)?,
            variant,
            parent,
            author: by.author.clone(),
            time_ms: clock::now_ms(),
            note: by.note.clone(),
            content: digest,
            book: content.book_digest(),
            seal: digest,
        };
        connection
            .prepare_cached(
                "INSERT INTO revision
                 (id, variant, parent, author, time_ms, note, content, book, seal)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            )?
            .execute(params![
                row.id,
                row.variant,
                row.parent,
                row.author,
                row.time_ms,
                row.note,
                row.content,
                row.book,
                row.right_seal()
            ])?;
        self.remember(digest, content);
        Ok(row.stored().revision)
    }
}

const SELECT: &str = "SELECT id, variant, parent, author, time_ms, note, content, book, seal \
                      FROM revision";

/// A row of the table, not yet held against its seal.
struct Unsealed {
    id: i64,
    variant: i64,
    parent: Option<i64>,
    author: String,
    time_ms: i64,
    note: String,
    content: Digest,
    book: Digest,
    seal: Digest,
}

impl Unsealed {
    fn right_seal(&self) -> Digest {
        let mut fields = Fields::new("sealed revision");
        for number in [
            self.id,
            self.variant,
            self.parent.unwrap_or(0),
            self.time_ms,
        ] {
            fields.number(number.cast_unsigned());
        }
        fields.text(&self.author);
        fields.text(&self.note);
        fields.bytes(&self.content.0);
        fields.bytes(&self.book.0);
        fields.finish()
    }

    fn stored(self) -> Stored {
        Stored {
            revision: Revision {
                id: self.id,
                variant: self.variant,
                parent: self.parent,
                author: self.author,
                time: clock::rfc3339(self.time_ms),
                note: self.note,
            },
            content: self.content,
            book: self.book,
        }
    }
}

fn unsealed(row: &rusqlite::Row<'_>) -> rusqlite::Result<Unsealed> {
    Ok(Unsealed {
        id: row.get(0)?,
        variant: row.get(1)?,
        parent: row.get(2)?,
        author: row.get(3)?,
        time_ms: row.get(4)?,
        note: row.get(5)?,
        content: row.get(6)?,
        book: row.get(7)?,
        seal: row.get(8)?,
    })
}

fn sealed(row: Unsealed) -> Result<Stored, StoreError> {
    if row.seal != row.right_seal() {
        return Err(StoreError::Damaged("a revision has changed bytes".into()));
    }
    Ok(row.stored())
}

fn stored(connection: &Connection, id: i64) -> Result<Stored, StoreError> {
    let sql = format!("{SELECT} WHERE id = ?1");
    let row = connection
        .prepare_cached(&sql)?
        .query_row([id], unsealed)
        .optional()?;
    sealed(row.ok_or_else(|| StoreError::no_revision(id))?)
}

fn head(connection: &Connection, variant: i64) -> Result<Stored, StoreError> {
    let sql = format!("{SELECT} WHERE variant = ?1 ORDER BY id DESC LIMIT 1");
    let row = connection
        .prepare_cached(&sql)?
        .query_row([variant], unsealed)
        .optional()?;
    sealed(row.ok_or_else(|| StoreError::no_variant(variant))?)
}

/// The number that the next revision gets; numbers are never used again.
fn next_revision(connection: &Connection) -> Result<i64, StoreError> {
    let last: Option<i64> = connection
        .prepare_cached("SELECT seq FROM sqlite_sequence WHERE name = 'revision'")?
        .query_row([], |row| row.get(0))
        .optional()?;
    Ok(last.unwrap_or(0) + 1)
}

fn name(what: &str, text: &str) -> Result<String, StoreError> {
    let text = text.trim();
    let letters = text.chars().count();
    if letters == 0 || letters > NAME_LETTERS || text.chars().any(char::is_control) {
        return Err(StoreError::Refused(format!(
            "{what} named `{}`, expected 1 to {NAME_LETTERS} letters",
            text.chars().take(NAME_LETTERS).collect::<String>()
        )));
    }
    Ok(text.to_owned())
}

fn note(text: &str) -> Result<String, StoreError> {
    let letters = text.chars().count();
    if letters > NOTE_LETTERS {
        return Err(StoreError::Refused(format!(
            "a note of {letters} letters, expected at most {NOTE_LETTERS}"
        )));
    }
    Ok(text.trim().to_owned())
}
