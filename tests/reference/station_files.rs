//! The EPANET files of a designed parcel, opened and solved by EPANET as they are, where Python and `owa-epanet` are.

use super::python;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Greatest difference of a pressure, kPa.
const LIMIT_KPA: &str = "0.05";

/// Designs the smallest parcel of the sample campus, with its files.
fn designed(out: &Path) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = Command::new(env!("CARGO_BIN_EXE_swardline"))
        .arg("design")
        .arg(root.join("sample-parcels/project.toml"))
        .args(["--only", "triangle-green", "--networks", "--quiet", "--out"])
        .arg(out)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
}

/// What `station_files_check.py` says of an output folder.
fn judged(python: &Path, out: &Path) -> String {
    let script =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/station_files_check.py");
    let arguments: [PathBuf; 4] = [
        script,
        out.to_path_buf(),
        "--limit-kpa".into(),
        LIMIT_KPA.into(),
    ];
    python::told(python, &arguments)
}

/// Every node and nozzle of every station within 0.05 kPa.
#[test]
fn every_station_opens_in_the_public_solver_and_shows_the_same_pressures() {
    let Some(python) = python::with("epanet.toolkit") else {
        return;
    };
    let out = tempfile::tempdir().unwrap();
    designed(out.path());
    let said = judged(&python, out.path());
    eprintln!("{said}");
    let compared = said
        .strip_prefix("triangle-green: ")
        .and_then(|rest| rest.split(' ').next())
        .and_then(|count| count.parse::<usize>().ok());
    assert!(compared.is_some_and(|count| count > 100), "{said}");
}
