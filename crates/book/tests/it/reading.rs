//! What spreadsheets in all countries write, read as it was meant.

use book::raw::{RawTable, Workbook};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook as XlsxFile};

/// Rows as `number: cell|cell`, the header first.
fn shown(table: &RawTable) -> String {
    let mut lines = vec![table.columns.join("|")];
    for row in &table.rows {
        lines.push(format!("{}: {}", row.line, row.cells.join("|")));
    }
    lines.join("\n")
}

fn check(csv: &str, expected: &str) {
    let text = match book::read_csv_bytes("stations.csv", csv.as_bytes()) {
        Ok(table) => shown(&table),
        Err(error) => error.problem().to_string(),
    };
    assert_eq!(text, expected, "from {csv:?}");
}

#[test]
fn the_header_tells_the_separator() {
    check("a,b\n1,2", "a|b\n2: 1|2");
    check("a;b\n1,5;2", "a|b\n2: 1,5|2");
    check("a\tb\r\n1,5\t2;3\r\n", "a|b\n2: 1,5|2;3");
    check("a;\"b,c,d\";e\n1;2;3", "a|b,c,d|e\n2: 1|2|3");
    check("sep=;\na\n1;2", "a|\n2: 1|2");
    check("only\n1,5\n", "only\n2: 1,5");
}

#[test]
fn rows_keep_the_numbers_a_spreadsheet_shows() {
    check("a,b\n\n1,2\n,\n3,4\n", "a|b\n3: 1|2\n5: 3|4");
    check("a,b\n\"x\ny\",2\n3,4", "a|b\n2: x\ny|2\n3: 3|4");
    check("\n\na,b\n1,2", "a|b\n4: 1|2");
}

#[test]
fn quotes_and_marks_at_the_start() {
    check("\u{feff}a,b\n1,2", "a|b\n2: 1|2");
    check("a,b\n\"say \"\"hi\"\"\",\"x,y\"", "a|b\n2: say \"hi\"|x,y");
    check("a,b\n\"x\"y, \"z\"", "a|b\n2: xy| \"z\"");
    check("a,b\r1,2\r", "a|b\n2: 1|2");
}

#[test]
fn short_and_long_rows_are_squared() {
    check("a,b,c\n1\n1,2,3,4\n", "a|b|c|\n2: 1|||\n3: 1|2|3|4");
    check("a,b,,\n1,2,,\n", "a|b\n2: 1|2");
    check("", "");
}

#[test]
fn what_is_no_table_is_said_so() {
    check(
        "a,b\n1,\"2\n3,4\n",
        "error: stations row 2: found a quoted cell that does not end; expected a closing `\"`; close the \
         quote; a `\"` inside a quoted cell is written twice [stations/open-quote]",
    );
    let latin = book::read_csv_bytes("stations.csv", b"a,b\nF\xFCge,2\n").unwrap_err();
    assert_eq!(
        latin.problem().to_string(),
        "error: stations row 2: found the byte 0xfc; expected text in UTF-8; save it again as `CSV UTF-8` \
         [stations/not-utf8]"
    );
}

#[test]
fn a_path_is_a_folder_a_workbook_or_one_table() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("merrow quay");
    let table = book::read_csv_bytes("products.csv", b"product,cars_per_week\nTern,300\n").unwrap();
    let book = Workbook {
        tables: vec![table],
        ..Workbook::default()
    };
    book::write_folder(&book, &path).unwrap();
    book::write_xlsx(&book, &folder.path().join("quay.xlsx")).unwrap();
    for (path, name) in [
        ("merrow quay", "merrow quay"),
        ("quay.xlsx", "quay"),
        ("merrow quay/products.csv", "products"),
    ] {
        let read = book::read_path(&folder.path().join(path)).unwrap();
        assert_eq!(
            (read.name.as_str(), shown(&read.tables[0])),
            (name, "product|cars_per_week\n2: Tern|300".into())
        );
    }
    let missing = book::read_path(&folder.path().join("gone")).unwrap_err();
    assert!(missing.to_string().starts_with("can't read"), "{missing}");
    let empty = tempfile::tempdir().unwrap();
    assert!(
        book::read_path(empty.path())
            .unwrap_err()
            .to_string()
            .contains("no .csv")
    );
}

#[test]
fn one_bad_file_leaves_the_others_readable() {
    let book = Workbook {
        tables: vec![
            book::read_csv_bytes("products.csv", b"product,cars_per_week\nTern,300\n").unwrap(),
        ],
        ..Workbook::default()
    };
    let folder = tempfile::tempdir().unwrap();
    book::write_folder(&book, folder.path()).unwrap();
    let mut bad = book.clone();
    bad.tables[0].name = "shifts".into();
    book::write_folder(&bad, folder.path()).unwrap();
    write_bytes(&folder.path().join("shifts.csv"), b"shop,\"shift\n");
    let read = book::read_path(folder.path()).unwrap();
    assert_eq!(read.tables.len(), 1);
    assert_eq!(read.problems[0].code, "shifts/open-quote");
    assert!(!book::check(&read).holds());
}

#[allow(clippy::disallowed_methods, reason = "the test makes a broken file")]
fn write_bytes(path: &std::path::Path, bytes: &[u8]) {
    std::fs::write(path, bytes).unwrap();
}

#[test]
fn a_workbook_gives_what_its_cells_show() {
    let mut file = XlsxFile::new();
    let sheet = file.add_worksheet().set_name("shifts").unwrap();
    let date = |format: &str| Format::new().set_num_format(format);
    let day = ExcelDateTime::from_ymd(2031, 5, 1).unwrap();
    let six = ExcelDateTime::from_hms(6, 0, 0).unwrap();
    let both = ExcelDateTime::from_ymd(2031, 5, 1)
        .unwrap()
        .and_hms(14, 30, 0)
        .unwrap();
    sheet
        .write(0, 0, "what")
        .unwrap()
        .write(0, 1, "value")
        .unwrap();
    let rows = [
        "date", "time", "both", "long", "sum", "text sum", "failed", "yes", "number", "small",
        "share",
    ];
    for (row, what) in (1..).zip(rows) {
        sheet.write(row, 0, what).unwrap();
    }
    sheet
        .write_with_format(1, 1, &day, &date("dd.mm.yyyy"))
        .unwrap();
    sheet.write_with_format(2, 1, &six, &date("hh:mm")).unwrap();
    sheet
        .write_with_format(3, 1, &both, &date("yyyy-mm-dd hh:mm"))
        .unwrap();
    sheet
        .write_with_format(4, 1, 1.25, &date("[h]:mm"))
        .unwrap();
    sheet
        .write(5, 1, Formula::new("=1+1").set_result("2"))
        .unwrap();
    sheet
        .write(6, 1, Formula::new("=\"a\"&\"b\"").set_result("ab"))
        .unwrap();
    sheet
        .write(7, 1, Formula::new("=A99999").set_result("#REF!"))
        .unwrap();
    sheet.write(8, 1, true).unwrap();
    sheet.write(9, 1, 0.1 + 0.2).unwrap();
    sheet.write(10, 1, 2.5e-9).unwrap();
    sheet.write_with_format(11, 1, 0.85, &date("0 %")).unwrap();
    let read = book::read_xlsx_bytes(&file.save_to_buffer().unwrap()).unwrap();
    assert_eq!(
        shown(&read.tables[0]),
        "what|value\n2: date|2031-05-01\n3: time|06:00\n4: both|2031-05-01T14:30\n5: long|30:00\n6: sum|2\n\
         7: text sum|ab\n8: failed|#REF!\n9: yes|TRUE\n10: number|0.30000000000000004\n11: small|2.5e-9\n\
         12: share|0.85"
    );
}

#[test]
fn hidden_sheets_are_read_and_noted_and_empty_ones_left_out() {
    let mut file = XlsxFile::new();
    file.add_worksheet()
        .set_name("products")
        .unwrap()
        .write(0, 0, "product")
        .unwrap();
    let hidden = file.add_worksheet().set_name("crews").unwrap();
    hidden.write(0, 0, "crew").unwrap();
    hidden.set_hidden(true);
    file.add_worksheet().set_name("Sheet3").unwrap();
    let read = book::read_xlsx_bytes(&file.save_to_buffer().unwrap()).unwrap();
    let names: Vec<_> = read
        .tables
        .iter()
        .map(|table| table.name.as_str())
        .collect();
    assert_eq!(names, ["products", "crews"]);
    assert_eq!(read.problems.len(), 1);
    assert_eq!(read.problems[0].code, "crews/hidden-sheet");
    assert!(
        book::xlsx_bytes(&read).is_ok(),
        "a note does not keep a book from being written"
    );
}

#[test]
fn a_link_with_too_many_places_is_told_how_many_it_may_have() {
    let links = "[links]\nfrom,to,holds,share\nweld,hang,1000001,\n";
    let checked = book::check(&crate::small::workbook(&[crate::small::SMALL, links]));
    let mut problems = checked.problems.iter();
    let told = problems.find(|problem| problem.code == "links/out-of-range");
    let told = told.expect("one place too many");
    assert_eq!(
        told.expected,
        "a whole number of places from 0 to 1000000, or `unlimited`"
    );
    assert_eq!(told.mend, "make it at most 1000000");
}
