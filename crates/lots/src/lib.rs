//! Lots on lines with changeovers.
