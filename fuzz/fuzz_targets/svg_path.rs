//! No text crashes the reader of SVG path data: it is refused with its reasons, or
//! read as an outline that is sound.

#![no_main]

use libfuzzer_sys::fuzz_target;
use strip::read::svg;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match svg::outline(text, 1.0, svg::TOLERANCE_MM) {
        Ok(outline) => assert!(outline.area_mm2() > 0.0),
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!problem.what.is_empty() && !problem.mend.is_empty());
            }
        }
    }
});
