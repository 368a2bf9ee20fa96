//! Tasks that do not fit between two cars.

use super::{planned, two_shifts};

/// A car every 264 s at one unit of `fit`, every 528 s at two of `dress`.
fn notes(tasks: &str) -> Vec<(Option<u32>, String)> {
    let plan = planned(&two_shifts(&format!(
        "[options]
        option,product,share
        roof rack,,0.5
        [stations]
        station,shop,line,units,cycle_s
        fit,trim,one,1,200
        dress,trim,two,2,400
        [links]
        from,to
        fit,dress
        [tasks]
        task,shop,line,option,hand_s,robot_s,station
        {tasks}"
    )));
    let notes = plan.notes.iter();
    notes.map(|note| (note.row, note.to_string())).collect()
}

#[test]
fn a_task_longer_than_takt_is_named_with_what_frees_it() {
    let found = notes("lay harness,trim,,,300,,fit");
    let [(Some(2), note)] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert!(note.contains("300.0 s of undivided work for each car at `fit`"));
    assert!(note.contains("one comes every 264.0 s"));
    assert!(note.contains("divide it so that 36.0 s are done elsewhere, or give `fit` 2 units"));
    assert!(note.contains("[tasks/beyond-takt]"));
}

#[test]
fn a_task_fits_by_robot_by_units_by_its_line_and_by_the_cars_that_have_it() {
    for fits in [
        "set glass,trim,,,300,250,fit",
        "hang doors,trim,,,500,,dress",
        "hang doors,trim,two,,500,,",
        "hang doors,trim,,,500,,",
        "screw rack,trim,,roof rack,500,,fit",
    ] {
        assert!(notes(fits).is_empty(), "{fits}");
    }
    for does_not in [
        "hang doors,trim,one,,500,,",
        "screw rack,trim,,roof rack,600,,fit",
    ] {
        assert_eq!(notes(does_not).len(), 1, "{does_not}");
    }
}
