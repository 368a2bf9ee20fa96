//! No bytes crash the readers of event logs: each is refused with its reasons, or
//! becomes rows of a state log that the reader of state logs takes, each made of an
//! event that is there. The first byte chooses the form.

#![no_main]

use std::sync::atomic::AtomicBool;

use evidence::events;
use evidence::read::{Gatherer, Table, Tables};
use libfuzzer_sys::fuzz_target;
use linewright_fuzz::{RULES, refused, roster};

fuzz_target!(|bytes: &[u8]| {
    let Some((first, bytes)) = bytes.split_first() else {
        return;
    };
    let file = ["day.xes", "day.json", "day.xml"][usize::from(first % 3)];
    let log = match events::read(file, bytes).expect("its ending is known") {
        Ok(log) => log,
        Err(problem) => return refused(&[problem]),
    };
    let csv = log.as_csv(roster());
    let rows = csv.states.lines().count() - 1;
    assert_eq!(rows, csv.state_events.len());
    assert_eq!(csv.genealogy.lines().count() - 1, csv.item_events.len());
    let events = log.events.len() as u64;
    let made_of = csv.state_events.iter().chain(&csv.item_events);
    assert!(
        made_of
            .chain(csv.odd.iter().map(|odd| &odd.event))
            .all(|event| (1..=events).contains(event))
    );
    let never = AtomicBool::new(false);
    let mut gatherer = Gatherer::new(roster(), RULES);
    gatherer
        .read(file, csv.states.as_bytes(), &never)
        .expect("its header is ours");
    assert_eq!(gatherer.finish().rows, rows as u64);
    let mut defects = evidence::defects::Defects::default();
    let genealogy = csv.genealogy.as_bytes();
    Tables::default()
        .read(
            Table::Genealogy,
            file,
            genealogy,
            roster(),
            &RULES,
            &mut defects,
        )
        .expect("its header is ours");
});
