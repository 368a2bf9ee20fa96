//! The interface's description and the page's types, made from the code.
//!
//! Both are committed, so that nobody needs this to build the program; a test
//! makes them anew and compares. The example `contract` writes them.

mod openapi;
mod schemas;
mod typescript;

pub use openapi::openapi;
pub use typescript::types;
