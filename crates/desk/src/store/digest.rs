//! Names of contents: the SHA-256 of their bytes.

use std::fmt;

use rusqlite::ToSql;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSqlOutput, ValueRef};
use sha2::{Digest as _, Sha256};

/// A SHA-256.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Digest(pub(crate) [u8; 32]);

impl Digest {
    /// Of bytes.
    pub(crate) fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl ToSql for Digest {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(ValueRef::Blob(&self.0)))
    }
}

impl FromSql for Digest {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let bytes = value.as_blob()?;
        let exact: [u8; 32] = bytes.try_into().map_err(|_| FromSqlError::InvalidType)?;
        Ok(Self(exact))
    }
}

/// Hashes fields one after another, each with its length, so that no two
/// different lists of fields give the same bytes.
pub(crate) struct Fields(Sha256);

impl Fields {
    pub(crate) fn new(purpose: &str) -> Self {
        let mut fields = Self(Sha256::new());
        fields.text(purpose);
        fields
    }

    pub(crate) fn text(&mut self, text: &str) {
        self.bytes(text.as_bytes());
    }

    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        self.number(bytes.len() as u64);
        self.0.update(bytes);
    }

    pub(crate) fn number(&mut self, number: u64) {
        self.0.update(number.to_le_bytes());
    }

    pub(crate) fn finish(self) -> Digest {
        Digest(self.0.finalize().into())
    }
}

#[cfg(test)]
mod tests {
    use super::{Digest, Fields};

    /// FIPS 180-2, appendix B.1: the message `abc`.
    #[test]
    fn a_digest_is_the_published_one() {
        assert_eq!(
            Digest::of(b"abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn fields_do_not_run_into_each_other() {
        let digest = |fields: [&str; 2]| {
            let mut all = Fields::new("test");
            fields.iter().for_each(|field| all.text(field));
            all.finish()
        };
        assert_ne!(digest(["ab", "c"]), digest(["a", "bc"]));
    }
}
