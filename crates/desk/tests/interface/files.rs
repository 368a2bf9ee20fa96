//! Books that leave as files and come back.

use crate::support::{Served, demo};

#[test]
fn what_is_exported_comes_back_the_same() {
    let desk = Served::demo();
    for ending in ["xlsx", "zip"] {
        let file = desk.get(&format!("/api/revisions/2/export.{ending}"));
        assert_eq!(file.status, 200);
        assert!(
            file.header("content-disposition")
                .unwrap()
                .contains("merrow-quay-r2")
        );
        let kind = [("content-type", "application/octet-stream")];
        let path = "/api/variants/1/import?author=Ada&note=back";
        let back = desk.ask("POST", path, &kind, &file.body).good();
        assert_eq!(
            back["revision"]["id"], 2,
            "{ending}: the same book is no new revision"
        );
    }
    let csv = book::csv_text(demo().table("crews").unwrap());
    let more = csv.trim_end().to_owned() + "\nnight crew,2\n";
    let path = "/api/variants/1/import?author=Ada&table=crews";
    let kind = [("content-type", "text/csv; charset=utf-8")];
    let saved = desk.ask("POST", path, &kind, more.as_bytes()).good();
    let id = saved["revision"]["id"].clone();
    let difference = desk.get(&format!("/api/revisions/2/compare/{id}")).good();
    assert_eq!(difference["rows_added"].as_array().unwrap().len(), 1);
    assert!(difference["cells"].as_array().unwrap().is_empty());
    assert_eq!(difference["rows_added"][0]["key"], "night crew");
}

#[test]
fn files_that_are_no_book_are_refused_and_change_nothing() {
    let desk = Served::demo();
    let kind = [("content-type", "application/octet-stream")];
    let path = "/api/variants/1/import?author=Ada";
    for bytes in [&b"no book"[..], b"PK\x03\x04 cut off", b"", &[0xff; 5_000]] {
        let reply = desk.ask("POST", path, &kind, bytes);
        assert_eq!(reply.status, 422, "{}", reply.text());
    }
    let csv = [("content-type", "text/csv")];
    assert_eq!(desk.ask("POST", path, &csv, b"a,b\n1,2\n").status, 400);
    let nobody = desk.ask("POST", "/api/variants/1/import", &csv, b"");
    assert_eq!(nobody.status, 400);
    assert_eq!(desk.get("/api/variants").good()[0]["head"]["id"], 2);
}
