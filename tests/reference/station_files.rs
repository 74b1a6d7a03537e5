//! The EPANET files of a designed parcel, opened and solved by EPANET as they are, where Python and `owa-epanet` are.

use super::python;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Greatest difference of a pressure, kPa.
const LIMIT_KPA: &str = "0.05";
/// The smallest parcel of the sample campus.
const PARCEL: &str = "triangle-green";

/// What is asked beside the sample campus as it is.
#[derive(Default)]
struct Asked {
    /// Lines of `[rules]`.
    rules: &'static str,
    /// Whether the tap lies behind a service pipe.
    service: bool,
    /// Whether rotors have another exponent than the other heads.
    mixed: bool,
}

fn sample(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-parcels")
        .join(file)
}

fn swardline() -> Command {
    Command::new(env!("CARGO_BIN_EXE_swardline"))
}

/// The project of the sample campus as asked for, in a folder of its own.
fn project(folder: &Path, asked: &Asked) -> PathBuf {
    let mut text = fs::read_to_string(sample("project.toml")).unwrap();
    text = text.replace("[rules]\n", &format!("[rules]\n{}\n", asked.rules));
    for file in [
        "parcels.geojson",
        "turf.geojson",
        "obstacles.geojson",
        "terrain.tif",
    ] {
        let quoted = format!("{:?}", sample(file).display().to_string());
        text = text.replace(&format!("\"{file}\""), &quoted);
    }
    if asked.mixed {
        text = format!("catalogue = \"catalogue.toml\"\n{text}");
        fs::write(folder.join("catalogue.toml"), mixed_catalogue()).unwrap();
    }
    let id = format!("\"id\":\"{PARCEL}-w1\"");
    let service = r#","service_length_m":45,"service_inside_mm":44"#;
    let with = format!("{id}{}", if asked.service { service } else { "" });
    let taps = fs::read_to_string(sample("water_points.geojson")).unwrap();
    assert!(taps.contains(&id));
    fs::write(
        folder.join("water_points.geojson"),
        taps.replace(&id, &with),
    )
    .unwrap();
    let path = folder.join("project.toml");
    fs::write(&path, text).unwrap();
    path
}

/// The built-in catalogue with 0.55 for every rotor's exponent.
fn mixed_catalogue() -> String {
    let printed = swardline().arg("catalogue").output().unwrap();
    let mut catalogue: toml::Table = String::from_utf8(printed.stdout).unwrap().parse().unwrap();
    let heads = catalogue["heads"].as_array_mut().unwrap();
    for head in heads
        .iter_mut()
        .filter(|head| head["family"].as_str() == Some("rotor"))
    {
        head["flow_exponent"] = toml::Value::Float(0.55);
    }
    catalogue.to_string()
}

/// Designs the parcel with its files; gives the output folder.
fn designed(folder: &Path, asked: &Asked) -> PathBuf {
    let out = folder.join("out");
    let output = swardline()
        .arg("design")
        .arg(project(folder, asked))
        .args(["--only", PARCEL, "--networks", "--quiet", "--out"])
        .arg(&out)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    out
}

/// Pressures compared by a script of this folder, which fails where one is too far off.
fn compared(python: &Path, script: &str, out: &Path) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let arguments: [PathBuf; 4] = [
        folder.join(script),
        out.to_path_buf(),
        "--limit-kpa".into(),
        LIMIT_KPA.into(),
    ];
    let said = python::told(python, &arguments);
    eprintln!("{script}: {said}");
    let rest = said.strip_prefix(&format!("{PARCEL}: "));
    let count = rest.and_then(|rest| rest.split(' ').next()?.parse().ok());
    count.unwrap_or_else(|| panic!("{said}"))
}

/// The text of every station's file.
fn files(out: &Path) -> Vec<String> {
    let folder = out.join("parcels").join(PARCEL).join("networks");
    let files = fs::read_dir(folder).unwrap();
    files
        .map(|file| fs::read_to_string(file.unwrap().path()).unwrap())
        .collect()
}

/// Every node and nozzle of every station within 0.05 kPa.
#[test]
fn every_station_opens_in_the_public_solver_and_shows_the_same_pressures() {
    let Some(python) = python::with("epanet.toolkit") else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let out = designed(folder.path(), &Asked::default());
    assert!(
        files(&out)
            .iter()
            .all(|file| !file.contains("APPROXIMATED"))
    );
    assert!(compared(&python, "station_files_check.py", &out) > 100);
}

/// EPANET has one exponent in a file: the others' law is a curve.
#[test]
fn stations_of_two_exponents_and_a_service_pipe_show_the_same_pressures() {
    let Some(python) = python::with("epanet.toolkit") else {
        return;
    };
    let asked = Asked {
        service: true,
        mixed: true,
        ..Asked::default()
    };
    let folder = tempfile::tempdir().unwrap();
    let out = designed(folder.path(), &asked);
    let files = files(&out);
    assert!(files.iter().any(|file| file.contains(" GPV law-head-")));
    assert!(
        files
            .iter()
            .all(|file| file.contains("\nservice service-in "))
    );
    assert!(compared(&python, "station_files_check.py", &out) > 100);
}

/// With the law of Darcy and Weisbach and cold water: its files, and the layers alone, by another hand's Colebrook.
#[test]
fn by_darcy_and_weisbach_the_public_solver_finds_the_same_pressures_too() {
    let Some(python) = python::with("epanet.toolkit") else {
        return;
    };
    let asked = Asked {
        rules: "darcy_weisbach = true\nwater_temperature_c = 8",
        service: true,
        ..Asked::default()
    };
    let folder = tempfile::tempdir().unwrap();
    let out = designed(folder.path(), &asked);
    let design = out.join("parcels").join(PARCEL).join("design.json");
    let design: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(design).unwrap()).unwrap();
    assert_eq!(design["friction"]["law"], "darcy_weisbach");
    let bounds = &design["bounds"]["pipe_cost"];
    let gap = 1.0 - bounds["bound"].as_f64().unwrap() / bounds["result"].as_f64().unwrap();
    assert!((0.0..0.1).contains(&gap), "{gap}");
    assert!(design["stations"][0]["service_loss_kpa"].as_f64().unwrap() > 0.0);
    assert!(compared(&python, "station_files_check.py", &out) > 100);
    assert!(compared(&python, "epanet_check.py", &out) > 100);
}
