//! The token that opens the desk to other machines: shown once, kept hashed.

use argon2::Argon2;
use rusqlite::{OptionalExtension as _, params};

use super::Store;
use super::fault::StoreError;

const SALT_BYTES: usize = 16;
const HASH_BYTES: usize = 32;
/// Letters of a token; no two of them look alike in print.
const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";
/// Five bits a letter, 140 in all.
const TOKEN_LETTERS: usize = 28;

/// As they lie in the store.
type SaltAndHash = (Vec<u8>, Vec<u8>);

impl Store {
    /// Makes a new token in the place of the old one and returns it; it cannot
    /// be had again.
    ///
    /// # Errors
    /// When the database or the system's random source fails.
    pub fn new_token(&self) -> Result<String, StoreError> {
        let drawn: [u8; TOKEN_LETTERS] = random()?;
        let token: String = drawn
            .iter()
            .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
            .collect();
        let salt: [u8; SALT_BYTES] = random()?;
        let hash = hash(&token, &salt)?;
        self.write(|transaction| {
            transaction.execute(
                "INSERT OR REPLACE INTO token (id, salt, hash) VALUES (1, ?1, ?2)",
                params![salt.as_slice(), hash.as_slice()],
            )?;
            Ok(())
        })?;
        Ok(token)
    }

    /// Whether a token was ever made.
    ///
    /// # Errors
    /// When the database fails.
    pub(crate) fn has_token(&self) -> Result<bool, StoreError> {
        Ok(self.salt_and_hash()?.is_some())
    }

    /// Whether this is the token. Takes some 50 ms and 19 MB by intent.
    ///
    /// # Errors
    /// When the database fails.
    pub(crate) fn is_token(&self, token: &str) -> Result<bool, StoreError> {
        let Some((salt, known)) = self.salt_and_hash()? else {
            return Ok(false);
        };
        let found = hash(token, &salt)?;
        let differing = found
            .iter()
            .zip(&known)
            .fold(0, |bits, (a, b)| bits | (a ^ b));
        Ok(known.len() == HASH_BYTES && differing == 0)
    }

    fn salt_and_hash(&self) -> Result<Option<SaltAndHash>, StoreError> {
        self.read(|connection| {
            Ok(connection
                .query_row("SELECT salt, hash FROM token", [], |row| {
                    Ok((row.get(0)?, row.get(1)?))
                })
                .optional()?)
        })
    }
}

/// Argon2id with the crate's usual cost (OWASP's first choice, from memory:
/// 19 MiB, two passes, one lane).
fn hash(token: &str, salt: &[u8]) -> Result<[u8; HASH_BYTES], StoreError> {
    let mut hash = [0; HASH_BYTES];
    Argon2::default()
        .hash_password_into(token.as_bytes(), salt, &mut hash)
        .map_err(|error| StoreError::Refused(format!("the token cannot be hashed: {error}")))?;
    Ok(hash)
}

/// Bytes from the system's random source; nothing computed depends on them.
pub(crate) fn random<const N: usize>() -> Result<[u8; N], StoreError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| {
        StoreError::File(std::io::Error::other(format!("no random bytes: {error}")))
    })?;
    Ok(bytes)
}
