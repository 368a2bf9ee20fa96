//! `linewright run`: the plant simulated.

use serde_json::Value;

use crate::support::{Plant, answer, ask, json, written};

#[test]
fn a_run_answers_the_same_on_any_number_of_threads() {
    let plant = Plant::sound();
    let run = |threads: &str| {
        let arguments = [
            "run",
            plant.path(),
            "--json",
            "--replications",
            "4",
            "--weeks",
            "1",
            "--threads",
            threads,
        ];
        let output = ask(arguments);
        output.out
    };
    let one = run("1");
    assert_eq!(one, run("2"));
    let said: Value = serde_json::from_str(&one).unwrap();
    assert!(said["made"]["mean"].as_f64().unwrap() > 900.0, "{one}");
    assert_eq!(said["run"]["replications"], 4);
    assert_eq!(said["run"]["seed"], 1);
}

#[test]
fn a_run_says_first_whether_the_rate_is_made_and_by_its_exit_code_too() {
    let plant = Plant::sound();
    let said = answer(
        &["run", plant.path(), "--replications", "5", "--weeks", "2"],
        0,
    );
    assert!(
        said.starts_with("The plant makes the 1000 cars a week needed"),
        "{said}"
    );
    // 1200 a week is one every 120 s, the wash's cycle: any stop loses cars.
    plant.table("products", "product,cars_per_week\nTern,1250\n");
    let said = answer(
        &["run", plant.path(), "--replications", "5", "--weeks", "2"],
        1,
    );
    let first = said.lines().next().unwrap();
    assert!(
        first.contains("of 1250 needed") && first.contains("wash"),
        "{said}"
    );
}

#[test]
fn a_run_draws_the_plant_as_a_strip() {
    let plant = Plant::sound();
    let file = plant.beside("strip.svg");
    let name = file.to_str().unwrap();
    let run = |code| {
        let arguments = [
            "run",
            plant.path(),
            "--replications",
            "2",
            "--weeks",
            "1",
            "--strip",
            name,
        ];
        let output = ask(arguments);
        assert_eq!(output.code, Some(code), "{}", output.err);
        output.err
    };
    run(0);
    let drawing = written(&file);
    assert!(drawing.starts_with("<svg"), "{drawing}");
    assert!(drawing.contains("1,000 needed"), "{drawing}");
    assert!(run(2).contains("is there already"));
}

#[test]
fn another_seed_is_other_luck() {
    let plant = Plant::sound();
    let made = |seed: &str| {
        let arguments = [
            "run",
            plant.path(),
            "--json",
            "--replications",
            "3",
            "--weeks",
            "1",
            "--seed",
            seed,
        ];
        let said: Value = ask(arguments).json();
        said["stations"][0]["stopped"]["mean"].as_f64().unwrap()
    };
    assert_ne!(made("1"), made("2"));
}

#[test]
fn a_run_goes_on_until_it_is_precise() {
    let plant = Plant::sound();
    // Above what the line can make, so that stops show in the rate.
    plant.table("products", "product,cars_per_week\nTern,1250\n");
    let run = |more: &[&str]| {
        let mut arguments = vec![
            "run",
            plant.path(),
            "--json",
            "--replications",
            "2",
            "--weeks",
            "1",
        ];
        arguments.extend(more);
        json(&arguments, 1)
    };
    let wide = run(&[])["made"]["half_width"].as_f64().unwrap();
    let asked = (wide / 4.0).max(1e-3).to_string();
    let said = run(&["--precise", &asked]);
    assert!(
        said["made"]["half_width"].as_f64().unwrap() <= wide / 4.0,
        "{said}"
    );
    assert!(said["run"]["replications"].as_u64().unwrap() > 2);
}
