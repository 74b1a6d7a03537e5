//! Inverts of random trees against mixed-integer programmes solved by HiGHS (`drains_milp.py`): fewest drains, then
//! least digging.

use super::python;
use serde_json::{Value, json};
use std::path::PathBuf;
use swardline::design::drainage::{GradeRules, LevelNode, LevelPipe, grade};

/// What HiGHS says of one tree.
struct Fewest {
    drains: usize,
    /// Depth below the highest inverts, times length, m².
    digging_m2: f64,
}

/// A tree whose every pipe can fall by the grade.
struct Tree {
    nodes: Vec<LevelNode>,
    pipes: Vec<LevelPipe>,
}

/// Knuth's MMIX generator (The Art of Computer Programming 2, 3.3.4, from memory), so that every run sees the same.
struct Dice(u64);

impl Dice {
    fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1_u32 << 31)
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }
}

/// Ground of slopes and noise, level to a tenth steep; every third tree starts at an invert that is given.
fn tree(seed: u64) -> Tree {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let edges = 4 + (seed as usize * 37) % 57;
    let (noise_m, slope) = (dice.between(0.0, 0.2), dice.between(0.0, 0.1));
    let mut ground_m = vec![50.0];
    let mut pipes = Vec::new();
    for to in 1..=edges {
        let reach = 1 + dice.between(0.0, 4.0) as usize;
        let from = to - 1 - (dice.share() * reach.min(to) as f64) as usize % to;
        let length_m = dice.between(0.5, 8.0);
        let fall_m = dice.between(-1.0, 1.0) * slope * length_m;
        ground_m.push(ground_m[from] + fall_m + noise_m * dice.between(-1.0, 1.0));
        pipes.push(LevelPipe {
            from,
            to,
            length_m,
            bore_area_m2: 0.001,
        });
    }
    let fixed = seed.is_multiple_of(3);
    let level = |(index, &ground_m): (usize, &f64)| LevelNode {
        ground_m: (ground_m * 1000.0_f64).round() / 1000.0,
        cover_min_m: 0.30,
        cover_max_m: 0.60,
        fixed_invert_m: (fixed && index == 0).then(|| (ground_m * 1000.0 - 420.0).round() / 1000.0),
    };
    Tree {
        nodes: ground_m.iter().enumerate().map(level).collect(),
        pipes,
    }
}

/// Length of pipe that is dug to each node's depth, m: half of all that meets there.
fn dug_m(tree: &Tree) -> Vec<f64> {
    let mut dug_m = vec![0.0; tree.nodes.len()];
    for pipe in &tree.pipes {
        dug_m[pipe.from] += pipe.length_m / 2.0;
        dug_m[pipe.to] += pipe.length_m / 2.0;
    }
    dug_m
}

/// Lowest and highest invert of a node, m.
fn band_m(node: &LevelNode) -> (f64, f64) {
    let free = (
        node.ground_m - node.cover_max_m,
        node.ground_m - node.cover_min_m,
    );
    node.fixed_invert_m
        .map_or(free, |invert_m| (invert_m, invert_m))
}

fn told(tree: &Tree, grade: f64) -> Value {
    let node = |(node, dug_m): (&LevelNode, f64)| {
        let (lowest_m, highest_m) = band_m(node);
        json!([lowest_m, highest_m, dug_m])
    };
    let nodes: Vec<Value> = tree.nodes.iter().zip(dug_m(tree)).map(node).collect();
    let pipes: Vec<Value> = tree
        .pipes
        .iter()
        .map(|pipe| json!([pipe.from, pipe.to, pipe.length_m]))
        .collect();
    json!({ "nodes": nodes, "pipes": pipes, "grade": grade })
}

/// The answers of HiGHS; `None` where Python or the library is missing.
fn by_public_solver(trees: &[Tree], grade: f64) -> Option<Vec<Fewest>> {
    let python = python::with("highspy, numpy")?;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("problems.jsonl");
    let lines: Vec<String> = trees
        .iter()
        .map(|tree| told(tree, grade).to_string())
        .collect();
    std::fs::write(&path, lines.join("\n")).unwrap();
    let script = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference/drains_milp.py");
    let told = python::told(&python, &[script, path]);
    let answer = |line: &str| {
        let mut words = line.strip_prefix("drains ")?.split(' ');
        Some(Fewest {
            drains: words.next()?.parse().ok()?,
            digging_m2: words.next()?.parse().ok()?,
        })
    };
    Some(told.lines().filter_map(answer).collect())
}

#[test]
fn drains_are_the_fewest_and_digging_is_near_the_least() {
    let trees: Vec<Tree> = (0..200).map(tree).collect();
    // No tolerance: every low counts, as the programme counts them.
    let rules = GradeRules {
        tolerance_m: 0.0,
        ..GradeRules::default()
    };
    let Some(answers) = by_public_solver(&trees, rules.grade) else {
        return;
    };
    assert_eq!(answers.len(), trees.len());
    let (mut more_than_one, mut worst, mut ours_m2, mut theirs_m2) = (0, 0.0_f64, 0.0, 0.0);
    for (seed, (tree, fewest)) in trees.iter().zip(&answers).enumerate() {
        let graded = grade(&tree.nodes, &tree.pipes, &rules);
        assert_eq!(graded.relaxed, 0, "tree {seed}");
        assert_eq!(graded.drains.len(), fewest.drains, "tree {seed}");
        let depths = tree.nodes.iter().zip(&graded.invert_m).zip(dug_m(tree));
        let digging_m2: f64 = depths
            .map(|((node, invert_m), dug_m)| (band_m(node).1 - invert_m) * dug_m)
            .sum();
        // All that is dug: what lies above the highest inverts must be dug in any case.
        let above_m2: f64 = tree
            .nodes
            .iter()
            .zip(dug_m(tree))
            .map(|(node, dug_m)| (node.ground_m - band_m(node).1) * dug_m)
            .sum();
        worst = worst.max((digging_m2 + above_m2) / (fewest.digging_m2 + above_m2) - 1.0);
        (ours_m2, theirs_m2) = (ours_m2 + digging_m2, theirs_m2 + fewest.digging_m2);
        more_than_one += usize::from(fewest.drains > 1);
    }
    eprintln!(
        "{more_than_one} of {} trees need several drains; digging at worst {worst:.5} over the least; below the highest \
         inverts {ours_m2:.1} m2 for {theirs_m2:.1} m2",
        trees.len()
    );
    assert!(more_than_one > 100, "{more_than_one}");
    assert!(worst < 0.02, "{worst}");
}
