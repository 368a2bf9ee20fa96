//! Workbooks as other programs write them: text in pieces, text in the cell,
//! dates counted from 1904, times as text, formulas without a stored value.

use std::io::{Cursor, Write as _};

use zip::{ZipWriter, write::SimpleFileOptions};

const SHEETS: &str = r#"xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships""#;
const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";

/// The first five styles: plain, hours and minutes, hours beyond a day,
/// percent, a date.
const STYLES: &str = r#"<numFmts count="2"><numFmt numFmtId="164" formatCode="hh:mm"/><numFmt numFmtId="165" formatCode="[h]:mm"/></numFmts><cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="9"/><xf numFmtId="14"/></cellXfs>"#;

/// The parts of a workbook of one sheet `shifts`.
fn parts(properties: &str, texts: &str, rows: &str) -> [(&'static str, String); 7] {
    let part = |text: &str| format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>{text}");
    let relation = |id: &str, kind: &str, target: &str| {
        format!(r#"<Relationship Id="{id}" Type="{OFFICE}/{kind}" Target="{target}"/>"#)
    };
    let relations = |all: &str| {
        part(&format!(
            r#"<Relationships xmlns="{PACKAGE}/relationships">{all}</Relationships>"#
        ))
    };
    [
        (
            "[Content_Types].xml",
            part(&format!(
                r#"<Types xmlns="{PACKAGE}/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>"#
            )),
        ),
        (
            "_rels/.rels",
            relations(&relation("rId1", "officeDocument", "xl/workbook.xml")),
        ),
        (
            "xl/workbook.xml",
            part(&format!(
                r#"<workbook {SHEETS}>{properties}<sheets><sheet name="shifts" sheetId="1" r:id="rId1"/></sheets></workbook>"#
            )),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            relations(
                &[
                    relation("rId1", "worksheet", "worksheets/sheet1.xml"),
                    relation("rId2", "sharedStrings", "sharedStrings.xml"),
                    relation("rId3", "styles", "styles.xml"),
                ]
                .concat(),
            ),
        ),
        (
            "xl/worksheets/sheet1.xml",
            part(&format!(
                "<worksheet {SHEETS}><sheetData>{rows}</sheetData></worksheet>"
            )),
        ),
        (
            "xl/sharedStrings.xml",
            part(&format!("<sst {SHEETS}>{texts}</sst>")),
        ),
        (
            "xl/styles.xml",
            part(&format!("<styleSheet {SHEETS}>{STYLES}</styleSheet>")),
        ),
    ]
}

/// A workbook of one sheet `shifts`, and what its rows read as.
fn read(properties: &str, texts: &str, rows: &str) -> Vec<String> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in parts(properties, texts, rows) {
        zip.start_file(name, SimpleFileOptions::default()).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    let bytes = zip.finish().unwrap().into_inner();
    let workbook = book::read_xlsx_bytes(&bytes).unwrap();
    let table = &workbook.tables[0];
    let rows = table.rows.iter().map(|row| row.cells.join("|"));
    std::iter::once(table.columns.join("|"))
        .chain(rows)
        .collect()
}

const HEAD: &str = r#"<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><r><t>val</t></r><r><t>ue</t></r></is></c></row>"#;
const TEXTS: &str = r#"<si><r><rPr><b/></rPr><t>wh</t></r><r><t>at</t></r></si><si><t xml:space="preserve"> early </t><rPh sb="0" eb="1"><t>as spoken</t></rPh></si>"#;

#[test]
fn text_in_pieces_is_one_text_and_its_reading_aid_is_not() {
    let rows = format!(
        r#"{HEAD}<row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2" t="str"><f>1&amp;"0"</f><v>10</v></c></row>"#
    );
    assert_eq!(read("", TEXTS, &rows), ["what|value", " early |10"]);
}

#[test]
fn dates_count_from_1904_where_the_workbook_says_so() {
    let rows = format!(
        r#"{HEAD}<row r="2"><c r="A2" s="4"><v>45000</v></c><c r="B2" s="1"><v>0.25</v></c></row>"#
    );
    assert_eq!(read("", TEXTS, &rows)[1], "2023-03-15|06:00");
    let from_1904 = r#"<workbookPr date1904="1"/>"#;
    // 1,462 days later: four years and the leap day that 1900 did not have.
    assert_eq!(read(from_1904, TEXTS, &rows)[1], "2027-03-16|06:00");
}

#[test]
fn a_time_written_as_text_of_the_standard_is_a_time() {
    let rows = format!(
        r#"{HEAD}<row r="2"><c r="A2" t="d"><v>1899-12-31T06:00:00</v></c><c r="B2" t="d"><v>14:30:00</v></c></row><row r="3"><c r="A3" t="d"><v>2031-05-01T00:00:00</v></c><c r="B3" s="3"><v>0.85</v></c></row>"#
    );
    assert_eq!(
        read("", TEXTS, &rows),
        ["what|value", "06:00|14:30", "2031-05-01|0.85"]
    );
}

#[test]
fn a_formula_without_a_stored_value_is_an_empty_cell_and_its_failure_is_shown() {
    let rows = format!(
        r#"{HEAD}<row r="2"><c r="A2"><f>1/0.005</f></c><c r="B2" t="e"><f>1/0</f><v>#DIV/0!</v></c></row>"#
    );
    assert_eq!(read("", TEXTS, &rows)[1], "|#DIV/0!");
}
