//! Clocks that leap, rows twice, blank lines, silence at the ends of a log.

use super::*;

fn found(log: &Log, kind: Kind) -> &str {
    &log.defects.kinds[&kind].first[0].found
}

#[test]
fn a_row_longer_than_a_week_is_left_out_and_listed() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T07:00:00Z,working,,,a",
        "weld,,2026-03-02T07:00:00Z,2036-03-02T08:00:00Z,working,,,b",
        "weld,,2026-03-02T08:00:00Z,2026-03-02T09:00:00Z,stopped,jam,,",
    ]);
    assert_eq!(time(&log, 0, State::Working), 3_600.0);
    assert_eq!(time(&log, 0, State::Stopped), 3_600.0);
    assert_eq!(log.defects.count(Kind::LongRow), 1);
    assert_eq!(log.defects.left_out(), 1);
    assert_eq!(
        found(&log, Kind::LongRow),
        "weld working from 2026-03-02 07:00:00 to 2036-03-02 08:00:00"
    );
    let problems = log.problems(&roster(LogMap::default()));
    assert!(problems.iter().any(|p| p.code == "log/clock-forward"));
}

#[test]
fn rows_twice_in_a_log_without_ends_are_listed() {
    let text = "station,from,state,item\n\
        weld,2026-03-02T06:00Z,working,1\n\
        weld,2026-03-02T06:00Z,working,1\n\
        weld,2026-03-02T07:00Z,starved,\n\
        weld,2026-03-02T07:00Z,starved,\n\
        weld,2026-03-02T08:00Z,working,2\n\
        weld,2026-03-02T09:00Z,off,\n";
    let log = read_with(&roster(LogMap::default()), RULES, text);
    assert_eq!(log.defects.count(Kind::Duplicate), 2);
    assert_eq!(time(&log, 0, State::Working), 7_200.0);
    assert_eq!(time(&log, 0, State::Starved), 3_600.0);
}

#[test]
fn two_causes_of_one_stop_contradict_each_other_and_the_first_counts() {
    let ended = "station,from,to,state,cause\n\
        weld,2026-03-02T06:00Z,2026-03-02T06:10Z,stopped,gripper\n\
        weld,2026-03-02T06:00Z,2026-03-02T06:10Z,stopped,robot\n\
        weld,2026-03-02T06:00Z,2026-03-02T06:10Z,stopped,gripper\n\
        weld,2026-03-02T06:10Z,2026-03-02T06:20Z,working,\n";
    let open = "station,from,state,cause\n\
        weld,2026-03-02T06:00Z,stopped,gripper\n\
        weld,2026-03-02T06:00Z,stopped,robot\n\
        weld,2026-03-02T06:00Z,stopped,gripper\n\
        weld,2026-03-02T06:10Z,working,\n\
        weld,2026-03-02T06:20Z,off,\n";
    for text in [ended, open] {
        let log = read_with(&roster(LogMap::default()), RULES, text);
        assert_eq!(log.defects.count(Kind::Contradiction), 1, "{text}");
        assert_eq!(log.defects.count(Kind::Duplicate), 1, "{text}");
        let told = &log.defects.kinds[&Kind::Contradiction].first[0];
        assert_eq!(told.row, 3);
        assert!(
            told.found
                .ends_with("in rows 2 and 3: cause `gripper` and `robot`"),
            "{}",
            told.found
        );
        assert_eq!(time(&log, 0, State::Stopped), 600.0);
        let causes: Vec<&str> = log.units[0]
            .causes
            .iter()
            .map(|(word, _)| log.words[*word as usize].as_str())
            .collect();
        assert_eq!(causes, ["gripper"], "{text}");
    }
}

#[test]
fn an_overlap_is_listed_with_the_begin_that_stands_in_the_row() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T07:00:00Z,working,,,a",
        "weld,,2026-03-02T06:30:00Z,2026-03-02T08:00:00Z,starved,,,",
    ]);
    assert_eq!(
        found(&log, Kind::Overlap),
        "weld starved from 2026-03-02 06:30:00"
    );
    assert_eq!(time(&log, 0, State::Starved), 3_600.0);
}

#[test]
fn planned_time_before_a_units_first_row_and_after_its_last_is_unknown() {
    let log = read_rows(&[
        "trim,1,2026-03-02T06:00:00Z,2026-03-02T14:00:00Z,starved,,,",
        "weld,,2026-03-02T09:00:00Z,2026-03-02T10:00:00Z,working,,,a",
    ]);
    let unknown = |unit: usize| -> f64 {
        let cells = log.units[unit].cells.iter();
        cells.map(|cell| seconds(cell.unknown)).sum()
    };
    assert_eq!((unknown(0), unknown(1)), (7.0 * 3_600.0, 0.0));
    let gaps = &log.defects.kinds[&Kind::Gap];
    assert_eq!((gaps.count, gaps.seconds), (2, 7.0 * 3_600.0));
    assert_eq!(gaps.first[0].row, 3);
    let told: Vec<&str> = gaps.first.iter().map(|gap| gap.found.as_str()).collect();
    assert_eq!(
        told,
        [
            "weld says nothing from 2026-03-02 06:00:00 to 2026-03-02 09:00:00",
            "weld says nothing from 2026-03-02 10:00:00 to 2026-03-02 14:00:00",
        ]
    );
    assert_eq!(log.units[0].cells.len(), 1, "one shift, one cell");
}

#[test]
fn a_log_that_ends_long_before_the_shift_does_says_so() {
    let shifts = "
        [shifts]
        shop,shift,days,start,end,planned_stops_min
        body,early,mon-fri,06:00,14:00,0";
    let book = book(&format!("{PLANT}{shifts}"));
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let told = |end: &str| {
        let row = format!("weld,,2026-03-02T09:00Z,2026-03-02T{end}Z,working,,,a");
        let log = read_with(&roster, RULES, &format!("{HEADER}{row}"));
        let problems = log.problems(&roster);
        let note = problems.iter().find(|p| p.code == "log/ends-within");
        note.map(|note| note.found.clone())
    };
    let found = told("10:00").unwrap();
    assert!(
        found.ends_with("240 min of planned time before the shift early of body does"),
        "{found}"
    );
    assert_eq!((told("13:30"), told("14:00")), (None, None));
}

#[test]
fn blank_lines_are_no_rows() {
    let roster = roster(LogMap::default());
    let log = read_with(&roster, RULES, &format!("{HEADER}\n\r\n  \n"));
    assert_eq!(log.rows, 0);
    assert_eq!(
        log.refusal(&roster, "states.csv").unwrap().code,
        "log/empty"
    );
}

#[test]
fn more_cells_than_columns_are_no_row_unless_they_are_empty() {
    let log = read_rows(&[
        "weld,,2026-03-02T06:00:00Z,2026-03-02T07:00:00Z,working,,,a,",
        "weld,,2026-03-02T07:00:00Z,2026-03-02T08:00:00Z,stopped,jam, left,van,b",
        "weld,,2026-03-02T07:00:00Z,2026-03-02T08:00:00Z,stopped,\"jam\", left,van,b",
    ]);
    assert_eq!(log.defects.count(Kind::BadRow), 2);
    assert_eq!(log.units[0].rows, 1);
}

#[test]
fn blanks_around_cells_do_not_count() {
    let log = read_rows(&[
        "weld, 1, 2026-03-02T06:00:00Z, 2026-03-02T07:00:00Z, stopped, jam, van, 1",
        "weld,1,2026-03-02T07:00:00Z,2026-03-02T08:00:00Z,stopped,jam,van,1",
    ]);
    assert_eq!(log.defects.kinds.len(), 0, "{:?}", log.defects);
    assert_eq!(log.units[0].causes.len(), 1);
}

#[test]
fn an_hour_that_begins_and_ends_at_the_same_reading_in_autumn_lasts_an_hour() {
    let map = LogMap {
        zone: crate::time::Zone::parse("+01:00 eu").unwrap(),
        ..LogMap::default()
    };
    let rows = [
        "weld,,2026-10-25 01:00:00,2026-10-25 02:00:00,working,,,a",
        "weld,,2026-10-25 02:00:00,2026-10-25 02:00:00,blocked,,,b",
        "weld,,2026-10-25 02:00:00,2026-10-25 03:00:00,working,,,b",
    ];
    let log = read_with(&roster(map), RULES, &format!("{HEADER}{}", rows.join("\n")));
    assert_eq!(time(&log, 0, State::Blocked), 3_600.0);
    assert_eq!(time(&log, 0, State::Working), 7_200.0);
    assert_eq!(log.defects.count(Kind::Gap), 0);
}

#[test]
fn an_unknown_product_is_listed_where_no_cycle_depends_on_it_too() {
    let log = read_rows(&[
        "trim,1,2026-03-02T06:00:00Z,2026-03-02T06:01:00Z,working,,van,a",
        "trim,1,2026-03-02T06:01:00Z,2026-03-02T06:02:00Z,working,,tram,b",
        "trim,1,2026-03-02T06:02:00Z,2026-03-02T06:03:00Z,working,,van,c",
    ]);
    assert_eq!(found(&log, Kind::UnknownProduct), "tram in 1 jobs of trim");
}
