//! Python with the packages of `requirements.txt`, where it is: outside solvers are asked through it.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The interpreter that can import all of `modules`: the one `tools/python.sh` sets up, else the machine's own.
pub fn with(modules: &str) -> Option<PathBuf> {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/python/bin/python");
    let imports = |python: &PathBuf| {
        let asked = Command::new(python)
            .args(["-c", &format!("import {modules}")])
            .output();
        asked.is_ok_and(|output| output.status.success())
    };
    let found = [own, PathBuf::from("python3")].into_iter().find(imports);
    if found.is_none() {
        eprintln!("NOT CHECKED: no Python with {modules} here; `tools/python.sh` sets it up");
    }
    found
}

/// What a script prints; its own words of complaint where it fails.
pub fn told<A: AsRef<std::ffi::OsStr>>(python: &Path, arguments: &[A]) -> String {
    let output = Command::new(python).args(arguments).output();
    let output = output.expect("the interpreter was started before");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    String::from_utf8(output.stdout).expect("Python prints UTF-8")
}
