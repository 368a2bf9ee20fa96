//! Cells of the CSV files that answers are written into.

/// A cell, quoted where it must be.
pub(crate) fn cell(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
