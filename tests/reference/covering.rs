//! The linear programme of the fewest heads, solved here and by HiGHS, where Python and `scipy` are installed.
//!
//! `covering_check.py` writes the programme down anew, row by row, from the depths alone.

use super::python;
use geo::{Polygon, Rotate, Scale, polygon};
use std::path::{Path, PathBuf};
use swardline::brief::Profile;
use swardline::design::heads::bound::covering::Covering;

/// Relative difference allowed: ours stops at a gap of 1e-5.
const DIFFERENCE_MOST: f64 = 1e-4;

fn pieces() -> Vec<Polygon<f64>> {
    let u: Polygon<f64> = polygon![
        (x: 0., y: 0.), (x: 40., y: 0.), (x: 40., y: 30.), (x: 28., y: 30.),
        (x: 28., y: 12.), (x: 12., y: 14.), (x: 12., y: 30.), (x: 0., y: 30.)
    ];
    let holed: Polygon<f64> = polygon!(
        exterior: [(x: 0., y: 0.), (x: 44., y: 3.), (x: 36., y: 25.), (x: 2., y: 28.)],
        interiors: [[(x: 12., y: 9.), (x: 22., y: 9.), (x: 22., y: 16.), (x: 12., y: 16.)]],
    );
    let square: Polygon<f64> =
        polygon![(x: 0., y: 0.), (x: 24., y: 0.), (x: 24., y: 24.), (x: 0., y: 24.)];
    let wedge: Polygon<f64> = polygon![(x: 0., y: 0.), (x: 30., y: 4.), (x: 18., y: 20.)];
    vec![
        u.scale(0.8),
        u.rotate_around_point(31.0, (0.0, 0.0).into()),
        holed,
        square,
        wedge,
    ]
}

/// One line a candidate: what it may spray over less what it does, then sample and depth in turn.
fn text(covering: &Covering) -> String {
    let mut text = format!("{}\n", covering.samples);
    for candidate in &covering.candidates {
        text.push_str(&format!("{:?}", candidate.spare));
        for (sample, depth) in &candidate.depths {
            text.push_str(&format!(" {sample} {depth:?}"));
        }
        text.push('\n');
    }
    text
}

/// Optima by HiGHS, NaN where there is none; `None` where Python or the library is missing.
fn public_optima(paths: &[PathBuf]) -> Option<Vec<f64>> {
    let python = python::with("scipy.optimize")?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/covering_check.py");
    let arguments = [&[script], paths].concat();
    let lines = python::told(&python, &arguments);
    Some(lines.lines().map(|line| line.parse().unwrap()).collect())
}

#[test]
fn the_fewest_heads_agree_with_the_public_solver() {
    let mut coverings = Vec::new();
    for (index, piece) in pieces().iter().enumerate() {
        for radius_m in [6.0, 9.0] {
            let profile = [Profile::Cone, Profile::Parabola, Profile::Uniform][index % 3];
            coverings.push(Covering::of(piece, radius_m, profile, 0.05, 0.12).unwrap());
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let path = |index: usize| folder.path().join(format!("{index}.txt"));
    let paths: Vec<_> = (0..coverings.len()).map(path).collect();
    for (path, covering) in paths.iter().zip(&coverings) {
        std::fs::write(path, text(covering)).unwrap();
    }
    let Some(theirs) = public_optima(&paths) else {
        eprintln!("no python3 with scipy here, not checked");
        return;
    };
    assert_eq!(theirs.len(), coverings.len());
    let mut worst = 0.0_f64;
    for (index, (covering, theirs)) in coverings.iter().zip(theirs).enumerate() {
        let ours = covering.fewest();
        assert_eq!(
            ours.is_none(),
            theirs.is_nan(),
            "{index}: {ours:?}, HiGHS {theirs}"
        );
        let off = ours.map_or(0.0, |ours| (ours / theirs - 1.0).abs());
        assert!(off < DIFFERENCE_MOST, "{index}: {ours:?}, HiGHS {theirs}");
        worst = worst.max(off);
    }
    eprintln!("{} programmes, worst {worst:.1e}", coverings.len());
}
