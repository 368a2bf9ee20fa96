//! Looking after a store.

use std::path::Path;

use super::support::{answer, json, refusal};

#[test]
fn a_store_is_backed_up_once_to_a_name_and_put_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (store, copy) = (path("plant.lw"), path("backup.lw"));
    let text = refusal(&["backup", &store, &copy], 2);
    assert!(text.contains("there is no store"), "{text}");
    drop(desk::Store::open(Path::new(&store)).unwrap());
    let text = answer(&["backup", &store, &copy], 0);
    assert_eq!(text, format!("The backup is in {copy}.\n"));
    assert!(refusal(&["backup", &store, &copy], 2).contains("backup.lw"));
    let small = path("small.lw");
    let told = json(&["backup", &store, &small, "--without-logs", "--json"], 0);
    assert_eq!(told["logs"]["files"], 0);
    let text = answer(&["restore", &copy, &store], 0);
    assert!(
        text.contains("the store that was there is kept as"),
        "{text}"
    );
    let help = answer(&["backup", "--help"], 0);
    assert!(help.contains("By hand: stop the"), "{help}");
}
