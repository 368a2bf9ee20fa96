//! Plans and answers by what they were computed from.
//!
//! The key is the hash of the book's text, the settings and the engine's
//! version, so an answer is never computed twice and never shown for another
//! book. Results can be computed again; the oldest give way to new ones.

use std::io::{Read as _, Write as _};

use flate2::Compression;
use flate2::read::DeflateDecoder;
use flate2::write::DeflateEncoder;
use rusqlite::{OptionalExtension as _, params};

use super::Store;
use super::digest::{Digest, Fields};
use super::fault::StoreError;
use crate::clock;

/// Bytes of results kept, as they lie on the disk.
const KEPT_BYTES: i64 = 512 << 20;
/// A result that unpacks to more was not written by this program.
const LARGEST: u64 = 256 << 20;

/// The name of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ResultKey(Digest);

impl ResultKey {
    /// The result of a kind, computed by this engine with these settings, of
    /// the book with this hash.
    pub fn new(kind: &str, engine: &str, settings: &str, book: Digest) -> Self {
        let mut fields = Fields::new("result");
        [kind, engine, settings]
            .iter()
            .for_each(|field| fields.text(field));
        fields.bytes(&book.0);
        Self(fields.finish())
    }
}

impl std::fmt::Display for ResultKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// A result's text and its name, sealed together: a text that was moved to
/// another name is no more accepted than one that was changed.
fn seal(key: ResultKey, bytes: &[u8]) -> Digest {
    let mut fields = Fields::new("sealed result");
    fields.bytes(&key.0.0);
    fields.bytes(bytes);
    fields.finish()
}

impl Store {
    /// A kept result.
    ///
    /// # Errors
    /// When the database fails. A result whose bytes have changed is none.
    pub fn result(&self, key: ResultKey) -> Result<Option<String>, StoreError> {
        let found: Option<(Vec<u8>, Digest)> = self.read(|connection| {
            Ok(connection
                .prepare_cached("SELECT bytes, seal FROM result WHERE key = ?1")?
                .query_row([key.0], |row| Ok((row.get(0)?, row.get(1)?)))
                .optional()?)
        })?;
        let Some((bytes, sealed)) = found else {
            return Ok(None);
        };
        if seal(key, &bytes) != sealed {
            return Ok(None);
        }
        let mut text = String::new();
        let unpacked = DeflateDecoder::new(bytes.as_slice())
            .take(LARGEST)
            .read_to_string(&mut text);
        Ok(unpacked.is_ok().then_some(text))
    }

    /// Keeps a result.
    ///
    /// # Errors
    /// When the database fails or has no room.
    pub(crate) fn keep_result(&self, key: ResultKey, text: &str) -> Result<(), StoreError> {
        let mut packer = DeflateEncoder::new(Vec::new(), Compression::fast());
        packer.write_all(text.as_bytes())?;
        let bytes = packer.finish()?;
        self.write(|transaction| {
            transaction
                .prepare_cached(
                    "INSERT OR REPLACE INTO result (key, bytes, seal, used_ms)
                     VALUES (?1, ?2, ?3, ?4)",
                )?
                .execute(params![key.0, bytes, seal(key, &bytes), clock::now_ms()])?;
            let held: i64 = transaction
                .prepare_cached("SELECT coalesce(sum(length(bytes)), 0) FROM result")?
                .query_row([], |row| row.get(0))?;
            if held > KEPT_BYTES {
                // A quarter at once, so that this is rare.
                transaction.execute(
                    "DELETE FROM result WHERE key IN (
                         SELECT key FROM result ORDER BY used_ms
                         LIMIT (SELECT count(*) / 4 + 1 FROM result))",
                    [],
                )?;
            }
            Ok(())
        })
    }
}
