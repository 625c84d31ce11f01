//! The sheet of expected readings: what it says is what the table says, and nothing in it is markup.

use std::process::Command;

use serde_json::Value;

fn printed(words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(words).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

const LAMP: &str = "tests/data/screens/lamp.yaml";
const HOSTILE: &str = "tests/data/reports/hostile.yaml";

#[test]
fn rows_of_numbers_are_those_of_the_table() {
    let json: Value = serde_json::from_str(&printed(&["expect", LAMP, "--json", "--all"])).unwrap();
    let sheet = printed(&["expect", LAMP, "--format", "markdown", "--all"]);
    let tests = json["tests"].as_array().unwrap();
    let volts =
        tests.iter().filter(|test| test["tester"] == "volts" && test["limits"]["low"].is_number());
    let rows = sheet.lines().filter(|line| line.contains("| Volts to ground |")).count();
    assert!(rows > 0);
    assert_eq!(rows, volts.count());
    let whole =
        sheet.lines().filter(|line| line.starts_with("| ") && line.ends_with("| |")).count();
    let wiggles = tests.iter().filter(|test| test["tester"] == "wiggle").count();
    assert_eq!(whole + wiggles, tests.len());
}

#[test]
fn what_tells_little_is_left_out_and_counted() {
    let some = printed(&["expect", "start-button", "--format", "markdown"]);
    assert!(some.contains("points that tell little of what to mend are left out"), "{some}");
    let points = some.lines().filter(|line| line.starts_with("| ") && !line.starts_with("|  |"));
    assert!(points.count() <= 48 + 2 * some.matches("\n## ").count());
}

#[test]
fn the_page_is_one_without_scripts_and_holds_names_as_they_are() {
    let page = printed(&["expect", HOSTILE, "--format", "html"]);
    let body = page.split_once("<html").unwrap().1;
    assert!(!body.contains("<script") && !body.contains("<img") && !body.contains("href="));
    assert!(page.contains("@page") && page.contains("<table"));
}
