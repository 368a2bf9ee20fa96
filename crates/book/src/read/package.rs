//! What an .xlsx file is packed in, looked through before the spreadsheet
//! reader may touch it.
//!
//! That reader trusts the file: it asks for as much memory as the file says
//! it has texts, and holds whole parts. So the package is unpacked here once,
//! without keeping it, and everything that it could ask for is measured.

use std::io::{Cursor, Read};

use memchr::{memchr, memmem, memrchr};

use super::caps;
use crate::Problem;

/// Refuses what is no .xlsx package or is larger than the caps allow.
pub(super) fn look_through(bytes: &[u8]) -> Result<(), Box<Problem>> {
    if bytes.len() as u64 > caps::FILE_BYTES {
        return Err(refused(
            "file-too-big",
            format!("{} bytes", bytes.len()),
            TOO_BIG,
        ));
    }
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        let found = "an old .xls file, or a workbook behind a password";
        return Err(refused(
            "not-xlsx",
            found,
            "save it as .xlsx without a password",
        ));
    }
    if !bytes.starts_with(b"PK") {
        return Err(refused(
            "not-xlsx",
            "a file that is no spreadsheet",
            NOT_XLSX,
        ));
    }
    if entries_declared(bytes).is_none_or(|entries| entries > caps::ENTRIES) {
        return Err(broken());
    }
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|_| broken())?;
    if zip.index_for_name("xl/workbook.xml").is_none() {
        let kind = match zip.index_for_name("xl/workbook.bin") {
            Some(_) => "a binary .xlsb workbook",
            None => "a package that holds no .xlsx workbook",
        };
        return Err(refused("not-xlsx", kind, NOT_XLSX));
    }
    let mut unpacked = 0;
    for index in 0..zip.len() {
        let mut entry = zip.by_index(index).map_err(|_| broken())?;
        let name = entry.name().to_lowercase();
        let packed = entry.compressed_size();
        unpacked += entry.size();
        if unpacked > caps::UNPACKED_BYTES {
            return Err(bomb());
        }
        // Pictures and the like are never unpacked.
        if name.ends_with(".xml") || name.ends_with(".rels") {
            measure(&mut entry, &name, packed)?;
        }
    }
    Ok(())
}

const TOO_BIG: &str = "take out what the book does not need";
const NOT_XLSX: &str = "save it as an .xlsx workbook, or give a folder of CSV files";

fn refused(what: &str, found: impl Into<String>, mend: &str) -> Box<Problem> {
    Problem::error("workbook", what)
        .found(found)
        .expected("an .xlsx workbook within the size limits")
        .mend(mend)
        .boxed()
}

pub(super) fn broken() -> Box<Problem> {
    refused(
        "broken-xlsx",
        "a damaged or cut off file",
        "save it again, or copy it again",
    )
}

fn bomb() -> Box<Problem> {
    let found = format!(
        "a file that unpacks to more than {} bytes",
        caps::UNPACKED_BYTES
    );
    refused("unpacks-too-big", found, TOO_BIG)
}

/// How many entries the directory at the end of the package speaks of; asked
/// first, since opening the package makes room for all of them.
fn entries_declared(bytes: &[u8]) -> Option<usize> {
    // The record is 22 bytes and a comment of up to 65,535 (APPNOTE 4.3.16).
    let from = bytes.len().saturating_sub(22 + 65_535);
    let at = bytes[from..]
        .windows(4)
        .rposition(|window| window == b"PK\x05\x06")?
        + from;
    let count = bytes.get(at + 10..at + 12)?;
    Some(usize::from(u16::from_le_bytes([count[0], count[1]])))
}

/// Unpacks one part without keeping it.
fn measure(part: &mut impl Read, name: &str, packed: u64) -> Result<(), Box<Problem>> {
    let most = if name.starts_with("xl/worksheets/") {
        caps::PART_BYTES
    } else {
        caps::SHARED_BYTES
    };
    let mut gauge = Gauge::default();
    let mut buffer = vec![0; 1 << 16];
    let mut size = 0_u64;
    loop {
        let count = part.read(&mut buffer).map_err(|_| broken())?;
        if count == 0 {
            break;
        }
        size += count as u64;
        let packed_too_well = size > caps::RATIO_FROM && size / packed.max(1) > caps::PACKED_RATIO;
        if size > most || packed_too_well {
            return Err(bomb());
        }
        gauge.pass(&buffer[..count]);
    }
    gauge.verdict(name, size)
}

/// Watches a part's bytes go by.
#[derive(Debug, Default)]
struct Gauge {
    /// The last bytes of the piece before, so that words across the cut count.
    tail: Vec<u8>,
    /// Bytes since the last `<`.
    gap: usize,
    longest_gap: usize,
    texts: usize,
    declared: usize,
    declaration: bool,
    zero_byte: bool,
}

/// The longest text of a cell takes at most ten bytes a character.
const LONGEST_GAP: usize = 1 << 20;
/// Parts with `<!` (comments, quoted text) may hide `<` in them; only small
/// ones are let through.
const WITH_DECLARATION: u64 = 4 << 20;
/// Long enough for `uniqueCount="` and any number behind it.
const TAIL: usize = 64;

impl Gauge {
    fn pass(&mut self, piece: &[u8]) {
        // Gaps inside a piece are shorter than the limit by far.
        match (memchr(b'<', piece), memrchr(b'<', piece)) {
            (Some(first), Some(last)) => {
                self.longest_gap = self.longest_gap.max(self.gap + first);
                self.gap = piece.len() - last;
            }
            _ => self.gap += piece.len(),
        }
        self.zero_byte |= memchr(0, piece).is_some();
        let mut joined = std::mem::take(&mut self.tail);
        let before = joined.len();
        joined.extend_from_slice(piece);
        self.declaration |= memmem::find(&joined, b"<!").is_some();
        // A word that lay whole in the piece before was counted there.
        let texts = memmem::find_iter(&joined, TEXT);
        self.texts += texts.filter(|at| at + TEXT.len() > before).count();
        for at in memmem::find_iter(&joined, DECLARED) {
            self.declared = self
                .declared
                .max(number_after(&joined[at + DECLARED.len()..]));
        }
        let keep = joined.len().saturating_sub(TAIL);
        self.tail = joined.split_off(keep);
    }

    fn verdict(&self, name: &str, size: u64) -> Result<(), Box<Problem>> {
        let hidden = self.zero_byte || (self.declaration && size > WITH_DECLARATION);
        let long = self.longest_gap.max(self.gap) > LONGEST_GAP;
        let texts = name.ends_with("sharedstrings.xml")
            && self.texts.max(self.declared) > caps::SHARED_TEXTS;
        if hidden || long || texts {
            let found = format!("a part `{name}` that no spreadsheet program writes");
            let mend = "save it again from a spreadsheet program";
            return Err(refused("odd-part", found, mend));
        }
        Ok(())
    }
}

/// The start of a shared text, and the attribute that tells how many there are.
const TEXT: &[u8] = b"<si";
const DECLARED: &[u8] = b"uniqueCount";

/// The number behind an attribute's name; 0 if there is none.
fn number_after(bytes: &[u8]) -> usize {
    let marks = |byte: &&u8| matches!(byte, b'=' | b'"' | b'\'' | b' ' | b'\n' | b'\r' | b'\t');
    let digits = bytes
        .iter()
        .skip_while(marks)
        .take_while(|byte| byte.is_ascii_digit());
    digits.fold(0_usize, |number, digit| {
        number
            .saturating_mul(10)
            .saturating_add(usize::from(digit - b'0'))
    })
}
