//! Whatever way a book takes, it comes back cell by cell.

use std::{collections::BTreeMap, path::Path};

use book::raw::{RawRow, RawTable, Workbook};
use proptest::{collection::vec, prelude::*, sample::select};

/// What must come back: everything but the name of the file or sheet.
type Content = BTreeMap<String, (Vec<String>, Vec<RawRow>, bool)>;

fn content(workbook: &Workbook) -> Content {
    assert_eq!(workbook.problems, []);
    let tables = workbook.tables.iter().cloned();
    tables
        .map(|table| (table.name, (table.columns, table.rows, table.decimal_comma)))
        .collect()
}

fn through_folder(workbook: &Workbook, folder: &Path) -> Workbook {
    book::write_folder(workbook, folder).unwrap();
    book::read_path(folder).unwrap()
}

fn through_xlsx(workbook: &Workbook) -> Workbook {
    book::read_xlsx_bytes(&book::xlsx_bytes(workbook).unwrap()).unwrap()
}

fn through_csv(table: &RawTable) -> RawTable {
    let name = format!("{}.csv", table.name);
    book::read_csv_bytes(&name, book::csv_text(table).as_bytes()).unwrap()
}

fn table(columns: &[&str], rows: &[&[&str]]) -> RawTable {
    let texts = |cells: &[&str]| cells.iter().copied().map(str::to_owned).collect();
    RawTable {
        name: "stations".into(),
        columns: texts(columns),
        rows: (2..)
            .zip(rows)
            .map(|(line, cells)| RawRow {
                line,
                cells: texts(cells),
            })
            .collect(),
        source: String::new(),
        decimal_comma: false,
    }
}

fn book_of(table: RawTable) -> Workbook {
    Workbook {
        tables: vec![table],
        ..Workbook::default()
    }
}

const ODD: &[&str] = &[
    "007",
    "1.50",
    "1,5",
    "1.234,5",
    "1e3",
    "1E3",
    "1e300",
    "+4",
    "-0",
    "0",
    "-0.5",
    ".5",
    "5.",
    "0x10",
    "12345678901234567890",
    "0.1",
    "0.30000000000000004",
    "9007199254740993",
    "1e-7",
    "0.0000001",
    "NaN",
    "inf",
    "=1+1",
    "=SUM(A1:A9)",
    "'quoted",
    "@home",
    "+cmd",
    "TRUE",
    "true",
    "#REF!",
    "06:00",
    "24:00",
    "2031-05-01",
    "85 %",
    " leading",
    "trailing ",
    "  ",
    "\t",
    "a\nb",
    "a\r\nb",
    "a\rb",
    "\n",
    "\"",
    "\"\"",
    "say \"hi\"",
    ",",
    ";",
    "sep=;",
    "roof;sides",
    "left\tright",
    "1,5;2,5",
    ";\"",
    "_x0041_",
    "_x000D_",
    "_x005F_",
    "__x0041__",
    "\u{1}",
    "\u{b}",
    "\u{feff}",
    "\u{a0}",
    "\u{2028}",
    "\u{85}",
    "Füllstück",
    "车门",
    "🚐",
    "e\u{301}",
    "<b>&amp;</b>",
    "]]>",
    "C:\\plant",
    "\u{fffd}",
    "\u{7f}",
];

#[test]
fn odd_texts_come_back_from_folder_and_workbook() {
    let rows: Vec<Vec<&str>> = ODD.iter().map(|odd| vec!["x", odd, ""]).collect();
    let rows: Vec<&[&str]> = rows.iter().map(Vec::as_slice).collect();
    let book = book_of(table(
        &["station", "note \"of\" mine", "last\ncolumn"],
        &rows,
    ));
    let folder = tempfile::tempdir().unwrap();
    let wanted = content(&book);
    assert_eq!(
        content(&through_folder(&book, &folder.path().join("plant"))),
        wanted
    );
    assert_eq!(content(&through_xlsx(&book)), wanted);
}

#[test]
fn a_cell_is_quoted_only_where_it_would_not_come_back_without() {
    let mut note = table(
        &["station", "after;before"],
        &[
            &["weld", "roof;sides"],
            &["hang", "left\tright"],
            &["seal", "1,5"],
            &["trim", "say \"hi\""],
        ],
    );
    assert_eq!(
        book::csv_text(&note),
        "station,\"after;before\"\nweld,roof;sides\nhang,left\tright\nseal,\"1,5\"\n\
         trim,\"say \"\"hi\"\"\"\n"
    );
    assert_eq!(through_csv(&note), note_from_file(&note));
    note.decimal_comma = true;
    assert_eq!(
        book::csv_text(&note),
        "station;\"after;before\"\nweld;\"roof;sides\"\nhang;left\tright\nseal;1,5\n\
         trim;\"say \"\"hi\"\"\"\n"
    );
    assert_eq!(through_csv(&note), note_from_file(&note));
}

/// The table as it says of itself once it was read from its file.
fn note_from_file(note: &RawTable) -> RawTable {
    RawTable {
        source: format!("{}.csv", note.name),
        ..note.clone()
    }
}

/// What stands under version control shows only what was changed.
#[test]
#[allow(clippy::disallowed_methods, reason = "the test reads the demo's files")]
fn the_demo_read_and_written_gives_the_demo_byte_for_byte() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/merrow-quay");
    let book = book::read_path(&demo).unwrap();
    let folder = tempfile::tempdir().unwrap();
    book::write_folder(&book, folder.path()).unwrap();
    assert!(book.tables.len() > 20);
    for table in &book.tables {
        let file = format!("{}.csv", table.name);
        let (ours, written) = (demo.join(&file), folder.path().join(&file));
        let ours = std::fs::read_to_string(ours).unwrap();
        let written = std::fs::read_to_string(written).unwrap();
        for (line, (ours, written)) in ours.lines().zip(written.lines()).enumerate() {
            assert_eq!(ours, written, "{file}, line {}", line + 1);
        }
        assert_eq!(ours, written, "{file}");
    }
}

#[test]
fn a_number_is_a_number_in_the_workbook_when_its_text_survives() {
    let book = book_of(table(
        &["station", "cycle_s"],
        &[&["weld", "240"], &["hang", "007"]],
    ));
    let bytes = book::xlsx_bytes(&book).unwrap();
    let mut sheet = String::new();
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    let mut part = zip.by_name("xl/worksheets/sheet1.xml").unwrap();
    std::io::Read::read_to_string(&mut part, &mut sheet).unwrap();
    assert!(sheet.contains("<c r=\"B2\"><v>240</v></c>"), "{sheet}");
    assert!(sheet.contains("<c r=\"B3\" t=\"s\">"), "{sheet}");
}

#[test]
fn row_numbers_survive_empty_rows() {
    let mut gaps = table(&["station"], &[&["weld"], &["hang"]]);
    gaps.rows[0].line = 4;
    gaps.rows[1].line = 9;
    let book = book_of(gaps);
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(
        content(&through_folder(&book, folder.path())),
        content(&book)
    );
    assert_eq!(content(&through_xlsx(&book)), content(&book));
}

#[test]
fn the_same_book_gives_the_same_bytes() {
    let book = book_of(table(&["station"], &[&["weld"]]));
    assert_eq!(
        book::xlsx_bytes(&book).unwrap(),
        book::xlsx_bytes(&book).unwrap()
    );
}

#[test]
fn a_book_that_would_not_come_back_is_not_written() {
    let check = |book: &Workbook, code: &str| {
        let error = book::xlsx_bytes(book).unwrap_err().to_string();
        assert!(error.contains(code), "{error}");
    };
    let mut half_read = book_of(table(&["station"], &[&["weld"]]));
    half_read.problems = book::read_xlsx_bytes(b"")
        .map_err(|error| vec![error.problem()])
        .unwrap_err();
    check(&half_read, "not-xlsx");
    let mut upside_down = book_of(table(&["station"], &[&["weld"], &["hang"]]));
    upside_down.tables[0].rows[1].line = 2;
    check(&upside_down, "row-order");
    let mut twice = book_of(table(&["station"], &[&["weld"]]));
    twice.tables.push(RawTable {
        name: "Stations".into(),
        ..twice.tables[0].clone()
    });
    check(&twice, "table-twice");
    check(
        &book_of(table(&["station"], &[&["weld", "too many"]])),
        "too-big",
    );

    for name in ["../stations", "con", "a:b", ".hidden", ""] {
        let book = book_of(RawTable {
            name: name.into(),
            ..table(&["station"], &[])
        });
        let folder = tempfile::tempdir().unwrap();
        let error = book::write_folder(&book, folder.path())
            .unwrap_err()
            .to_string();
        assert!(error.contains("table-name"), "{error}");
    }
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        2 => Just(String::new()),
        3 => select(ODD).prop_map(str::to_owned),
        2 => any::<f64>().prop_map(|number| number.to_string()),
        2 => (-1_000_000..1_000_000_i64, 0..6_u32).prop_map(|(digits, places)| {
            let number = digits as f64 / f64::from(10_u32.pow(places));
            number.to_string()
        }),
        2 => ".{0,12}",
        1 => vec(any::<char>(), 0..8).prop_map(String::from_iter),
        1 => "[_x0-9A-F]{0,16}",
    ]
}

prop_compose! {
    fn any_table(name: String)(width in 1..6_usize)(
        columns in vec(cell(), width),
        last in "[a-z_]{1,12}",
        rows in vec((1..4_u32, vec(cell(), width)), 0..8),
        decimal_comma in any::<bool>(),
        name in Just(name.clone()),
    ) -> RawTable {
        let mut columns = columns;
        *columns.last_mut().unwrap() = last;
        let mut line = 1;
        let number = |(step, cells): (u32, Vec<String>)| {
            line += step;
            RawRow { line, cells }
        };
        let holds = |row: &RawRow| row.cells.iter().any(|cell| !cell.is_empty());
        let rows = rows.into_iter().map(number).filter(holds).collect();
        RawTable { name, columns, rows, source: String::new(), decimal_comma }
    }
}

fn any_book() -> impl Strategy<Value = Workbook> {
    let names = proptest::collection::btree_set("[a-z][a-z_']{0,10}[a-z]", 1..4);
    names
        .prop_flat_map(|names| names.into_iter().map(any_table).collect::<Vec<_>>())
        .prop_map(|tables| Workbook {
            tables,
            ..Workbook::default()
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn folder_to_workbook_to_folder_changes_no_cell(book in any_book()) {
        let folder = tempfile::tempdir().unwrap();
        let wanted = content(&book);
        let first = through_folder(&book, &folder.path().join("one"));
        prop_assert_eq!(content(&first), wanted.clone());
        let second = through_xlsx(&first);
        prop_assert_eq!(content(&second), wanted.clone());
        let third = through_folder(&second, &folder.path().join("two"));
        prop_assert_eq!(content(&third), wanted);
    }

    /// A file that the writer wrote is the file that it writes again.
    #[test]
    fn what_was_written_and_read_is_written_byte_for_byte(table in any_table("t".into())) {
        let text = book::csv_text(&table);
        let read = through_csv(&table);
        prop_assert_eq!(&read, &note_from_file(&table));
        prop_assert_eq!(book::csv_text(&read), text);
    }

    /// What a reader makes of any text, it makes again of what the writer made
    /// of that.
    #[test]
    fn any_text_read_as_csv_is_written_and_read_the_same(text in "[a-c0-9\",;\t\r\n =#é]{0,80}") {
        let read = book::read_csv_bytes("t.csv", text.as_bytes());
        if let Some(table) = read.ok().filter(|table| !table.columns.is_empty()) {
            prop_assert_eq!(through_csv(&table), table);
        }
    }

    #[test]
    fn no_book_makes_the_checks_panic(book in any_book(), pick in 0..book::Table::ALL.len()) {
        let mut book = book;
        let known = book::Table::ALL[pick];
        for table in &mut book.tables {
            table.name = known.name().to_owned();
            for (header, column) in table.columns.iter_mut().zip(known.schema().columns) {
                *header = column.name.to_owned();
            }
        }
        let _ = book::check(&book);
    }
}
