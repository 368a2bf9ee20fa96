//! No text crashes the readers of the solvers' questions: each refuses it with
//! its reasons, or reads it; a flow question is then made ready or refused with
//! its reasons.

#![no_main]

use libfuzzer_sys::fuzz_target;
use linewright_fuzz::reasons;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match flow::question::parse(text) {
        Err(problems) => reasons(&problems),
        Ok(question) => {
            if let Err(problems) = question.prepare() {
                reasons(&problems);
            }
        }
    }
    let _ = strip::question::parse(text).map_err(|problems| reasons(&problems));
    let _ = lots::question::parse(text).map_err(|problems| reasons(&problems));
    let _ = balance::question::parse(text).map_err(|problems| reasons(&problems));
    let _ = sequence::question::parse(text).map_err(|problems| reasons(&problems));
});
