//! Price lists with slips of the pen: named by line, and nothing else is lost.

use crate::builder::{Bench, messages, rectangle};
use swardline::brief::{BriefError, Project};
use swardline::design::design;
use tempfile::TempDir;

/// A project of one lawn whose price list holds this text.
fn with_list(text: &str, more: &str) -> (TempDir, Result<Project, BriefError>) {
    let bench = Bench {
        turf: vec![rectangle("t1", 2.0, 2.0, 18.0, 12.0)],
        more: format!("[prices]\nlist = \"prices.csv\"\n{more}"),
        ..Bench::default()
    };
    let folder = bench.write();
    std::fs::write(folder.path().join("prices.csv"), text).expect("a fresh folder is writable");
    let project = Project::read(&folder.path().join("project.toml"));
    (folder, project)
}

#[test]
fn two_currencies_are_refused_with_the_line_that_brings_the_second() {
    let text = "item,size,unit,unit_price,currency\ngravel,,L,0.1,EUR\nair valve,,each,40,CHF\n";
    let told = with_list(text, "").1.expect_err("refused").to_string();
    assert!(
        told.contains("prices.csv: line 3: currency `CHF`, where before it was `EUR`"),
        "{told}"
    );
    let told = with_list(text, "currency = \"USD\"\n")
        .1
        .expect_err("refused")
        .to_string();
    assert!(
        told.contains("line 2: currency `EUR`, where before it was `USD`"),
        "{told}"
    );
}

#[test]
fn a_list_that_is_not_there_is_named() {
    let (folder, _) = with_list("", "");
    std::fs::remove_file(folder.path().join("prices.csv")).expect("it was written");
    let told = Project::read(&folder.path().join("project.toml"))
        .expect_err("refused")
        .to_string();
    assert!(told.contains("prices.csv: cannot be read"), "{told}");
}

#[test]
fn an_unknown_item_is_told_and_the_known_ones_are_priced() {
    let text =
        "item,size,unit,unit_price\nsprinkelr,,each,9\nswing joint (in the head's price),,each,3\n";
    let (_folder, project) = with_list(text, "");
    let project = project.expect("the list can be read");
    let ground = swardline::site::open(&project).expect("the files are sound");
    let design = design(
        &ground.parcel("p1").expect("the parcel can be prepared"),
        &project,
    );
    let told = messages(&design.findings, "price_unknown_item");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("line 2 `sprinkelr`"), "{}", told[0]);
    let mut priced = design.takeoff.iter().filter(|row| row.cost.is_some());
    let row = priced.next().expect("the joints are priced");
    assert_eq!(
        (row.item.as_str(), row.cost),
        (
            "swing joint (in the head's price)",
            Some(3.0 * design.heads.len() as f64)
        )
    );
    assert!(priced.next().is_none());
}
