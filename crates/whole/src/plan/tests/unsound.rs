//! Books without an answer: what is named, and what frees them.

use units::Share;

use super::*;

const WELD_AND_MEND: &str = "
    [products]
    product,cars_per_week
    van,100
    truck,10
    [stations]
    station,shop,cycle_s,first_time_ok,rework_to
    start,body,10,1,
    weld,body,10,0.9,mend
    mend,body,10,1,
    out,body,10,1,
    [links]
    from,to
    start,weld
    weld,mend
    mend,weld
    weld,out";

#[test]
fn a_loop_without_a_way_out_names_its_stations_and_what_frees_it() {
    let found = refused(WELD_AND_MEND, |book| {
        book.stations[1].first_time_ok = Some(Share(0.0));
    });
    assert_eq!(found[0].code, "stations/no-way-out");
    assert_eq!(
        (found[0].row, found[0].column.as_deref()),
        (Some(3), Some("rework_to"))
    );
    assert!(found[0].found.contains("`weld` (row 3), `mend` (row 4)"));
    assert!(found[0].mend.contains("`first_time_ok` of `weld` above 0"));
}

#[test]
fn a_station_that_no_car_comes_to_is_named() {
    let found = refused(WELD_AND_MEND, |book| {
        book.stations.push(book::Station {
            station: "lost".into(),
            units: 1,
            at: At {
                table: book::Table::Stations,
                row: 6,
            },
            ..book.stations[0].clone()
        });
    });
    assert_eq!(
        (found[0].code.as_str(), found[0].row),
        ("stations/unreachable", Some(6))
    );
}

#[test]
fn a_product_without_a_route_names_where_it_is_stuck() {
    let found = refused(WELD_AND_MEND, |book| {
        book.links[3].products = vec!["van".into()];
    });
    assert_eq!(found[0].code, "stations/dead-end");
    assert!(
        found[0]
            .mend
            .contains("open one link from `weld` to `truck`"),
        "{found:#?}"
    );
}

#[test]
fn an_empty_table_that_is_needed_is_named() {
    let found = refused(WELD_AND_MEND, |book| book.products.clear());
    assert_eq!(
        (found[0].code.as_str(), found[0].row),
        ("products/empty", None)
    );
}
