//! The same figures from SQL and from the tool's own reader.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test that cannot go on stops where it stands, and lays out its own files"
)]

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::Path;
use std::sync::atomic::AtomicBool;

use evidence::figures::{Figures, Grain, Of, causes, cycles, figures};
use evidence::gather::Rules;
use evidence::map::LogMap;
use evidence::planned::{hours_csv, planned_csv};
use evidence::read::{Files, Log, read};
use evidence::rehearse::{Settings, parquet, rehearse};
use evidence::roster::Roster;
use plants::{Answer, CYCLES, Cell, Engine, FIGURES, Fault, STOPS, find};

/// Two shifts with a break, a line with a station of two units, a press line
/// with its changes, two causes of stops, rejects.
const BOOK: [(&str, &str); 6] = [
    (
        "shifts",
        "shop,shift,days,start,end,planned_stops_min\n\
         body,early,mon-fri,06:00,14:00,30\nbody,late,mon-fri,14:00,22:30,30\n",
    ),
    ("products", "product,cars_per_week\nvan,1500\nbus,500\n"),
    (
        "stations",
        "station,shop,line,units,cycle_s,spread,mtbf_min,mttr_min,repair_spread,first_time_ok,rework_to\n\
         weld,body,frame,1,100,0.05,120,6,1,1,\n\
         trim,body,frame,2,210,0.1,200,8,0.6,0.97,touch-up\n\
         pack,body,,1,90,0,300,5,1,1,\n\
         touch-up,body,,1,300,0.3,,,,1,\n",
    ),
    ("cycles", "station,product,cycle_s\nweld,bus,120\n"),
    (
        "stops",
        "station,cause,mtbf_min,mttr_min,repair_spread\nweld,cap change,180,3,0.2\n",
    ),
    (
        "links",
        "from,to,holds\nweld,trim,5\ntrim,pack,5\ntrim,touch-up,20\ntouch-up,pack,5\n",
    ),
];

/// Writes a plant's log and reads it by the tool's own reader.
fn plant(folder: &Path, seed: u64, with_counts: bool) -> (Roster, Log) {
    let shelf = tempfile::tempdir().unwrap();
    for (name, text) in BOOK {
        fs::write(shelf.path().join(format!("{name}.csv")), text).unwrap();
    }
    let book = book::check(&book::read_path(shelf.path()).unwrap()).book;
    let built = whole::network::build(&book).unwrap();
    let roster = Roster::of(&book, &built, LogMap::default());
    let settings = Settings {
        seed,
        warm_up_weeks: 1,
        weeks: 2,
    };
    let never = AtomicBool::new(false);
    let heard = rehearse(&book, &built, &settings, &never).unwrap();
    let classes: Vec<String> = built
        .classes
        .iter()
        .map(|class| class.name.clone())
        .collect();
    fs::create_dir_all(folder).unwrap();
    let to = |name: &str| File::create(folder.join(name)).unwrap();
    parquet::states_parquet(&heard, &roster, &classes, to("states.parquet")).unwrap();
    if with_counts {
        parquet::counts_parquet(&heard, &roster, to("counts.parquet")).unwrap();
    }
    planned_csv(&roster, &mut to("planned.csv")).unwrap();
    hours_csv(&roster, heard.span, &mut to("hours.csv")).unwrap();
    let files = Files::at(folder, None).unwrap();
    let rules = Rules {
        merge: 0,
        short: 0,
        keep: None,
    };
    let log = read(&files, &roster, rules, &never).unwrap();
    (roster, log)
}

/// Rows by the words of their first columns; the rest as numbers by name.
type Rows = BTreeMap<Vec<String>, BTreeMap<String, f64>>;

fn rows(answer: &Answer, words: usize) -> Rows {
    let word = |cell: &Cell| match cell {
        Cell::Empty => "*".to_owned(),
        Cell::Word(word) => word.clone(),
        other => panic!("{other:?} is no word"),
    };
    let value = |cell: &Cell| match cell {
        Cell::Empty => f64::NAN,
        Cell::Whole(whole) => *whole as f64,
        Cell::Number(number) => *number,
        Cell::Word(word) => panic!("{word} is no number"),
    };
    let row = |row: &Vec<Cell>| {
        let key = row[..words].iter().map(word).collect();
        let values = answer.columns.iter().zip(row).skip(words);
        (
            key,
            values
                .map(|(name, cell)| (name.clone(), value(cell)))
                .collect(),
        )
    };
    answer.rows.iter().map(row).collect()
}

fn answer(folder: &Path, sql: &str, words: usize) -> Rows {
    let engine = Engine::open(&find(folder).unwrap(), Some(2)).unwrap();
    rows(&engine.ask(sql, &AtomicBool::new(false)).unwrap(), words)
}

fn same(what: &str, sql: f64, own: Option<f64>) {
    match own {
        None => assert!(sql.is_nan(), "{what}: {sql} for nothing"),
        Some(own) => assert!(
            (sql - own).abs() <= 1e-9 * own.abs().max(1.0),
            "{what}: {sql} by SQL, {own} by the reader"
        ),
    }
}

fn compare(what: &str, sql: &BTreeMap<String, f64>, own: &Figures) {
    let ratios = &own.ratios;
    let repair = own.adet_s - own.waiting_s;
    let each = |seconds: f64| (own.stops > 0).then(|| seconds / 60.0 / own.stops as f64);
    for (name, value) in [
        ("pbt_s", Some(own.pbt_s)),
        ("apt_s", Some(own.apt_s)),
        ("aust_s", Some(own.aust_s)),
        ("adet_s", Some(own.adet_s)),
        ("waiting_s", Some(own.waiting_s)),
        ("starved_s", Some(own.starved_s)),
        ("blocked_s", Some(own.blocked_s)),
        ("made", Some(own.made as f64)),
        ("rework", Some(own.rework as f64)),
        ("scrap", Some(own.scrap as f64)),
        ("stops", Some(own.stops as f64)),
        ("availability", ratios.availability),
        ("effectiveness", ratios.effectiveness),
        ("quality_ratio", ratios.quality_ratio),
        ("oee", ratios.oee),
        ("nee", ratios.nee),
        ("setup_ratio", ratios.setup_ratio),
        ("technical_efficiency", ratios.technical_efficiency),
        ("first_pass_yield", ratios.first_pass_yield),
        ("mtbf_min", each(own.apt_s + own.aust_s)),
        ("mttr_min", each(repair)),
    ] {
        same(&format!("{what}, {name}"), sql[name], value);
    }
}

#[test]
fn sql_and_the_reader_tell_the_same_figures_of_every_plant() {
    let folder = tempfile::tempdir().unwrap();
    let names = ["north shed", "o'hara's shed"];
    let logs: Vec<(Roster, Log)> = names
        .iter()
        .zip([(3, true), (4, false)])
        .map(|(name, (seed, counts))| plant(&folder.path().join(name), seed, counts))
        .collect();
    let sql = answer(folder.path(), FIGURES, 4);
    let (mut compared, mut made) = (0, 0);
    for (name, (roster, log)) in names.iter().zip(&logs) {
        assert!(log.defects.kinds.is_empty() && log.rows > 10_000);
        for (of, own) in figures(log, roster, Grain::ALL) {
            let Of {
                shop,
                line,
                station,
                ..
            } = of;
            // A group over all has no name there: the plant itself, a shop, a line.
            let all = |word: &str, over: bool| {
                if over {
                    "*".to_owned()
                } else {
                    word.to_owned()
                }
            };
            let (no_shop, no_station) = (shop.is_empty(), station.is_empty());
            let no_line = line.is_empty() && no_station;
            let key = vec![
                (*name).to_owned(),
                all(&shop, no_shop),
                all(&line, no_line),
                all(&station, no_station),
            ];
            let found = sql
                .get(&key)
                .unwrap_or_else(|| panic!("{key:?} in {:?}", sql.keys()));
            compare(&key.join(" "), found, &own);
            compared += 1;
            made += if no_station { 0 } else { own.made };
        }
    }
    assert_eq!(compared, 2 * (4 + 1 + 1 + 1));
    let fleet = &sql[&vec!["*".to_owned(); 4]];
    assert!(made > 0);
    same("the fleet, made", fleet["made"], Some(made as f64));
}

#[test]
fn stops_and_cycles_are_those_of_the_reader() {
    let folder = tempfile::tempdir().unwrap();
    let one = folder.path().join("one");
    let (roster, log) = plant(&one, 5, true);
    // The folder of one plant is a fleet too.
    let sql = answer(&one, STOPS, 3);
    let own = causes(&log, &roster);
    assert_eq!(sql.len(), own.len());
    for row in own {
        let what = format!("{} {}", row.station, row.cause);
        let found = &sql[&vec!["one".to_owned(), row.station, row.cause]];
        same(&what, found["stops"], Some(row.stops as f64));
        same(&what, found["down_s"], Some(row.down_s));
        same(&what, found["waiting_s"], Some(row.waiting_s));
        same(&what, found["share"], Some(row.share));
        same(&what, found["running_share"], Some(row.running_share));
    }
    let sql = answer(&one, CYCLES, 3);
    let own = cycles(&log, &roster);
    assert_eq!(sql.len(), own.len());
    for row in own {
        let what = format!("{} {}", row.station, row.product);
        let found = &sql[&vec!["one".to_owned(), row.station, row.product]];
        same(&what, found["jobs"], Some(row.jobs as f64));
        assert!((found["mean_s"] - row.mean_s).abs() < 1e-6, "{what}");
        assert!(
            (found["deviation_s"] - row.deviation_s.unwrap_or(0.0)).abs() < 1e-5,
            "{what}"
        );
    }
}

#[test]
fn a_folder_without_plants_is_refused_with_the_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |path: &Path| find(path).unwrap_err().to_string();
    assert!(refused(folder.path()).contains("no states*.parquet"));
    assert!(refused(&folder.path().join("gone")).contains("cannot read"));
    let one = folder.path().join("one");
    fs::create_dir(&one).unwrap();
    fs::write(one.join("states.parquet"), "PAR1").unwrap();
    assert!(refused(folder.path()).contains("--planned"));
}

#[test]
fn what_the_engine_cannot_answer_is_told_and_a_cancelled_question_ends() {
    let folder = tempfile::tempdir().unwrap();
    plant(folder.path(), 6, true);
    let engine = Engine::open(&find(folder.path()).unwrap(), None).unwrap();
    let asked = |sql: &str, cancelled: bool| engine.ask(sql, &AtomicBool::new(cancelled));
    let unknown = asked("SELECT colour FROM states", false).unwrap_err();
    assert!(unknown.to_string().contains("colour"), "{unknown}");
    assert!(matches!(asked("SELEKT", false), Err(Fault::Engine(_))));
    let endless = "SELECT COUNT(*) FROM states a, states b, states c WHERE a.unit < b.began_us";
    assert_eq!(asked(endless, true), Err(Fault::Cancelled));
    let none = asked("SELECT * FROM states WHERE 1 = 0", false).unwrap();
    assert!(none.rows.is_empty());
}
