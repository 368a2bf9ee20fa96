//! The JSON types by name.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use schemars::generate::{SchemaGenerator, SchemaSettings};
use serde_json::Value;

use crate::http::wire;
use crate::log_work;
use crate::store::{Edit, LogEntry, LogNote, LogWords, NewLog, Patch, Revision, Variant};

/// Where a type stands in the description.
pub(super) const PLACE: &str = "#/components/schemas/";

/// Adds a type.
type Add = fn(&mut SchemaGenerator);

/// What is sent of the desk's own: books, revisions, logs and jobs.
const OF_THE_DESK: &[Add] = &[
    named::<wire::Health>,
    named::<wire::Schema>,
    named::<wire::LoggedIn>,
    named::<Variant>,
    named::<Revision>,
    named::<Patch>,
    named::<wire::EditReply>,
    named::<wire::Imported>,
    named::<wire::BookReply>,
    named::<wire::BookProblems>,
    named::<wire::Compare>,
    named::<LogEntry>,
    named::<LogNote>,
    named::<wire::RoleColumns>,
    named::<wire::UploadedFile>,
    named::<wire::Uploaded>,
    named::<wire::Asking>,
    named::<wire::JobView>,
    named::<wire::ErrorBody>,
];

/// What is sent of the plant: figures, plans, runs and what a log tells.
const OF_THE_PLANT: &[Add] = &[
    named::<formulas::Formula>,
    named::<formulas::Working>,
    named::<whole::plan::RatePlan>,
    named::<whole::plan::Figure>,
    named::<whole::findings::Answer>,
    named::<shops::coil::Coil>,
    named::<shops::press::Press>,
    named::<whole::body::Body>,
    named::<whole::assembly::Assembly>,
    named::<whole::assembly::Today>,
    named::<whole::assembly::Budgeted>,
    named::<whole::carts::Carts>,
    named::<whole::order::BuildOrder>,
    named::<whole::order::HandOrder>,
    named::<whole::order::HandPlaces>,
    named::<whole::paint::Paint>,
    named::<whole::money::CarMoney>,
    named::<whole::growth::Growth>,
    named::<whole::improve::Improve>,
    named::<whole::improve::Reach>,
    named::<whole::improve::Together>,
    named::<whole::improve::buffers::Banks>,
    named::<log_work::Rehearsed>,
    named::<log_work::Reading>,
    named::<log_work::FigureRows>,
    named::<log_work::StopsAndCycles>,
    named::<log_work::LearnedCell>,
    named::<log_work::CellFit>,
    named::<evidence::learn::Drift>,
    named::<log_work::Believed>,
    named::<log_work::ToldDay>,
];

/// Every type that is sent or received, and all that they are made of.
pub(super) fn all() -> BTreeMap<String, Value> {
    let mut sent = generator(SchemaSettings::for_serialize);
    for add in OF_THE_DESK.iter().chain(OF_THE_PLANT) {
        add(&mut sent);
    }
    let mut received = generator(SchemaSettings::for_deserialize);
    for add in [
        named::<wire::Login>,
        named::<wire::NewVariant>,
        named::<wire::NewRun>,
        named::<wire::Restore>,
        named::<wire::TakeBack>,
        named::<NewLog>,
        named::<LogWords>,
        named::<Edit>,
    ] {
        add(&mut received);
    }
    let mut all: BTreeMap<String, Value> = received.take_definitions(true).into_iter().collect();
    // Where a type goes both ways, what is sent is the fuller one.
    all.extend(sent.take_definitions(true));
    all
}

fn generator(direction: fn(SchemaSettings) -> SchemaSettings) -> SchemaGenerator {
    let mut settings = direction(SchemaSettings::draft2020_12());
    settings.definitions_path = "/components/schemas".into();
    settings.meta_schema = None;
    settings.into_generator()
}

fn named<T: JsonSchema>(generator: &mut SchemaGenerator) {
    generator.subschema_for::<T>();
}
