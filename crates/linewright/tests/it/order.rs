//! `linewright order`, as somebody types it.

use serde_json::Value;

use crate::support::{demo, lay_out, linewright};

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

fn text_of(output: &std::process::Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// A small week of one product without options, colours or a rule by a station,
/// with these orders.
fn small_week(folder: &std::path::Path, cars: u32, orders: &str) -> std::path::PathBuf {
    let book = folder.join("book");
    let header =
        "order,product,options,colour,due_day,due_place,must,frozen_place,on_hold,back_day";
    let products = format!("product,cars_per_week\nDunlin,{cars}\n");
    let orders = format!("{header}\n{orders}");
    let tables = [
        (
            "shifts",
            "shop,shift,days,start,end\nassembly,early,mon-fri,06:00,14:00\n",
        ),
        ("products", products.as_str()),
        ("colours", "colour,share\nchalk white,1\n"),
        (
            "stations",
            "station,shop,cycle_s\ntrim,assembly,600\nfinal,assembly,600\n",
        ),
        ("links", "from,to,holds\ntrim,final,2\n"),
        ("orders", orders.as_str()),
    ];
    lay_out(&book, tables);
    book
}

#[test]
fn what_must_hold_and_does_not_stands_in_the_first_line_and_by_its_car() {
    let folder = tempfile::tempdir().unwrap();
    let orders: String = (0..20)
        .map(|n| format!("X{n},Dunlin,,chalk white,,,,,yes,3\n"))
        .collect();
    let book = small_week(folder.path(), 20, &orders);
    let output = linewright().arg("order").arg(&book).output().unwrap();
    let told = text_of(&output);
    assert_eq!(output.status.code(), Some(1), "{told}");
    let first = told.lines().next().unwrap();
    assert!(first.contains("WHAT MUST HOLD IS BROKEN"), "{first}");
    assert!(
        told.contains("8 cars built before coming back from hold"),
        "{told}"
    );
    assert!(told.contains("TOO EARLY"), "{told}");
    assert!(told.contains("moves tried with seed 1 in "), "{told}");
}

#[test]
fn more_effort_tries_as_many_times_the_moves_and_is_never_worse_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = small_week(folder.path(), 24, "");
    // What a level order of these cars costs is open, so that all moves are tried.
    let tables = [
        (
            "products",
            "product,cars_per_week\nDunlin,11\nKnot,8\nRuff,5\n",
        ),
        (
            "options",
            "option,product,share,at_most,in_every\ntow bar,Dunlin,0.7,1,3\nrails,,0.4,2,5\n",
        ),
        ("colours", "colour,share\nchalk white,0.6\nslate blue,0.4\n"),
        ("plant", "setting,value\nlevel_weight,1\n"),
    ];
    lay_out(&book, tables);
    let with = |effort: &str| {
        let output = linewright()
            .args(["order", "--json", "--effort", effort])
            .arg(&book)
            .output()
            .unwrap();
        let told = text_of(&output);
        let order: Value = serde_json::from_slice(&output.stdout).expect(&told);
        order
    };
    let (usual, twice, again) = (with("1"), with("2"), with("2"));
    assert_eq!(twice, again, "the same seed and effort give the same order");
    let moves = |order: &Value| order["proof"]["moves"].as_u64().unwrap();
    assert!(!usual["proof"]["optimal"].as_bool().unwrap());
    assert!(
        moves(&twice) > moves(&usual) * 19 / 10 && moves(&twice) < moves(&usual) * 21 / 10,
        "{} moves after {}",
        moves(&twice),
        moves(&usual)
    );
    let cost = |order: &Value| {
        let goals = order["proof"]["goals"].as_array().unwrap().clone();
        let values = goals.iter().map(|goal| goal["value"].as_f64().unwrap());
        values.collect::<Vec<_>>()
    };
    assert!(cost(&twice) <= cost(&usual), "{:?}", cost(&twice));
    for effort in ["0", "1001"] {
        let refused = linewright()
            .args(["order", "--effort", effort])
            .arg(&book)
            .output()
            .unwrap();
        let told = text_of(&refused);
        assert_eq!(refused.status.code(), Some(2), "{told}");
        assert!(told.contains("--effort") && told.contains("1000"), "{told}");
    }
}

#[test]
fn check_lists_more_orders_than_cars() {
    let folder = tempfile::tempdir().unwrap();
    let orders: String = (0..30)
        .map(|n| format!("X{n},Dunlin,,chalk white,,,,,,\n"))
        .collect();
    let book = small_week(folder.path(), 20, &orders);
    let output = linewright().arg("check").arg(&book).output().unwrap();
    let told = text_of(&output);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("orders/more-than-built"), "{told}");
}

#[test]
fn a_name_with_a_line_break_or_of_a_formula_breaks_no_table_and_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let orders = "\"two\nlines\",Dunlin,,,,,,1,,\n=cmd(),Dunlin,,,,,,2,,\n";
    let book = small_week(folder.path(), 20, orders);
    let csv = folder.path().join("o.csv");
    let output = linewright()
        .arg("order")
        .arg(&book)
        .arg("--csv")
        .arg(&csv)
        .output()
        .unwrap();
    let told = text_of(&output);
    assert!(told.contains("two lines (frozen)"), "{told}");
    let written = std::fs::read_to_string(&csv).unwrap();
    assert!(written.contains("2,'=cmd(),Dunlin"), "{written}");
}

#[test]
fn a_file_whose_ending_says_something_else_is_refused_before_anything_is_planned() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo(folder.path());
    for (option, name, ending) in [
        ("--xlsx", "o.csv", ".xlsx"),
        ("--csv", "o.xlsx", ".csv"),
        ("--html", "o.pdf", ".html"),
    ] {
        let file = folder.path().join(name);
        let output = linewright()
            .arg("order")
            .arg(&book)
            .arg(option)
            .arg(&file)
            .output()
            .unwrap();
        let told = text_of(&output);
        assert_eq!(output.status.code(), Some(2), "{told}");
        let words = format!("does not end in {ending}");
        assert!(told.contains(&words), "{told}");
        assert!(!file.exists());
    }
}
