//! No text crashes the reader of DXF drawings: it is refused with its reasons, or
//! read as an outline that is sound and is read again from its own drawing.

#![no_main]

use libfuzzer_sys::fuzz_target;
use strip::read::Unit;
use strip::read::dxf::{Manner, outline};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let manner = Manner {
        unit: Some(Unit::Millimetre),
        ..Manner::USUAL
    };
    match outline(text, &manner) {
        Ok(drawing) => {
            assert!(drawing.outline.area_mm2() > 0.0);
            let vertices = drawing.outline.vertices();
            let again = strip::Outline::new(&vertices[0], &[]);
            assert!(again.is_ok(), "{again:?}");
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!problem.what.is_empty() && !problem.mend.is_empty());
            }
        }
    }
});
