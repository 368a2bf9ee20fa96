//! `linewright order`, as somebody types it.

use serde_json::Value;

use crate::support::{demo, linewright};

#[test]
fn the_demo_has_a_build_order_with_its_frozen_part_promises_and_files() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let (xlsx, csv) = (folder.path().join("o.xlsx"), folder.path().join("o.csv"));
    let output = linewright()
        .args(["order", "--json"])
        .arg(&book)
        .arg("--xlsx")
        .arg(&xlsx)
        .arg("--csv")
        .arg(&csv)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let order: Value = serde_json::from_slice(&output.stdout).unwrap();
    let places = order["places"].as_array().unwrap();
    assert_eq!(places.len(), 1_400);
    assert_eq!(order["frozen"], 32);
    assert!(places[..32].iter().all(|car| car["frozen"] == true));
    let promises = order["promises"].as_array().unwrap();
    assert!(promises.iter().all(|promise| promise["kept"] == true));
    // what A-21 asks for is more than the shares leave room for
    assert_eq!(order["proof"]["without_break"], "impossible");
    let written = std::fs::read_to_string(&csv).unwrap();
    assert_eq!(written.lines().count(), 1_401);
    assert!(xlsx.exists());
}

#[test]
fn an_order_for_an_option_that_is_none_is_told_with_its_row() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    let file = book.join("orders.csv");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text + "MQ-9001,Dunlin,roof rail,slate blue,,,,,,\n").unwrap();
    let output = linewright().arg("order").arg(&book).output().unwrap();
    let told = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(
        told.contains("orders row 63") && told.contains("roof rails"),
        "{told}"
    );
}
