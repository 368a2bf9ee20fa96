//! No text crashes the reader of flow questions: it is refused with its
//! reasons, or read and then made ready or refused with its reasons.

#![no_main]

use flow::question::{self, Problem};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match question::parse(text) {
        Err(problems) => reasons(&problems),
        Ok(question) => {
            if let Err(problems) = question.prepare() {
                reasons(&problems);
            }
        }
    }
});

/// A refusal says what is wrong, what was expected and what mends it.
fn reasons(problems: &[Problem]) {
    assert!(!problems.is_empty());
    for problem in problems {
        assert!(!problem.found.is_empty(), "{problem:?}");
        assert!(!problem.expected.is_empty(), "{problem:?}");
        assert!(!problem.mend.is_empty(), "{problem:?}");
    }
}
